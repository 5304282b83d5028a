package meter

import (
	"math"
	"slices"
	"testing"

	"tidemark/internal/unit"
)

func dropoutOf(rate int, x []float32) DropoutReading {
	m := NewDropout(rate)
	m.Measure(x)
	return m.Reading()
}

var faultLines = map[int][]float32{}

// faultLine is what every case cuts into: a line at work, two seconds.
func faultLine(rate int) []float32 {
	if x, ok := faultLines[rate]; ok {
		return slices.Clone(x)
	}
	x := make([]float32, 2*rate)
	p := newFaultPlayer(rate, 5)
	p.voice(x, 0.5)
	for k := range 8 {
		p.bass(x, k*rate/4, 55*math.Pow(2, float64(k)/12), 0.3, 0.25)
	}
	p.room(x, 2e-4)
	faultLines[rate] = x
	return slices.Clone(x)
}

func TestHoles(t *testing.T) {
	const rate = 48000
	set := func(x []float32, at, n int, v float32) {
		for i := at; i < at+n; i++ {
			x[i] = v
		}
	}
	fadeOut := func(x []float32, at, n int) {
		for i := range n {
			x[at-n+i] *= 1 - float32(i+1)/float32(n)
		}
	}
	fadeIn := func(x []float32, at, n int) {
		for i := range n {
			x[at+i] *= float32(i) / float32(n)
		}
	}
	cases := []struct {
		name string
		x    func() []float32
		want int
	}{
		// Published: 48 zero samples at 48 kHz.
		{"48 zeros in a line", func() []float32 { x := faultLine(rate); set(x, 40000, 48, 0); return x }, 1},
		{"47 zeros in a line", func() []float32 { x := faultLine(rate); set(x, 40000, 47, 0); return x }, 0},
		{"48 zeros in a 997 Hz sine", func() []float32 { x := faultSine(rate, rate, 997, 0.1); set(x, 20000, 48, 0); return x }, 1},
		{"the last sample held for a buffer", func() []float32 { x := faultLine(rate); set(x, 40000, 256, x[39999]); return x }, 1},
		{"two buffers lost", func() []float32 { x := faultLine(rate); set(x, 30000, 512, 0); set(x, 50000, 512, 0); return x }, 2},
		{"a hole of a second", func() []float32 { x := faultLine(rate); set(x, 30000, rate, 0); return x }, 1},
		{"torn, and silent to the end", func() []float32 { x := faultLine(rate); set(x, 40000, len(x)-40000, 0); return x }, 1},
		{"torn in, faded back in", func() []float32 { x := faultLine(rate); set(x, 40000, 2000, 0); fadeIn(x, 42000, 480); return x }, 1},
		{"an edit with fades of 5 ms", func() []float32 {
			x := faultLine(rate)
			fadeOut(x, 40000, 240)
			set(x, 40000, 4800, 0)
			fadeIn(x, 44800, 240)
			return x
		}, 0},
		{"an edit with fades of 2 ms", func() []float32 {
			x := faultLine(rate)
			fadeOut(x, 40000, 96)
			set(x, 40000, 4800, 0)
			fadeIn(x, 44800, 96)
			return x
		}, 0},
		{"bass with fades of 5 ms", func() []float32 {
			x := faultSine(rate, rate, 41, 0.5)
			fadeOut(x, 20000, 240)
			set(x, 20000, 9600, 0)
			fadeIn(x, 29600, 240)
			return x
		}, 0},
		{"faded out, silent, begins at once", func() []float32 { x := faultLine(rate); fadeOut(x, 40000, 4800); set(x, 40000, 9600, 0); return x }, 0},
		{"zeros at the start", func() []float32 { x := faultLine(rate); set(x, 0, 9600, 0); return x }, 0},
		{"faded out and zeros at the end", func() []float32 { x := faultLine(rate); fadeOut(x, 80000, 9600); set(x, 80000, 16000, 0); return x }, 0},
		{"soft sound of 16 bits", func() []float32 { return quantise(plusNoise(faultSine(rate, 2*rate, 60, 2e-5), 1e-5, 4), 16) }, 0},
		{"room cut to digital silence for half a second", func() []float32 {
			x := faultLine(rate)
			n := newFaultPlayer(rate, 9)
			gap := make([]float32, rate)
			n.room(gap, 2e-4)
			copy(x[rate/2:], gap)
			set(x, rate, rate/3, 0)
			return x
		}, 0},
		{"pulse wave of 60 Hz", func() []float32 {
			x := make([]float32, 2*rate)
			for i := range x {
				if i%800 < 200 {
					x[i] = 0.4
				}
			}
			return x
		}, 0},
		{"square wave of 70 Hz between 0.1 and 0.4", func() []float32 {
			x := make([]float32, 2*rate)
			for i := range x {
				x[i] = 0.1
				if i%686 < 343 {
					x[i] = 0.4
				}
			}
			return x
		}, 0},
		{"clipped bass holds its tops", func() []float32 { return clipAt(faultSine(rate, rate, 30, 2), 0.9, 0.9) }, 0},
		{"hits that decay to exact zero and begin at once", func() []float32 {
			x := make([]float32, 4*rate)
			p := newFaultPlayer(rate, 8)
			for k := range 12 {
				p.rim(x, 1000+k*15000, 0.5)
			}
			return quantise(x, 16)
		}, 0},
		{"digital silence", func() []float32 { return make([]float32, rate) }, 0},
		{"nothing", func() []float32 { return nil }, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := dropoutOf(rate, c.x())
			if r.Dropouts.Count != c.want || len(r.Holes) != c.want {
				t.Errorf("%d holes, want %d: %+v", r.Dropouts.Count, c.want, r.Holes)
			}
		})
	}
}

