package meter

import (
	"math"
	"testing"

	"tidemark/internal/signal"
)

// hits are short bursts of noise that die away, far apart and of many strengths,
// over a soft floor.
func hits(rateHz, seconds int) []float32 {
	x := signal.Pink(1, 0.0005, rateHz*seconds)
	noise := signal.White(2, 1, rateHz*seconds)
	for at, k := rateHz/3, 0; at < len(x); at, k = at+rateHz*(2+k%5)/3, k+1 {
		size := 0.1 + 0.08*float64(k%7)
		for i := at; i < min(at+rateHz, len(x)); i++ {
			t := float64(i-at) / float64(rateHz)
			x[i] += float32(size * math.Exp(-t/0.12) * float64(noise[i]) * (1 + math.Sin(2*math.Pi*180*t)))
		}
	}
	return x
}

func TestASampledSpectrumIsNearTheWholeOne(t *testing.T) {
	const rate = 48000
	for name, x := range map[string][]float32{
		"noise": signal.Pink(3, 0.1, 90*rate),
		"hits":  hits(rate, 90),
	} {
		whole, sampled := NewSpectrum(rate), NewSpectrum(rate)
		sampled.sample()
		whole.Measure(x)
		sampled.Measure(x)
		if n := sampled.high.soft; n.taken*softEvery > n.soft+softEvery || n.soft < n.pairs/4 {
			t.Errorf("%s: %d of %d soft pairs looked at, %d pairs in all: that saves nothing", name, n.taken, n.soft, n.pairs)
		}
		worst := 0.0
		a, b := whole.Reading().Bands, sampled.Reading().Bands
		for i := range a {
			worst = max(worst, math.Abs(float64(a[i].Level.Or(0)-b[i].Level.Or(0))))
		}
		t.Logf("%s: bands within %.2f dB", name, worst)
		if worst > 0.5 {
			t.Errorf("%s: a band is %.2f dB from the whole spectrum's", name, worst)
		}
	}
}

func TestASampledSpectrumOfTwentySecondsIsWhole(t *testing.T) {
	const rate = 48000
	x := hits(rate, 20)
	whole, sampled := NewSpectrum(rate), NewSpectrum(rate)
	sampled.sample()
	whole.Measure(x)
	sampled.Measure(x)
	a, b := whole.Reading().Bands, sampled.Reading().Bands
	for i := range a {
		if a[i] != b[i] {
			t.Errorf("%g Hz: %v sampled, %v whole", a[i].NominalHz, b[i].Level, a[i].Level)
		}
	}
}
