package performance

import (
	"os"
	"syscall"
)

// peak is the resident memory of a process at most, as the kernel counts it.
func peak(p *os.ProcessState) int64 {
	if u, ok := p.SysUsage().(*syscall.Rusage); ok {
		return u.Maxrss << 10
	}
	return 0
}
