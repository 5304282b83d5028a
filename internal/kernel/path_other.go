//go:build !amd64 || purego

package kernel

// Without assembly there is one path. The constants let the compiler drop the
// other from every kernel.
const (
	hasAVX2 = false
	hasFMA  = false
)

func vector() bool { return hasAVX2 }

func choose() {}
