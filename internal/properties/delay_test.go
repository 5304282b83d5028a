package properties

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"tidemark/internal/between"
	"tidemark/internal/signal"
)

// hit is one stroke as two lines hear it.
type hit struct{ a, b []float32 }

// hits makes what a close and a further microphone hear of the same strokes.
func hits(r *rand.Rand, rateHz, delay, count int) []hit {
	out := make([]hit, count)
	n := int(0.4 * float64(rateHz))
	for i := range out {
		x := signal.White(r.Uint64(), 0.2, n)
		signal.Decay(x, within(r, 0.02, 0.06)*float64(rateHz))
		body := signal.Sine(rateHz, within(r, 90, 240), 0.25, n)
		signal.Decay(body, 0.08*float64(rateHz))
		signal.Add(x, body, 0)
		a, b := signal.White(r.Uint64(), 1e-4, n), signal.White(r.Uint64(), 1e-4, n)
		at := rateHz / 40
		signal.Add(a, x, at+max(0, -delay))
		signal.Add(b, signal.Gain(x, -8), at+max(0, delay))
		out[i] = hit{a, b}
	}
	return out
}

func pairReading(rateHz, maxLag int, h []hit) between.PairReading {
	p := between.NewPair(rateHz, maxLag)
	for _, h := range h {
		p.Add(h.a, h.b)
	}
	return p.Reading()
}

// A delay of n samples is found as n, whichever line is late, at any rate.
func TestADelayOfAnyNumberOfSamplesIsFound(t *testing.T) {
	each(t, 16, func(t *testing.T, r *rand.Rand) {
		rate := []int{44100, 48000, 96000}[r.IntN(3)]
		maxLag := rate / 50
		n := r.IntN(2*maxLag-20) - maxLag + 10
		got := pairReading(rate, maxLag, hits(r, rate, n, 1+r.IntN(4)))
		near(t, "delay", got.DelaySamples.Or(1e9), float64(n), 0.05)
		if got.Polarity != between.Same {
			t.Errorf("polarity %v, want %v", got.Polarity, between.Same)
		}
	})
}

// Gain on one side moves the difference of levels by itself and nothing that is
// heard in time: delay, spread, polarity, coherence, correlation.
func TestGainOnOneSideMovesNoDelay(t *testing.T) {
	each(t, 10, func(t *testing.T, r *rand.Rand) {
		rate := []int{44100, 48000}[r.IntN(2)]
		maxLag := rate / 50
		h := hits(r, rate, r.IntN(maxLag)-maxLag/2, 3)
		want := pairReading(rate, maxLag, h)
		gain := within(r, -40, 30)
		for i := range h {
			h[i].b = signal.Gain(h[i].b, gain)
		}
		got := pairReading(rate, maxLag, h)
		near(t, "difference of levels moved by", float64(got.LevelDifferenceDB.Or(0)-want.LevelDifferenceDB.Or(0)), gain, 1e-4)
		near(t, "delay", got.DelaySamples.Or(1e9), want.DelaySamples.Or(-1e9), 1e-3)
		near(t, "spread", got.DelaySpread.Or(1e9), want.DelaySpread.Or(-1e9), 1e-3)
		near(t, "sharpness", got.DelaySharpness.Or(1e9), want.DelaySharpness.Or(-1e9), 1e-2)
		near(t, "coherence", got.Coherence.Or(9), want.Coherence.Or(-9), 1e-4)
		near(t, "correlation", got.Correlation.Or(9), want.Correlation.Or(-9), 1e-5)
		near(t, "aligned correlation", got.AlignedCorrelation.Or(9), want.AlignedCorrelation.Or(-9), 1e-4)
		near(t, "mono loss on matched faders", float64(got.MonoLossMatchedDB.Or(99)), float64(want.MonoLossMatchedDB.Or(-99)), 1e-4)
		if got.Polarity != want.Polarity || got.Hits != want.Hits || got.Skipped != want.Skipped {
			t.Errorf("%v, %d hits, %d skipped, want %v, %d, %d", got.Polarity, got.Hits, got.Skipped, want.Polarity, want.Hits, want.Skipped)
		}
	})
}