func TestHoleTellsItsEdges(t *testing.T) {
	const rate = 48000
	x := faultLine(rate)
	for i := 40000; i < 40480; i++ {
		x[i] = 0
	}
	r := dropoutOf(rate, x)
	if len(r.Holes) != 1 {
		t.Fatalf("%d holes, want 1", len(r.Holes))
	}
	h := r.Holes[0]
	if h.Run != (Run{Frame: 40000, Frames: 480, Amplitude: x[39999]}) || !h.TornIn || !h.TornOut || h.ToEnd || h.Held {
		t.Errorf("hole %+v", h)
	}
	var p float64
	for _, v := range x[40000-480 : 40000] {
		p += float64(v) * float64(v)
	}
	want, _ := unit.MeanSquare(p / 480).Get()
	if got, ok := h.BeforeLevel.Get(); !ok || math.Abs(float64(got-want)) > 0.01 {
		t.Errorf("level before %v, want %v", got, want)
	}
	x = x[:40240]
	r = dropoutOf(rate, x)
	if len(r.Holes) != 1 || !r.Holes[0].ToEnd || r.Holes[0].TornOut || r.TrailingZeros != 240 {
		t.Errorf("at the end: %+v, %d trailing zeros", r.Holes, r.TrailingZeros)
	}
}

func TestZerosAreCounted(t *testing.T) {
	x := []float32{0, 0, 0, 0.5, 0, 0.25, 0, 0, 0, 0, -0.5, 0, 0}
	r := dropoutOf(8000, x)
	if r.ZeroFrames != 10 || r.LeadingZeros != 3 || r.TrailingZeros != 2 || r.LongestZero != (Run{Frame: 6, Frames: 4}) {
		t.Errorf("%+v", r)
	}
	r = dropoutOf(8000, make([]float32, 10000))
	if r.ZeroFrames != 10000 || r.LeadingZeros != 10000 || r.TrailingZeros != 10000 || r.LongestZero.Frames != 10000 {
		t.Errorf("all zeros: %+v", r)
	}
}

func TestRepeatedBuffers(t *testing.T) {
	const rate = 48000
	for _, length := range bufferLengths {
		x := faultLine(rate)
		copy(x[30000:30000+length], x[30000-length:30000])
		r := dropoutOf(rate, x)
		if r.Repeats.Count != 1 || r.Repeats.Kept[0].Frame != 30000 || r.Repeats.Kept[0].Frames < int64(length) || r.Repeats.Kept[0].Frames > int64(length)+repeatSlack {
			t.Errorf("buffer of %d: %+v, want one at 30000", length, r.Repeats)
		}
		copy(x[30000+length:30000+2*length], x[30000-length:30000])
		if r := dropoutOf(rate, x); r.Repeats.Count != 1 {
			t.Errorf("buffer of %d three times: %+v, want one", length, r.Repeats)
		}
	}
	clean := map[string][]float32{
		"sine of 375 Hz, 128 samples a period, 16 bit":    quantise(faultSine(rate, 4*rate, 375, 0.3), 16),
		"sine of 93.75 Hz, 512 samples a period, 24 bit":  quantise(faultSine(rate, 4*rate, 93.75, 0.3), 24),
		"sine of 46.875 Hz, 1024 samples a period, 8 bit": quantise(faultSine(rate, 4*rate, 46.875, 0.3), 8),
		"sine of 750 Hz, float":                           faultSine(rate, 4*rate, 750, 0.3),
		"held value": func() []float32 {
			x := make([]float32, rate)
			for i := range x {
				x[i] = 0.1
			}
			return x
		}(),
		"notes of 750 Hz that begin and end": func() []float32 {
			x := make([]float32, 8*rate)
			p := newFaultPlayer(rate, 3)
			for at := 1000; at < len(x)-20000; {
				n := 500 + p.r.IntN(6000)
				copy(x[at:], quantise(faultSine(rate, n, 750, 0.3), 16))
				at += n + p.r.IntN(3000)
			}
			return x
		}(),
		"soft noise of 16 bits": quantise(plusNoise(make([]float32, 10*rate), 2*lsb16, 1), 16),
	}
	for name, x := range clean {
		if r := dropoutOf(rate, x); r.Repeats.Count != 0 {
			t.Errorf("%s: %+v, want none", name, r.Repeats.Last)
		}
	}
}

func BenchmarkDropout(b *testing.B) {
	for name, x := range map[string][]float32{"noise": plusNoise(make([]float32, 48000), 0.05, 1), "line": quantise(faultLine(48000), 24)} {
		b.Run(name, func(b *testing.B) {
			m := NewDropout(48000)
			m.Measure(x)
			faultBench(b, m.Measure, x)
		})
	}
}
