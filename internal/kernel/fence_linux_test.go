package kernel

import (
	"os"
	"syscall"
	"testing"
)

// newYard makes room for bytes between two pages that nobody may touch: a kernel
// that reads or writes outside its slices stops the test.
func newYard(t testing.TB, pages int) *yard {
	t.Helper()
	page := os.Getpagesize()
	all, err := syscall.Mmap(-1, 0, (pages+2)*page, syscall.PROT_READ|syscall.PROT_WRITE, syscall.MAP_ANON|syscall.MAP_PRIVATE)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := syscall.Munmap(all); err != nil {
			t.Error(err)
		}
	})
	for _, fence := range [][]byte{all[:page], all[(pages+1)*page:]} {
		if err := syscall.Mprotect(fence, syscall.PROT_NONE); err != nil {
			t.Fatal(err)
		}
	}
	return &yard{all[page : (pages+1)*page : (pages+1)*page]}
}
