//go:build unix

package main

import (
	"os/exec"
	"runtime"
	"syscall"
)

// peakRSS is the largest memory a finished command held, in bytes.
func peakRSS(c *exec.Cmd) int64 {
	u, ok := c.ProcessState.SysUsage().(*syscall.Rusage)
	if !ok {
		return 0
	}
	if runtime.GOOS == "darwin" {
		return int64(u.Maxrss)
	}
	return int64(u.Maxrss) * 1024
}
