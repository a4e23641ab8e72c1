package bench

import (
	"os"
	"syscall"
	"time"
)

// processorTime is what all threads of this process have used.
func processorTime() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// peak is the resident memory of a process at most, as the kernel counts it.
func peak(p *os.ProcessState) int64 {
	if u, ok := p.SysUsage().(*syscall.Rusage); ok {
		return u.Maxrss << 10
	}
	return 0
}
