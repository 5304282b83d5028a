package kernel

import (
	"math"
	"unsafe"
)

// signBit is the sign of a float32.
const signBit = 1 << 31

// magnitude are the bits of |x|; as unsigned numbers they order as |x| does, with
// infinity after all numbers and NaN after infinity.
func magnitude(x float32) uint32 { return math.Float32bits(x) &^ signBit }

// bitsOf are the bits of samples where they lie. Loads of integers need no way from
// one kind of register to the other, which math.Float32bits takes for each.
func bitsOf(x []float32) []uint32 {
	return unsafe.Slice((*uint32)(unsafe.Pointer(unsafe.SliceData(x))), len(x))
}

// MaxAbs is max |x[i]| as the bits of a float32: a number past those of infinity
// says that a NaN is among the samples. Nothing gives 0.
func MaxAbs(x []float32) uint32 {
	if vector() {
		return maxAbsAVX2(x)
	}
	return maxAbs(x)
}

func maxAbs(x []float32) uint32 {
	var a, b, c, d uint32 // twice the magnitudes
	u := bitsOf(x)
	for ; len(u) >= 4; u = u[4:] {
		v := (*[4]uint32)(u)
		a = max(a, v[0]<<1)
		b = max(b, v[1]<<1)
		c = max(c, v[2]<<1)
		d = max(d, v[3]<<1)
	}
	for _, v := range u {
		a = max(a, v<<1)
	}
	return max(max(a, b), max(c, d)) >> 1
}

// MaxTop is the largest of magnitudes that MaxAbs or Tops gave; nothing gives 0.
func MaxTop(tops []uint32) uint32 {
	if vector() && len(tops) > 0 {
		// Magnitudes are the bits of floats without a sign.
		return maxAbsAVX2(unsafe.Slice((*float32)(unsafe.Pointer(&tops[0])), len(tops)))
	}
	var a, b, c, d uint32
	for ; len(tops) >= 4; tops = tops[4:] {
		t := (*[4]uint32)(tops)
		a, b, c, d = max(a, t[0]), max(b, t[1]), max(c, t[2]), max(d, t[3])
	}
	for _, t := range tops {
		a = max(a, t)
	}
	return max(max(a, b), max(c, d))
}

// TopRun is how many samples each of Tops stands for.
const TopRun = 8

// Tops writes MaxAbs of each run of eight samples: dst[k] is that of x[8k:8k+8].
// It returns the largest of them. x holds at least 8·len(dst) samples, otherwise
// Tops panics; those past it are not looked at.
func Tops(dst []uint32, x []float32) (top uint32) {
	x = x[: TopRun*len(dst) : len(x)]
	if vector() {
		return topsAVX2(dst, x)
	}
	return tops(dst, x)
}

func tops(dst []uint32, x []float32) (top uint32) {
	u := bitsOf(x)
	for k := range dst {
		r := (*[TopRun]uint32)(u)
		u = u[TopRun:]
		t := max(
			max(r[0]<<1, r[1]<<1, r[2]<<1, r[3]<<1),
			max(r[4]<<1, r[5]<<1, r[6]<<1, r[7]<<1)) >> 1
		dst[k] = t
		top = max(top, t)
	}
	return top
}
