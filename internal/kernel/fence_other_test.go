//go:build !linux

package kernel

import "testing"

// newYard makes room for bytes.
func newYard(_ testing.TB, pages int) *yard { return &yard{make([]byte, 4096*pages)} }
