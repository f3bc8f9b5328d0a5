package datalog

import (
	"os"
	"syscall"
)

// mostMemory is the largest resident set of a process in bytes.
func mostMemory(s *os.ProcessState) int64 {
	if usage, ok := s.SysUsage().(*syscall.Rusage); ok {
		return usage.Maxrss << 10 // kB on Linux
	}
	return 0
}
