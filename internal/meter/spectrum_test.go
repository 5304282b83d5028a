package meter

import (
	"math"
	"math/rand/v2"
	"testing"
)

func TestBandsOfARate(t *testing.T) {
	for _, c := range []struct {
		rate int
		last float64
	}{{8000, 3150}, {44100, 16000}, {48000, 20000}, {96000, 20000}, {192000, 20000}} {
		b := NewSpectrum(c.rate).Reading().Bands
		if b[0].NominalHz != 25 || b[len(b)-1].NominalHz != c.last {
			t.Errorf("%d Hz: from %g to %g, want 25 to %g", c.rate, b[0].NominalHz, b[len(b)-1].NominalHz, c.last)
		}
		for _, v := range b {
			if v.Level.Defined() || math.Abs(math.Log(v.CenterHz/v.NominalHz)) > 0.015 {
				t.Errorf("%d Hz: empty band %+v", c.rate, v)
			}
		}
	}
}

// White noise of variance σ² has 2σ²·(f₂−f₁)/fs in a band: +3.01 dB as AES17 has it.
func TestWhiteNoiseInBands(t *testing.T) {
	for _, rate := range []int{44100, 96000} {
		r := rand.New(rand.NewPCG(8, uint64(rate)))
		x := make([]float32, 60*rate)
		for i := range x {
			x[i] = float32(0.1 * r.NormFloat64())
		}
		m := NewSpectrum(rate)
		m.Measure(x)
		for _, b := range m.Reading().Bands {
			width := b.CenterHz * (math.Pow(10, 0.05) - math.Pow(10, -0.05))
			want := 10*math.Log10(0.01*2*width/float64(rate)) + 3.0103
			// The power of n = 2·60 s·width samples of noise scatters by 4.34·√(2/n) dB.
			tol := max(0.3, 3*4.34*math.Sqrt(2/(2*60*width)))
			if got := float64(b.Level.Or(-400)); math.Abs(got-want) > tol {
				t.Errorf("%g Hz at %d: %.2f dBFS, want %.2f ± %.2f", b.NominalHz, rate, got, want, tol)
			}
		}
	}
}

// Every sample counts the same: a click anywhere has the same power in its bands.
func TestAClickCountsTheSameAnywhere(t *testing.T) {
	const rate, n = 48000, 48000
	for _, at := range []int{0, 1, 777, 1500, 3071, 3072, 20000, n - 1} {
		x := make([]float32, n)
		x[at] = 1
		m := NewSpectrum(rate)
		m.Measure(x)
		for _, nominal := range []float64{1000, 8000, 125} {
			center := 1000 * math.Pow(10, math.Round(10*math.Log10(nominal/1000))/10)
			want := 10*math.Log10(2*center*(math.Pow(10, 0.05)-math.Pow(10, -0.05))/rate/n) + 3.0103
			if got := bandOf(t, m.Reading(), nominal); math.Abs(got-want) > 0.15 {
				t.Errorf("click at %d: %g Hz %.2f, want %.2f", at, nominal, got, want)
			}
		}
	}
}

func TestSilenceHasNoSpectrum(t *testing.T) {
	m := NewSpectrum(48000)
	m.Measure(make([]float32, 48000))
	for _, b := range m.Reading().Bands {
		if b.Level.Defined() {
			t.Errorf("%g Hz: %v, want undefined", b.NominalHz, b.Level)
		}
	}
}

func BenchmarkSpectrum(b *testing.B) {
	x := plusNoise(make([]float32, 480000), 0.05, 1)
	m := NewSpectrum(48000)
	m.Measure(x)
	faultBench(b, m.Measure, x)
}
