//go:build !unix

package main

import "os"

// peakRSS is not known here.
func peakRSS(*os.ProcessState) int64 { return 0 }

// freeBytes is not known here.
func freeBytes(string) int64 { return -1 }
