package main

import "fmt"

// The exit statuses.
const (
	exitDone   = 0
	exitFailed = 1
	exitUsage  = 2
	exitStrict = 3 // all done, but data was dropped and --strict was given
	// exitInterrupted is what shells give for Ctrl-C. What was done was printed.
	exitInterrupted = 130
)

// exitError carries an exit status. An empty text prints nothing: the cause has
// been printed already.
type exitError struct {
	code int
	text string
}

func (e *exitError) Error() string { return e.text }

// usagef is a mistake in the command line, exit status 2.
func usagef(format string, args ...any) error {
	return &exitError{exitUsage, fmt.Sprintf(format, args...)}
}
