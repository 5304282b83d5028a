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

// MaxAbs is max |x[i]| as the bits of a float32: a number past those of infinity
// says that a NaN is among the samples. Nothing gives 0.
func MaxAbs(x []float32) uint32 {
	if vector() {
		return maxAbsAVX2(x)
	}
	return maxAbs(x)
}

func maxAbs(x []float32) uint32 {
	var a, b, c, d uint32
	for ; len(x) >= 4; x = x[4:] {
		v := (*[4]float32)(x)
		a = max(a, magnitude(v[0]))
		b = max(b, magnitude(v[1]))
		c = max(c, magnitude(v[2]))
		d = max(d, magnitude(v[3]))
	}
	for _, v := range x {
		a = max(a, magnitude(v))
	}
	return max(max(a, b), max(c, d))
}

// MaxTop is the largest of magnitudes that MaxAbs or Tops gave; nothing gives 0.
func MaxTop(tops []uint32) uint32 {
	if vector() && len(tops) > 0 {
		// Magnitudes are the bits of floats without a sign.
		return maxAbsAVX2(unsafe.Slice((*float32)(unsafe.Pointer(&tops[0])), len(tops)))
	}
	var top uint32
	for _, t := range tops {
		top = max(top, t)
	}
	return top
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
	for k := range dst {
		r := (*[TopRun]float32)(x)
		x = x[TopRun:]
		t := max(
			max(magnitude(r[0]), magnitude(r[1]), magnitude(r[2]), magnitude(r[3])),
			max(magnitude(r[4]), magnitude(r[5]), magnitude(r[6]), magnitude(r[7])))
		dst[k] = t
		top = max(top, t)
	}
	return top
}
