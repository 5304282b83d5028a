package signal

import "math"

// Join puts pieces one after the other.
func Join(pieces ...[]float32) []float32 {
	var n int
	for _, p := range pieces {
		n += len(p)
	}
	x := make([]float32, 0, n)
	for _, p := range pieces {
		x = append(x, p...)
	}
	return x
}

// Copy is a fresh copy of x.
func Copy(x []float32) []float32 { return append([]float32(nil), x...) }

// Gain is a copy of x changed by so many dB.
func Gain(x []float32, db float64) []float32 { return Scale(x, Amplitude(db)) }

// Scale is a copy of x times a factor; −1 flips the polarity.
func Scale(x []float32, factor float64) []float32 {
	y := make([]float32, len(x))
	for i, v := range x {
		y[i] = float32(float64(v) * factor)
	}
	return y
}

// Add adds src to dst from frame at on, as far as dst reaches.
func Add(dst, src []float32, at int) {
	for i, v := range src[:max(0, min(len(src), len(dst)-at))] {
		dst[at+i] += v
	}
}

// Delay is a copy of x that starts frames later, of the same length.
func Delay(x []float32, frames int) []float32 {
	y := make([]float32, len(x))
	Add(y, x, min(frames, len(x)))
	return y
}

// Fade fades x in over the first in frames and out over the last out frames,
// in place, along half a cosine.
func Fade(x []float32, in, out int) {
	for i := range min(in, len(x)) {
		x[i] *= fadeGain(i, in)
	}
	for i := range min(out, len(x)) {
		x[len(x)-1-i] *= fadeGain(i, out)
	}
}

func fadeGain(i, n int) float32 {
	return float32(0.5 - 0.5*math.Cos(math.Pi*float64(i)/float64(n)))
}

// Decay lets x die away exponentially from frame 0 on, in place: to 1/e of its
// amplitude every timeConstant frames.
func Decay(x []float32, timeConstant float64) {
	for i := range x {
		x[i] *= float32(math.Exp(-float64(i) / timeConstant))
	}
}

// Clip limits x to ±limit, in place.
func Clip(x []float32, limit float64) {
	l := float32(limit)
	for i, v := range x {
		x[i] = max(-l, min(l, v))
	}
}

// Quantize is a copy of x rounded to integers of so many bits (2 to 24), full
// scale ±1, without dither; what goes past full scale is clipped.
func Quantize(x []float32, bits int) []float32 {
	steps := float64(int(1) << (bits - 1))
	y := make([]float32, len(x))
	for i, v := range x {
		y[i] = float32(max(-steps, min(steps-1, math.Round(float64(v)*steps))) / steps)
	}
	return y
}
