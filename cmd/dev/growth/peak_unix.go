//go:build unix

package growth

import (
	"os"
	"runtime"
	"syscall"
)

// peak is the most memory that a process had, in bytes.
func peak(s *os.ProcessState) int64 {
	usage, ok := s.SysUsage().(*syscall.Rusage)
	if !ok {
		return 0
	}
	if runtime.GOOS == "darwin" { // bytes there, kilobytes elsewhere
		return usage.Maxrss
	}
	return usage.Maxrss << 10
}
