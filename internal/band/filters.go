package band

import "math"

// biquad is a second-order section, transposed direct form II. Coefficients
// follow the usual bilinear designs of analogue second-order prototypes.
type biquad struct{ b0, b1, b2, a1, a2, z1, z2 float64 }

func (f *biquad) next(x float64) float64 {
	y := f.b0*x + f.z1
	f.z1 = f.b1*x - f.a1*y + f.z2
	f.z2 = f.b2*x - f.a2*y
	return y
}

func (f *biquad) Filter(x []float32) {
	b0, b1, b2, a1, a2, z1, z2 := f.b0, f.b1, f.b2, f.a1, f.a2, f.z1, f.z2
	for i, v := range x {
		in := float64(v)
		y := b0*in + z1
		z1 = b1*in - a1*y + z2
		z2 = b2*in - a2*y
		x[i] = float32(y)
	}
	// A value this small is silence; left alone it would slow the processor down.
	if math.Abs(z1)+math.Abs(z2) < 1e-25 {
		z1, z2 = 0, 0
	}
	f.z1, f.z2 = z1, z2
}

func prewarp(hz, fs float64) (sin, cos float64) {
	return math.Sincos(2 * math.Pi * math.Min(hz, 0.49*fs) / fs)
}

func lowpass(hz, q, fs float64) *biquad {
	s, c := prewarp(hz, fs)
	al := s / (2 * q)
	a0 := 1 + al
	return &biquad{b0: (1 - c) / 2 / a0, b1: (1 - c) / a0, b2: (1 - c) / 2 / a0, a1: -2 * c / a0, a2: (1 - al) / a0}
}

func highpass(hz, q, fs float64) *biquad {
	s, c := prewarp(hz, fs)
	al := s / (2 * q)
	a0 := 1 + al
	return &biquad{b0: (1 + c) / 2 / a0, b1: -(1 + c) / a0, b2: (1 + c) / 2 / a0, a1: -2 * c / a0, a2: (1 - al) / a0}
}

// bandpass has gain 1 at hz.
func bandpass(hz, q, fs float64) *biquad {
	s, c := prewarp(hz, fs)
	al := s / (2 * q)
	a0 := 1 + al
	return &biquad{b0: al / a0, b2: -al / a0, a1: -2 * c / a0, a2: (1 - al) / a0}
}

// bell raises or lowers the region round hz by db.
func bell(hz, q, db, fs float64) *biquad {
	s, c := prewarp(hz, fs)
	a := math.Pow(10, db/40)
	al := s / (2 * q)
	a0 := 1 + al/a
	return &biquad{b0: (1 + al*a) / a0, b1: -2 * c / a0, b2: (1 - al*a) / a0, a1: -2 * c / a0, a2: (1 - al/a) / a0}
}

// onePole is a first-order low-pass: y += k·(x − y).
type onePole struct{ k, y float64 }

func newOnePole(hz, fs float64) onePole {
	return onePole{k: 1 - math.Exp(-2*math.Pi*math.Min(hz, 0.45*fs)/fs)}
}

func (f *onePole) next(x float64) float64 {
	f.y += f.k * (x - f.y)
	return f.y
}

func (f *onePole) Filter(x []float32) {
	k, y := f.k, f.y
	for i, v := range x {
		y += k * (float64(v) - y)
		x[i] = float32(y)
	}
	if math.Abs(y) < 1e-25 {
		y = 0
	}
	f.y = y
}

// chain is filters one after another.
type chain []Filter

func (c chain) Filter(x []float32) {
	for _, f := range c {
		f.Filter(x)
	}
}

// louder multiplies by a constant.
type louder float32

func (g louder) Filter(x []float32) {
	for i := range x {
		x[i] *= float32(g)
	}
}
