package between

import (
	"math"
	"math/rand/v2"
	"testing"

	gonum "gonum.org/v1/gonum/dsp/fourier"
	"tidemark/internal/conform"
	"tidemark/internal/unit"
)

func seeded(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 7)) }

func noise32(r *rand.Rand, n int, level float64) []float32 {
	x := make([]float32, n)
	for i := range x {
		x[i] = float32(level * r.NormFloat64())
	}
	return x
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.5g, want %.5g ± %g", what, got, want, tolerance)
	}
}

func defined[T ~float64](t *testing.T, what string, m unit.Maybe[T]) float64 {
	t.Helper()
	v, ok := m.Get()
	if !ok {
		t.Fatalf("%s is undefined", what)
	}
	return float64(v)
}

// delayed shifts noise by a fraction of a sample, exactly on the circle.
func delayed(x []float32, d float64) []float32 {
	n := len(x)
	f := gonum.NewFFT(n)
	in := make([]float64, n)
	for i, v := range x {
		in[i] = float64(v)
	}
	s := f.Coefficients(nil, in)
	for k := range s {
		sin, cos := math.Sincos(-2 * math.Pi * float64(k) * d / float64(n))
		s[k] *= complex(cos, sin)
	}
	if n%2 == 0 {
		s[n/2] = 0
	}
	f.Sequence(in, s)
	out := make([]float32, n)
	for i, v := range in {
		out[i] = float32(v / float64(n))
	}
	return out
}

func TestDelayedCopyIsFoundToAFractionOfASample(t *testing.T) {
	for _, c := range []struct {
		name  string
		delay float64
		gain  float32
	}{
		{"no delay", 0, 1},
		{"whole samples, B later", 37, 1},
		{"whole samples, B earlier", -200, 0.1},
		{"half a sample, flipped", 12.5, -1},
		{"a third of a sample, 20 dB down, flipped", -97.333, -0.1},
		{"close to the largest lag", 475.25, 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := NewPair(48000, 480)
			r := seeded(3)
			for range 3 {
				a := noise32(r, 12000, 0.1)
				b := delayed(a, c.delay)
				for i := range b {
					b[i] *= c.gain
				}
				p.Add(a, b)
			}
			got := p.Reading()
			conform.Check(t, conform.Row{Section: "Delay and polarity", Case: "noise and its copy, 48 kHz: " + c.name, Source: "derived: the copy is moved on the circle, which moves every frequency alike; the tolerance is the program's goal", Unit: "samples",
				Expected: c.delay, Under: 0.02, Over: 0.02, Digits: 2, Measured: defined(t, "delay", got.DelaySamples)})
			near(t, "spread", defined(t, "spread", got.DelaySpread), 0, 0.05)
			if want := polarityOf(float64(c.gain)); got.Polarity != want {
				t.Errorf("polarity %q (confidence %.2f), want %q", got.Polarity, got.PolarityConfidence, want)
			}
			near(t, "level difference", defined(t, "level difference", got.LevelDifferenceDB), 20*math.Log10(math.Abs(float64(c.gain))), 0.05)
			near(t, "aligned correlation", defined(t, "aligned", got.AlignedCorrelation), math.Copysign(1, float64(c.gain)), 0.05)
			if coherence := defined(t, "coherence", got.Coherence); coherence < 0.97-2*math.Abs(c.delay)/6752 {
				// Of a piece of 6752 frames, that many are in one window only.
				t.Errorf("coherence %.3f, want about 1", coherence)
			}
		})
	}
}

// Oracle: plain cross-correlation by gonum v0.17.0 dsp/fourier, whose peak for
// white noise is the delay.
func TestDelayAgreesWithPlainCrossCorrelation(t *testing.T) {
	for i := range 12 {
		r := seeded(uint64(i))
		want := r.IntN(900) - 450
		n := 16384
		base := noise32(r, n+1000, 0.2)
		a, b := base[500:500+n], make([]float32, n)
		for i := range b {
			b[i] = -0.5*base[500+i-want] + float32(0.1*r.NormFloat64())
		}
		f := gonum.NewFFT(2 * n)
		x, y := make([]float64, 2*n), make([]float64, 2*n)
		for i := range n {
			x[i], y[i] = float64(a[i]), float64(b[i])
		}
		sx, sy := f.Coefficients(nil, x), f.Coefficients(nil, y)
		for k := range sx {
			sy[k] *= complex(real(sx[k]), -imag(sx[k]))
		}
		f.Sequence(x, sy)
		plain, top := 0, 0.0
		for lag := -480; lag <= 480; lag++ {
			if v := math.Abs(x[(lag+2*n)%(2*n)]); v > top {
				plain, top = lag, v
			}
		}
		if plain != want {
			t.Fatalf("plain correlation finds %d, built with %d", plain, want)
		}
		p := NewPair(48000, 480)
		p.Add(a, b)
		got := p.Reading()
		near(t, "delay", defined(t, "delay", got.DelaySamples), float64(plain), 0.1)
		if got.Polarity != Opposite {
			t.Errorf("polarity %q, want opposite", got.Polarity)
		}
	}
}

