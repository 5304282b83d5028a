package kernel

import "fmt"

// Decimate filters sound and keeps one value in step:
//
//	dst[k] = Σ taps[j]·x[k·step+j]
//
// in eight float32 lanes, by j, that meet as ((0+1)+(2+3))+((4+5)+(6+7)). x holds at least
// (len(dst)−1)·step + len(taps) samples. Decimate panics when it holds fewer, and on
// a step below 1. Without taps all values are 0.
func Decimate(dst, x, taps []float32, step int) {
	if step < 1 {
		panic("kernel: Decimate wants a step of a sample or more")
	}
	if len(dst) == 0 {
		return
	}
	x = x[: (len(dst)-1)*step+len(taps) : len(x)]
	if vector() {
		decimateAVX2(dst, x, taps, step)
		return
	}
	decimate(dst, x, taps, step)
}

func decimate(dst, x, taps []float32, step int) {
	for k := range dst {
		w, t := x[k*step:], taps
		var s [8]float32
		for ; len(t) >= 8 && len(w) >= 8; t, w = t[8:], w[8:] {
			t, w := (*[8]float32)(t), (*[8]float32)(w)
			s[0] += float32(t[0] * w[0])
			s[1] += float32(t[1] * w[1])
			s[2] += float32(t[2] * w[2])
			s[3] += float32(t[3] * w[3])
			s[4] += float32(t[4] * w[4])
			s[5] += float32(t[5] * w[5])
			s[6] += float32(t[6] * w[6])
			s[7] += float32(t[7] * w[7])
		}
		for j, v := range t {
			s[j&7] += float32(v * w[j])
		}
		dst[k] = meet8(&s)
	}
}

// FIRMax is the largest |value| that a filter of several phases makes of sound, as
// MaxAbs gives it: over all places n from 0 to len(x)−length and all phases p
//
//	v = Σ taps[p·length+j]·x[n+j]
//
// summed in four float32 lanes, by j, that meet as (0+1)+(2+3). length is 12 or 24 and
// taps holds whole phases, otherwise FIRMax panics. With fewer samples than a
// phase has taps there is no place, and the answer is 0.
func FIRMax(x, taps []float32, length int) (top uint32) {
	if length != 12 && length != 24 || len(taps)%length != 0 {
		panic(fmt.Sprintf("kernel: FIRMax of %d taps in phases of %d; it wants whole phases of 12 or 24", len(taps), length))
	}
	places := len(x) - length + 1
	if vector() && places >= 8 {
		eights := places &^ 7
		if length == 12 {
			top = firMax12AVX2(x, taps, eights)
		} else {
			top = firMax24AVX2(x, taps, eights)
		}
		x = x[eights:]
	}
	return max(top, firMax(x, taps, length))
}

func firMax(x, taps []float32, length int) (top uint32) {
	for ; len(x) >= length; x = x[1:] {
		for p := taps; len(p) >= length; p = p[length:] {
			if length == 12 {
				top = max(top, magnitude(fir12((*[12]float32)(p), (*[12]float32)(x))))
			} else {
				top = max(top, magnitude(fir24((*[24]float32)(p), (*[24]float32)(x))))
			}
		}
	}
	return top
}

func fir12(c, x *[12]float32) float32 {
	a := float32(c[0]*x[0]) + float32(c[4]*x[4]) + float32(c[8]*x[8])
	b := float32(c[1]*x[1]) + float32(c[5]*x[5]) + float32(c[9]*x[9])
	d := float32(c[2]*x[2]) + float32(c[6]*x[6]) + float32(c[10]*x[10])
	e := float32(c[3]*x[3]) + float32(c[7]*x[7]) + float32(c[11]*x[11])
	return (a + b) + (d + e)
}

func fir24(c, x *[24]float32) float32 {
	a := float32(c[0]*x[0]) + float32(c[4]*x[4]) + float32(c[8]*x[8]) + float32(c[12]*x[12]) + float32(c[16]*x[16]) + float32(c[20]*x[20])
	b := float32(c[1]*x[1]) + float32(c[5]*x[5]) + float32(c[9]*x[9]) + float32(c[13]*x[13]) + float32(c[17]*x[17]) + float32(c[21]*x[21])
	d := float32(c[2]*x[2]) + float32(c[6]*x[6]) + float32(c[10]*x[10]) + float32(c[14]*x[14]) + float32(c[18]*x[18]) + float32(c[22]*x[22])
	e := float32(c[3]*x[3]) + float32(c[7]*x[7]) + float32(c[11]*x[11]) + float32(c[15]*x[15]) + float32(c[19]*x[19]) + float32(c[23]*x[23])
	return (a + b) + (d + e)
}
