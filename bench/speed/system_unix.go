//go:build unix

package main

import (
	"os"
	"runtime"
	"syscall"
)

// peakRSS is the largest memory a finished process held, in bytes.
func peakRSS(p *os.ProcessState) int64 {
	u, ok := p.SysUsage().(*syscall.Rusage)
	if !ok {
		return 0
	}
	if runtime.GOOS == "darwin" {
		return int64(u.Maxrss)
	}
	return int64(u.Maxrss) * 1024
}

// freeBytes is the room left on the disk of a folder, −1 where it is not known.
func freeBytes(dir string) int64 {
	var s syscall.Statfs_t
	if err := syscall.Statfs(dir, &s); err != nil {
		return -1
	}
	return int64(s.Bavail) * int64(s.Bsize)
}
