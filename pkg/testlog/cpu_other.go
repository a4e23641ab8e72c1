//go:build !unix

package testlog

import "time"

var begun = time.Now()

// cpu is the time since the process began, where its own is not to be had.
func cpu() time.Duration { return time.Since(begun) }
