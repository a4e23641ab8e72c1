//go:build unix

package testlog

import (
	"syscall"
	"time"
)

// cpu is the processor time that the process has used: unlike the clock on the
// wall it does not count what other programs take.
func cpu() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
