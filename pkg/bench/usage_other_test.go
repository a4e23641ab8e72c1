//go:build !linux

package bench

import (
	"os"
	"time"
)

var begun = time.Now()

// processorTime is the time by the clock, where the process's own is not to be
// had.
func processorTime() time.Duration { return time.Since(begun) }

// peak is not known here: other systems count in other units.
func peak(*os.ProcessState) int64 { return 0 }