func TestWhatHasNoArrivalIsUndefined(t *testing.T) {
	r := seeded(9)
	const n = 16800
	hum := func(hz, level float64, harmonics int, phase float64) []float32 {
		x := make([]float32, n)
		for i := range x {
			v := 0.0
			for k := 1; k <= harmonics; k++ {
				v += math.Sin(2*math.Pi*hz*float64(k*i)/48000+phase*float64(k)) / float64(k)
			}
			x[i] = float32(level * v)
		}
		return x
	}
	mixed := func(a, b []float32) []float32 {
		out := make([]float32, n)
		for i := range out {
			out[i] = a[i] + b[i]
		}
		return out
	}
	for _, c := range []struct {
		name string
		add  func(p *Pair)
		hits int
	}{
		{"nothing added", func(p *Pair) {}, 0},
		{"silence in one line", func(p *Pair) { p.Add(noise32(r, n, 0.1), make([]float32, n)) }, 0},
		{"an offset in one line", func(p *Pair) {
			b := make([]float32, n)
			for i := range b {
				b[i] = 0.01
			}
			p.Add(noise32(r, n, 0.1), b)
		}, 0},
		{"not a number", func(p *Pair) {
			b := noise32(r, n, 0.1)
			b[77] = float32(math.NaN())
			p.Add(noise32(r, n, 0.1), b)
		}, 0},
		{"windows shorter than the lags", func(p *Pair) { p.Add(make([]float32, 100), make([]float32, 100)) }, 0},
		{"hum alone", func(p *Pair) {
			for i := range 8 {
				h := hum(50, 0.001, 1, float64(i))
				p.Add(h, h)
			}
		}, 0},
		{"buzz alone", func(p *Pair) {
			for i := range 8 {
				p.Add(hum(60, 0.01, 20, float64(i)), hum(60, 0.003, 20, float64(i)))
			}
		}, 0},
		{"one window of two noise floors", func(p *Pair) { p.Add(noise32(r, n, 1e-4), noise32(r, n, 1e-4)) }, 1},
		{"eight windows of two noise floors", func(p *Pair) {
			for range 8 {
				p.Add(noise32(r, n, 1e-4), noise32(r, n, 1e-4))
			}
		}, 8},
		{"hum in common over two noise floors", func(p *Pair) {
			for i := range 8 {
				p.Add(mixed(hum(50, 1e-3, 10, float64(i)), noise32(r, n, 3e-5)), mixed(hum(50, 5e-4, 10, float64(i)), noise32(r, n, 1e-4)))
			}
		}, 0},
		{"hum in common as loud as two noise floors", func(p *Pair) {
			for i := range 8 {
				p.Add(mixed(hum(50, 1e-4, 1, float64(i)), noise32(r, n, 1e-4)), mixed(hum(50, 1e-4, 1, float64(i)), noise32(r, n, 1e-4)))
			}
		}, 8},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := NewPair(48000, 480)
			c.add(p)
			got := p.Reading()
			if got.Hits != c.hits {
				t.Errorf("%d hits, want %d", got.Hits, c.hits)
			}
			if d, ok := got.DelaySamples.Get(); ok {
				t.Errorf("delay %.2f, want undefined (coherence %v)", d, got.Coherence)
			}
			if got.Polarity != Unclear || got.PolarityConfidence != 0 {
				t.Errorf("polarity %q with confidence %.2f, want unclear and 0", got.Polarity, got.PolarityConfidence)
			}
			if g, ok := got.Coherence.Get(); ok && g > 0.1+0.1/float64(c.hits) {
				t.Errorf("coherence %.3f, want about 0", g)
			}
		})
	}
}

