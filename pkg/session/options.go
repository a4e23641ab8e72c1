// Package session is the whole pipeline, from logs to timed runs. The command
// line and the local page both call Run and nothing below it.
package session

import (
	"io"

	"fromrest/pkg/format"
	"fromrest/pkg/motion/timing"
)

// Input is one log to analyse.
type Input struct {
	Path string // shown to the user and opened, unless Open is set
	Mode string // drive mode, "" if unknown
	// Open, if set, gives the bytes instead of the file at Path.
	Open func() (io.ReadCloser, error)
}

// Options shapes an analysis. The zero value is usable.
type Options struct {
	Units   string          // "mph" (default) or "kmh"
	Targets []timing.Target // added to the standard ones
	All     bool            // also short runs, rolling pulls and brakings
	Version string          // recorded in the settings
	// Judge fills in Log.Expected and Log.Advice, at the cost of simulating runs
	// seen by a receiver like the log's.
	Judge   bool
	Columns string // CSV mapping, see the formats page
	// With, if set, is a log whose accelerometer goes with the inputs.
	With *format.Companion
	// Progress, if set, is called from one goroutine at a time with the number
	// of bytes read so far of all inputs and the total; total is 0 if unknown.
	Progress func(done, total int64)
	Total    int64 // bytes of all inputs, handed on to Progress
	// Finished, if set, is called from one goroutine at a time with the number
	// of inputs that are done.
	Finished func(logs int)

	// Part says what of each log is read; the zero value is all.
	Part format.Part
	// NoTraces leaves the traces and samples of runs out of the result, for calls
	// over many logs that print times only.
	NoTraces bool
	// Memory, if set, keeps what finished logs gave for the next call. Build then
	// identifies the program: what one build remembers is not believed by another.
	Memory Memory
	Build  string
}

// InputError is an input that gave nothing: the others are still analysed.
type InputError struct {
	Path string
	Err  error
}

// Error prints the path and the cause in one line.
func (e *InputError) Error() string { return e.Path + ": " + e.Err.Error() }

// Unwrap returns the cause.
func (e *InputError) Unwrap() error { return e.Err }