// One side turned upside down turns polarity and correlations over, and nothing
// else: delay, spread and coherence stay to the bit.
func TestPolarityOfOneSideTurnsPolarityAlone(t *testing.T) {
	turned := map[between.Polarity]between.Polarity{between.Same: between.Opposite, between.Opposite: between.Same, between.Unclear: between.Unclear}
	each(t, 8, func(t *testing.T, r *rand.Rand) {
		const rate = 48000
		h := hits(r, rate, r.IntN(800)-400, 1+r.IntN(4))
		want := pairReading(rate, rate/50, h)
		for i := range h {
			h[i].b = signal.Scale(h[i].b, -1)
		}
		got := pairReading(rate, rate/50, h)
		if got.Polarity != turned[want.Polarity] {
			t.Errorf("polarity %v, was %v before", got.Polarity, want.Polarity)
		}
		near(t, "correlation", got.Correlation.Or(9), -want.Correlation.Or(9), 0)
		near(t, "aligned correlation", got.AlignedCorrelation.Or(9), -want.AlignedCorrelation.Or(9), 0)
		same(t, "all else", got, want, func(path string) bool {
			return path == ".Polarity" || strings.Contains(path, "Correlation") || strings.Contains(path, "MonoLoss")
		})
	})
}

// Lines that change places change the sign of what lies between them.
func TestLinesThatChangePlacesChangeTheSign(t *testing.T) {
	each(t, 8, func(t *testing.T, r *rand.Rand) {
		const rate = 48000
		h := hits(r, rate, r.IntN(800)-400, 1+r.IntN(4))
		want := pairReading(rate, rate/50, h)
		for i := range h {
			h[i].a, h[i].b = h[i].b, h[i].a
		}
		got := pairReading(rate, rate/50, h)
		near(t, "delay", got.DelaySamples.Or(1e9), -want.DelaySamples.Or(1e9), 0.02)
		near(t, "difference of levels", float64(got.LevelDifferenceDB.Or(99)), -float64(want.LevelDifferenceDB.Or(99)), 1e-9)
		near(t, "correlation", got.Correlation.Or(9), want.Correlation.Or(-9), 1e-12)
		near(t, "mono loss", float64(got.MonoLossDB.Or(99)), float64(want.MonoLossDB.Or(-99)), 1e-9)
		if got.Polarity != want.Polarity {
			t.Errorf("polarity %v, want %v", got.Polarity, want.Polarity)
		}
	})
}

// A difference of two prints moves with neither's place in time: the null of a
// print against itself, later by any number of samples and at any gain, is empty.
func TestAPrintNullsAgainstItself(t *testing.T) {
	each(t, 8, func(t *testing.T, r *rand.Rand) {
		const rate = 48000
		x := line(r, rate, 2*rate)
		delay, gain := r.IntN(4000)-2000, within(r, -20, 20)
		a, b := signal.Delay(x, max(0, -delay)), signal.Delay(signal.Gain(x, gain), max(0, delay))
		n := between.NewNull(float64(delay))
		for at, next := 0, cut(r); at < len(a); {
			end := min(at+next(), len(a))
			n.Add(a[at:end], b[at:end])
			at = end
		}
		got := n.Reading()
		near(t, "gain", float64(got.GainDB.Or(99)), -gain, 1e-4)
		if left := float64(got.ResidualDB.Or(-200)); left > -140 || math.IsNaN(left) {
			t.Errorf("%.1f dB left, want nothing but the rounding of 24 bits", left)
		}
		if want := int64(len(a)); got.Frames < want-4000 || got.Frames > want {
			t.Errorf("%d frames compared of %d", got.Frames, want)
		}
	})
}
