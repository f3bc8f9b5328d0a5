//go:build !linux

package datalog

import "os"

// mostMemory is not asked on other systems.
func mostMemory(*os.ProcessState) int64 { return 0 }
