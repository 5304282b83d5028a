package meter

import (
	"math"
	"math/rand/v2"
	"testing"

	"tidemark/internal/signal"
)

// faultSine is amp·sin(2π·hz·n/rate + 0.3), n frames.
func faultSine(rate, n int, hz, amp float64) []float32 {
	x := make([]float32, n)
	for i := range x {
		x[i] = float32(amp * math.Sin(2*math.Pi*hz*float64(i)/float64(rate)+0.3))
	}
	return x
}

// quantise rounds to integer samples of the given bits and clips at their ends.
func quantise(x []float32, bits int) []float32 {
	full := math.Ldexp(1, bits-1)
	y := make([]float32, len(x))
	for i, v := range x {
		y[i] = float32(math.Min(math.Max(math.Round(float64(v)*full), -full), full-1) / full)
	}
	return y
}

func clipAt(x []float32, up, down float32) []float32 {
	y := make([]float32, len(x))
	for i, v := range x {
		y[i] = min(max(v, -down), up)
	}
	return y
}

func scaled(x []float32, g float32) []float32 {
	y := make([]float32, len(x))
	for i, v := range x {
		y[i] = v * g
	}
	return y
}

func plusNoise(x []float32, sigma float64, seed uint64) []float32 {
	r := rand.New(rand.NewPCG(seed, 3))
	y := make([]float32, len(x))
	for i, v := range x {
		y[i] = v + float32(sigma*r.NormFloat64())
	}
	return y
}

func topOf(bits int) float32 { return float32(1 - math.Ldexp(1, 1-bits)) }

func clippingOf(rate int, top float32, x []float32) ClippingReading {
	m := NewClipping(rate, top)
	m.Measure(x)
	return m.Reading()
}

// Published: a sine at +3 dB clipped to ±1 has the share 2·acos(10^(−3/20))/π =
// 0.4992 of its samples clipped (closed form).
func TestClippedShareOfASine(t *testing.T) {
	want := 2 * math.Acos(math.Pow(10, -3./20)) / math.Pi
	if math.Abs(want-0.4992) > 5e-5 {
		t.Fatalf("closed form %g, published 0.4992", want)
	}
	for _, rate := range []int{44100, 48000, 96000} {
		x := clipAt(faultSine(rate, 4*rate, 440, math.Pow(10, 3./20)), 1, 1)
		got := float64(clippingOf(rate, 1, x).FullScale.Frames) / float64(len(x))
		if math.Abs(got-want) > 0.002 {
			t.Errorf("%d Hz: share %.4f, want %.4f", rate, got, want)
		}
	}
}

func TestCleanCrestsAreNotClipped(t *testing.T) {
	cases := []struct {
		name string
		rate int
		bits int
		x    []float32
	}{
		// Published: an unclipped full-scale sine at fs/100 touches full scale at 1 to 2 samples.
		{"full scale sine at fs/100, 16 bit", 48000, 16, faultSine(48000, 96000, 480, 1)},
		{"20 Hz full scale at 192 kHz, 16 bit", 192000, 16, faultSine(192000, 384000, 20, 1)},
		{"20 Hz full scale at 192 kHz, 24 bit", 192000, 24, faultSine(192000, 384000, 20, 1)},
		{"20 Hz at -0.1 dB, 192 kHz, 16 bit", 192000, 16, faultSine(192000, 384000, 20, 0.98)},
		{"40 Hz at -6 dB, 96 kHz, 24 bit", 96000, 24, faultSine(96000, 192000, 40, 0.5)},
		{"41 Hz at -40 dB, 16 bit", 48000, 16, faultSine(48000, 96000, 41, 0.01)},
		{"41 Hz at -40 dB, 16 bit in 24", 48000, 24, quantise(faultSine(48000, 96000, 41, 0.01), 16)},
		{"30 Hz at -20 dB, 8 bit", 48000, 8, faultSine(48000, 96000, 30, 0.1)},
		{"flattest crest of two partials, 50 Hz", 96000, 16, flattest(96000, 192000, 50)},
		{"flattest crest of two partials, 200 Hz", 48000, 24, flattest(48000, 96000, 200)},
		{"white noise that reaches full scale now and then", 48000, 24, plusNoise(make([]float32, 480000), 0.15, 1)},
		{"digital silence", 48000, 24, make([]float32, 48000)},
		{"nothing", 48000, 24, nil},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := clippingOf(c.rate, topOf(c.bits), quantise(c.x, c.bits))
			if r.FullScale.Count != 0 || r.FlatTop.Count != 0 {
				t.Errorf("full scale %d, flat tops %d (%+v), want none", r.FullScale.Count, r.FlatTop.Count, r.FlatTop.Last)
			}
		})
	}
}

// flattest is sin + sin3/9: the second derivative of its crest vanishes.
func flattest(rate, n int, hz float64) []float32 {
	x := make([]float32, n)
	for i := range x {
		p := 2 * math.Pi * hz * float64(i) / float64(rate)
		x[i] = float32(0.7 * (math.Sin(p) + math.Sin(3*p)/9))
	}
	return x
}

