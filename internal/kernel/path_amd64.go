//go:build !purego

package kernel

// What the kernels may use; written by choose alone.
var (
	hasAVX2 bool // AVX2, and an operating system that keeps its registers
	hasFMA  bool // fused multiply-add as well; never without hasAVX2
)

func init() { choose() }

// vector says whether the AVX2 path is in use.
func vector() bool { return hasAVX2 }

// choose fills in what the kernels may use.
func choose() {
	hasAVX2, hasFMA = false, false
	if !forcedPortable {
		hasAVX2, hasFMA = detect()
	}
}

// detect asks the processor: Intel 64 and IA-32 Architectures Software
// Developer's Manual, volume 1, 14.3 and 14.7 (from memory). AVX2 alone is not
// enough, the operating system must have said that it saves the wide registers
// when it changes from one program to another.
func detect() (avx2, fma bool) {
	const (
		fmaBit     = 1 << 12 // leaf 1, ECX
		osxsaveBit = 1 << 27 // leaf 1, ECX
		avxBit     = 1 << 28 // leaf 1, ECX
		avx2Bit    = 1 << 5  // leaf 7, EBX
		wideState  = 1<<1 | 1<<2
	)
	if leaves, _, _, _ := cpuid(0, 0); leaves < 7 {
		return false, false
	}
	_, _, c, _ := cpuid(1, 0)
	if c&(osxsaveBit|avxBit) != osxsaveBit|avxBit {
		return false, false
	}
	if state, _ := xgetbv(); state&wideState != wideState {
		return false, false
	}
	_, b, _, _ := cpuid(7, 0)
	avx2 = b&avx2Bit != 0
	return avx2, avx2 && c&fmaBit != 0
}
