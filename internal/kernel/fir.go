package kernel

import "fmt"

// Decimate filters sound with taps that read the same backwards and keeps one
// value in step. With n = len(taps) and h = n/2,
//
//	dst[k] = Σ taps[j]·(x[k·step+j] + x[k·step+n−1−j])   over j = 0 … h−1
//	         + taps[h]·x[k·step+h]                         where n is odd
//
// in eight float32 lanes, by j, the middle by h, that meet as
// ((0+1)+(2+3))+((4+5)+(6+7)). The second half of the taps is not looked at. x holds at
// least (len(dst)−1)·step + n samples. Decimate panics when it holds fewer, and on a
// step below 1. Without taps all values are 0.
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

// decimate makes four values at a time, each pair of lanes of all four in turn, so
// that a tap is loaded once for four and the lanes stay in registers.
func decimate(dst, x, taps []float32, step int) {
	n := len(taps)
	h := n / 2
	var lanes [4][4]float32 // pairs that have met, by value
	for ; n > 0 && len(dst) >= 4; dst = dst[4:] {
		w0, w1, w2, w3 := &x[0], &x[step], &x[2*step], &x[3*step:][:n][0]
		for p := range lanes {
			var a0, b0, a1, b1, a2, b2, a3, b3 float32
			j, z := 2*p, n-1-2*p
			for ; j+1 < h; j, z = j+8, z-8 {
				t := taps[j]
				a0 += float32(t * (after(w0, j) + after(w0, z)))
				a1 += float32(t * (after(w1, j) + after(w1, z)))
				a2 += float32(t * (after(w2, j) + after(w2, z)))
				a3 += float32(t * (after(w3, j) + after(w3, z)))
				t = taps[j+1]
				b0 += float32(t * (after(w0, j+1) + after(w0, z-1)))
				b1 += float32(t * (after(w1, j+1) + after(w1, z-1)))
				b2 += float32(t * (after(w2, j+1) + after(w2, z-1)))
				b3 += float32(t * (after(w3, j+1) + after(w3, z-1)))
			}
			if j < h {
				t := taps[j]
				a0 += float32(t * (after(w0, j) + after(w0, z)))
				a1 += float32(t * (after(w1, j) + after(w1, z)))
				a2 += float32(t * (after(w2, j) + after(w2, z)))
				a3 += float32(t * (after(w3, j) + after(w3, z)))
			}
			if n&1 != 0 && h&6 == 2*p { // the sample in the middle
				t := taps[h]
				m0, m1, m2, m3 := float32(t*after(w0, h)), float32(t*after(w1, h)), float32(t*after(w2, h)), float32(t*after(w3, h))
				if h&1 == 0 {
					a0, a1, a2, a3 = a0+m0, a1+m1, a2+m2, a3+m3
				} else {
					b0, b1, b2, b3 = b0+m0, b1+m1, b2+m2, b3+m3
				}
			}
			lanes[p] = [4]float32{a0 + b0, a1 + b1, a2 + b2, a3 + b3}
		}
		d := (*[4]float32)(dst)
		for i := range d {
			d[i] = (lanes[0][i] + lanes[1][i]) + (lanes[2][i] + lanes[3][i])
		}
		x = x[min(4*step, len(x)):]
	}
	decimateOne(dst, x, taps, step)
}

// decimateOne is decimate, one value at a time.
func decimateOne(dst, x, taps []float32, step int) {
	n := len(taps)
	h := n / 2
	for k := range dst {
		w := x[k*step:][:n]
		lo, hi, t := w[:h], w[n-h:], taps[:h]
		var s0, s1, s2, s3, s4, s5, s6, s7 float32
		for ; len(t) >= 8 && len(lo) >= 8 && len(hi) >= 8; t, lo, hi = t[8:], lo[8:], hi[:len(hi)-8] {
			t, a, z := (*[8]float32)(t), (*[8]float32)(lo), (*[8]float32)(hi[len(hi)-8:])
			s0 += float32(t[0] * (a[0] + z[7]))
			s1 += float32(t[1] * (a[1] + z[6]))
			s2 += float32(t[2] * (a[2] + z[5]))
			s3 += float32(t[3] * (a[3] + z[4]))
			s4 += float32(t[4] * (a[4] + z[3]))
			s5 += float32(t[5] * (a[5] + z[2]))
			s6 += float32(t[6] * (a[6] + z[1]))
			s7 += float32(t[7] * (a[7] + z[0]))
		}
		// Pairs that are left, and the sample in the middle, without leaving registers.
		switch z := len(hi) - 1; len(t) {
		case 7:
			s6 += float32(t[6] * (lo[6] + hi[z-6]))
			fallthrough
		case 6:
			s5 += float32(t[5] * (lo[5] + hi[z-5]))
			fallthrough
		case 5:
			s4 += float32(t[4] * (lo[4] + hi[z-4]))
			fallthrough
		case 4:
			s3 += float32(t[3] * (lo[3] + hi[z-3]))
			fallthrough
		case 3:
			s2 += float32(t[2] * (lo[2] + hi[z-2]))
			fallthrough
		case 2:
			s1 += float32(t[1] * (lo[1] + hi[z-1]))
			fallthrough
		case 1:
			s0 += float32(t[0] * (lo[0] + hi[z]))
		}
		if n&1 != 0 {
			v := float32(taps[h] * w[h])
			switch len(t) {
			case 0:
				s0 += v
			case 1:
				s1 += v
			case 2:
				s2 += v
			case 3:
				s3 += v
			case 4:
				s4 += v
			case 5:
				s5 += v
			case 6:
				s6 += v
			case 7:
				s7 += v
			}
		}
		dst[k] = ((s0 + s1) + (s2 + s3)) + ((s4 + s5) + (s6 + s7))
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