// The bias of coherence is 1/n for n averages of unrelated noise; corrected, its
// mean is about 0 and never far off.
func TestCoherenceOfUnrelatedAndHalfRelatedNoise(t *testing.T) {
	for _, c := range []struct {
		name      string
		common    float64 // amplitude of the common noise; own noise 1
		want, tol float64
	}{
		{"unrelated", 0, 0, 0.02},
		{"half the power in common", 1, 0.25, 0.05}, // γ² = (s/(s+n))², the same in both
		{"nine tenths in common", 3, 0.81, 0.03},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := seeded(21)
			p := NewPair(48000, 240)
			for range 12 {
				base := noise32(r, 16800+100, 0.1)
				a, b := make([]float32, 16800), make([]float32, 16800)
				for i := range a {
					a[i] = float32(c.common)*base[i+50] + float32(0.1*r.NormFloat64())
					b[i] = float32(c.common)*base[i] + float32(0.1*r.NormFloat64())
				}
				p.Add(a, b)
			}
			got := p.Reading()
			near(t, "coherence", defined(t, "coherence", got.Coherence), c.want, c.tol)
			for _, o := range got.Octaves[1:] {
				near(t, "coherence of an octave", defined(t, "coherence", o.Coherence), c.want, 2.5*c.tol+0.03)
			}
		})
	}
}

func TestReadingChangesNothing(t *testing.T) {
	p := NewPair(44100, 300)
	r := seeded(1)
	a := noise32(r, 14000, 0.1)
	p.Add(a, delayed(a, 3))
	first, second := p.Reading(), p.Reading()
	if first.DelaySamples != second.DelaySamples || first.Coherence != second.Coherence || first.PolarityConfidence != second.PolarityConfidence {
		t.Errorf("two readings in a row differ: %v and %v", first, second)
	}
}

func TestDifferentLengthsAreAWrongCall(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("no panic")
		}
	}()
	NewPair(48000, 100).Add(make([]float32, 500), make([]float32, 501))
}

func TestEveryRateIsMeasured(t *testing.T) {
	for _, rate := range []int{8000, 44100, 48000, 88200, 96000, 192000} {
		r := seeded(uint64(rate))
		p := NewPair(rate, rate/100)
		a := noise32(r, rate/3, 0.1)
		p.Add(a, delayed(a, 20.25))
		got := p.Reading()
		near(t, "delay", defined(t, "delay", got.DelaySamples), 20.25, 0.1)
		if got.Octaves[8].Coherence.Defined() != (rate >= 48000) {
			t.Errorf("%d Hz: 16 kHz octave defined: %v", rate, got.Octaves[8].Coherence.Defined())
		}
	}
}

// 24 hits of 0.35 s at 48 kHz, with 10 ms of lag: the usual pair.
func BenchmarkPair(b *testing.B) {
	r := seeded(5)
	x, y := noise32(r, 16800, 0.1), noise32(r, 16800, 0.1)
	for i := range x {
		g := float32(math.Exp(-float64(i) / 4000))
		x[i] *= g
		y[i] = 0.1*y[i]*g + x[max(0, i-33)]
	}
	b.Run("add", func(b *testing.B) {
		p := NewPair(48000, 480)
		b.ReportAllocs()
		for b.Loop() {
			p.Add(x, y)
		}
	})
	b.Run("24 hits and a reading", func(b *testing.B) {
		for b.Loop() {
			p := NewPair(48000, 480)
			for range 24 {
				p.Add(x, y)
			}
			p.Reading()
		}
	})
}

// Two sources that sound at the same moments but share nothing: short unrelated
// bursts, which correlate by chance where they overlap.
func TestUnrelatedBurstsAreUndefined(t *testing.T) {
	for _, decay := range []float64{300, 1000, 3000} {
		believed := 0
		for seed := range 20 {
			r := seeded(uint64(seed))
			p := NewPair(48000, 480)
			for range 4 {
				a, b := noise32(r, 9000, 0.1), noise32(r, 9000, 0.1)
				for i := range a {
					g := float32(0)
					if i > 960 {
						g = float32(math.Exp(-float64(i-960) / decay))
					}
					a[i] = a[i]*g + float32(1e-4*r.NormFloat64())
					b[i] = b[i]*g + float32(1e-4*r.NormFloat64())
				}
				p.Add(a, b)
			}
			if p.Reading().DelaySamples.Defined() {
				believed++
			}
		}
		if believed > 0 {
			t.Errorf("bursts that decay over %g samples: a delay in %d of 20, want none", decay, believed)
		}
	}
}