func TestClippingIsFound(t *testing.T) {
	sine := func(hz, amp float64) []float32 { return faultSine(48000, 96000, hz, amp) }
	cases := []struct {
		name          string
		bits          int // 0: float
		x             []float32
		full, flat    bool
		rounded       bool
		level, within float64
	}{
		{"full scale, 16 bit", 16, sine(1000, 1.2), true, false, false, 0, 0},
		{"full scale by 0.05 dB at 30 Hz, 24 bit", 24, faultSine(48000, 96000, 30, 1.006), true, false, false, 0, 0},
		{"negative side only", 24, clipAt(sine(200, 1.1), 2, 1), true, false, false, 0, 0},
		{"clipped, then turned down 3 dB, 24 bit", 24, scaled(clipAt(sine(300, 1.4), 1, 1), 0.7), false, true, false, 0.7, 1e-3},
		{"the same, 16 bit", 16, scaled(clipAt(sine(300, 1.4), 1, 1), 0.7), false, true, false, 0.7, 1e-3},
		{"one side at its own level", 24, clipAt(sine(300, 0.8), 0.4, 1), false, true, false, 0.4, 1e-3},
		{"16 bit full scale in a 24 bit file", 24, quantise(sine(500, 1.3), 16), true, true, false, 1, 1e-3},
		{"preamplifier clips, -70 dB noise on top", 24, plusNoise(clipAt(sine(200, 1), 0.6, 0.6), 0.6*3e-4, 2), false, true, true, 0.6, 5e-3},
		{"float, equal values at 1.0", 0, clipAt(sine(440, 1.3), 1, 1), true, false, false, 0, 0},
		{"float, headroom above 1.0 used", 0, sine(440, 1.6), false, false, false, 0, 0},
		{"two samples at full scale", 24, func() []float32 { x := sine(1000, 0.5); x[500], x[501] = 1, 1; return x }(), false, false, false, 0, 0},
		{"three samples at full scale", 24, func() []float32 { x := sine(1000, 0.5); x[500], x[501], x[502] = 1, 1, 1; return x }(), true, false, false, 0, 0},
		{"stuck at full scale", 24, func() []float32 {
			x := make([]float32, 9600)
			for i := range x {
				x[i] = 1
			}
			return x
		}(), true, false, false, 0, 0},
		{"one level hit twice only", 24, func() []float32 {
			x := sine(300, 0.5)
			for i := range 6 {
				x[1000+i], x[3000+i] = 0.8, 0.8
			}
			return x
		}(), false, false, false, 0, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			top, x := float32(1), c.x
			if c.bits > 0 {
				top, x = topOf(c.bits), quantise(c.x, c.bits)
			}
			r := clippingOf(48000, top, x)
			if got := r.FullScale.Count > 0; got != c.full {
				t.Errorf("full scale %v (%d), want %v", got, r.FullScale.Count, c.full)
			}
			if got := r.FlatTop.Count > 0; got != c.flat || r.Rounded != c.rounded {
				t.Errorf("flat tops %v (%d) rounded %v, want %v %v", got, r.FlatTop.Count, r.Rounded, c.flat, c.rounded)
			}
			if c.flat && math.Abs(r.FlatLevel-c.level) > c.within {
				t.Errorf("level %g, want %g", r.FlatLevel, c.level)
			}
		})
	}
}

// The place of a clipped run is exact.
func TestClippedRunIsPlaced(t *testing.T) {
	x := faultSine(48000, 48000, 100, 0.3)
	for i := range 5 {
		x[20000+i] = -1
	}
	r := clippingOf(48000, topOf(24), x)
	want := Run{Frame: 20000, Frames: 5, Amplitude: -1}
	if r.FullScale.Count != 1 || r.FullScale.Kept[0] != want || r.FullScale.Last != want {
		t.Errorf("%+v, want one run %+v", r.FullScale, want)
	}
}

func BenchmarkClipping(b *testing.B) {
	for name, x := range map[string][]float32{"noise": plusNoise(make([]float32, 48000), 0.05, 1), "sine": faultSine(48000, 48000, 440, 0.5), "clipped": clipAt(faultSine(48000, 48000, 440, 1.5), 1, 1)} {
		b.Run(name, func(b *testing.B) {
			m := NewClipping(48000, topOf(24))
			m.Measure(x)
			faultBench(b, m.Measure, x)
		})
	}
}

// faultBench measures x again and again in blocks of 2400 and reports ns a sample.
func faultBench(b *testing.B, measure func([]float32), x []float32) {
	b.ReportAllocs()
	for b.Loop() {
		for a := 0; a < len(x); a += 2400 {
			measure(x[a:min(a+2400, len(x))])
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(x)), "ns/sample")
}

// White noise past full scale is there a sample or two at a time: runs of three
// say little of it, the samples themselves much.
func TestSamplesAtFullScaleAreCountedOutsideRunsToo(t *testing.T) {
	const frames = 48000
	x := signal.White(5, 0.5, frames)
	signal.Clip(x, 32767./32768)
	m := NewClipping(48000, 32767./32768)
	m.Measure(x)
	share := float64(m.Reading().AtFull) / frames
	var want float64
	for _, v := range x {
		if v >= 32767./32768 || v <= -32767./32768 {
			want++
		}
	}
	if want /= frames; share != want {
		t.Errorf("share of samples at full scale %.4f, want %.4f", share, want)
	}
	quiet := NewClipping(48000, 32767./32768)
	quiet.Measure(signal.White(5, 0.1, frames))
	if n := quiet.Reading().AtFull; n != 0 {
		t.Errorf("%d samples at full scale in noise of 0.1, want none", n)
	}
	// Of float sound, whether what goes past full scale comes before or after.
	for _, at := range []int{100, 40000} {
		x := signal.Silence(frames)
		x[at], x[at+2] = 1.5, -1.5
		x[20000], x[30000], x[30001] = 1, -1, -1
		m := NewClipping(48000, 1)
		m.Measure(x)
		if n := m.Reading().AtFull; n != 3 {
			t.Errorf("float sound past full scale at frame %d: %d samples at full scale, want 3", at, n)
		}
	}
}
