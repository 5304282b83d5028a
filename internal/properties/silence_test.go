package properties

import (
	"math/rand/v2"
	"testing"

	"tidemark/internal/meter"
	"tidemark/internal/signal"
)

// moved is a reading whose places lie so many frames later.
func moved(c meter.Channel, frames int64, rateHz int) meter.Channel {
	run := func(r *meter.Run) {
		if *r != (meter.Run{}) {
			r.Frame += frames
		}
	}
	events := func(e *meter.Events) {
		kept := append([]meter.Run(nil), e.Kept...)
		for i := range kept {
			run(&kept[i])
		}
		e.Kept = kept
		run(&e.Last)
	}
	c.Level.Frames += frames
	c.Level.PeakFrame += frames
	c.TruePeak.Frame += frames
	events(&c.Clipping.FullScale)
	events(&c.Clipping.FlatTop)
	events(&c.Dropout.Dropouts)
	events(&c.Dropout.Repeats)
	c.Dropout.ZeroFrames += frames
	c.Dropout.LeadingZeros += frames
	holes := append([]meter.Hole(nil), c.Dropout.Holes...)
	for i := range holes {
		run(&holes[i].Run)
	}
	c.Dropout.Holes = holes
	onsets := append([]meter.Onset(nil), c.Onsets.Onsets...)
	for i := range onsets {
		onsets[i].Frame += frames
	}
	c.Onsets.Onsets = onsets
	clicks := append([]meter.Click(nil), c.Clicks.Clicks...)
	for i := range clicks {
		clicks[i].Frame += frames
	}
	c.Clicks.Clicks = clicks
	c.Clicks.PerSecond = append(make([]uint16, frames/int64(rateHz)), c.Clicks.PerSecond...)
	return c
}

// Silence before a recording that begins in silence moves every event by its
// length and leaves it as it was: what kind, how loud, how long. The silence is
// a number of whole seconds, a multiple of every grid that a meter works on.
func TestLeadingSilenceMovesEventsAndNothingElse(t *testing.T) {
	each(t, 10, func(t *testing.T, r *rand.Rand) {
		const rate = 48000
		x := line(r, rate, int(within(r, 3, 6)*rate))
		spoilFinite(r, x, rate)
		x = signal.Join(signal.Silence(rate/2), x)
		seconds := 1 + r.IntN(4)
		n := int64(seconds * rate)
		before, after := whole(rate, x), whole(rate, signal.Join(signal.Silence(int(n)), x))
		want, got := moved(before.Channels[0], n, rate), after.Channels[0]
		for name, p := range map[string][2]any{
			"clipping": {got.Clipping, want.Clipping}, "clicks": {got.Clicks, want.Clicks},
			"onsets": {got.Onsets, want.Onsets}, "bits": {got.Bits, want.Bits},
			"true peak": {got.TruePeak, want.TruePeak}, "dropouts": {got.Dropout.Dropouts, want.Dropout.Dropouts},
			"repeats": {got.Dropout.Repeats, want.Dropout.Repeats}, "holes": {got.Dropout.Holes, want.Dropout.Holes},
			"zeros":     {[3]int64{got.Dropout.ZeroFrames, got.Dropout.LeadingZeros, got.Dropout.TrailingZeros}, [3]int64{want.Dropout.ZeroFrames, want.Dropout.LeadingZeros, want.Dropout.TrailingZeros}},
			"peak":      {any2{got.Level.Peak, got.Level.PeakFrame}, any2{want.Level.Peak, want.Level.PeakFrame}},
			"hops":      {got.Level.Hops[10*seconds:], want.Level.Hops},
			"tidemark":  {got.Tidemark, want.Tidemark},
			"loudness":  {got.Loudness.Integrated, want.Loudness.Integrated},
			"momentary": {got.Loudness.MaxMomentary, want.Loudness.MaxMomentary},
		} {
			same(t, name, p[0], p[1], nil)
		}
		near(t, "sum of squares", got.Level.MeanSquare*float64(got.Level.Frames), want.Level.MeanSquare*float64(before.Channels[0].Level.Frames), 1e-9)
		near(t, "sum of samples", got.Level.DC*float64(got.Level.Frames), want.Level.DC*float64(before.Channels[0].Level.Frames), 1e-6)
	})
}

// any2 is a level and where it lies.
type any2 struct {
	Level float64
	Frame int64
}

// spoilFinite spoils without samples that are no numbers.
func spoilFinite(r *rand.Rand, x []float32, rateHz int) {
	spoil(r, x, rateHz)
	for i, v := range x {
		if !(v >= -4 && v <= 4) {
			x[i] = 0
		}
	}
}

// Silence behind a recording that ended in more than three seconds of it moves
// nothing that is gated, no highest value and no event. At the very end of a
// recording the meters complete what silence completes as well.
func TestTrailingSilenceMovesNothingThatIsGated(t *testing.T) {
	each(t, 10, func(t *testing.T, r *rand.Rand) {
		rate := []int{44100, 48000}[r.IntN(2)]
		x := line(r, rate, int(within(r, 3, 6)*float64(rate)))
		spoilFinite(r, x, rate)
		end := line(r, rate, rate/2)
		signal.Fade(end, 0, rate/4) // a cut end would be torn, and the silence a hole
		x = signal.Join(x, end, signal.Silence(4*rate))
		n := 1 + r.IntN(5*rate)
		before, after := whole(rate, x), whole(rate, signal.Join(x, signal.Silence(n)))
		want, got := before.Channels[0], after.Channels[0]
		for name, p := range map[string][2]any{
			"loudness": {got.Loudness, want.Loudness}, "programme": {after.Programme, before.Programme},
			"clipping": {got.Clipping, want.Clipping}, "onsets": {got.Onsets, want.Onsets}, "bits": {got.Bits, want.Bits},
			"true peak": {got.TruePeak, want.TruePeak}, "dropouts": {got.Dropout.Dropouts, want.Dropout.Dropouts},
			"repeats": {got.Dropout.Repeats, want.Dropout.Repeats}, "clicks": {got.Clicks.Clicks, want.Clicks.Clicks},
			"tidemark": {got.Tidemark, want.Tidemark}, "peak": {any2{got.Level.Peak, got.Level.PeakFrame}, any2{want.Level.Peak, want.Level.PeakFrame}},
		} {
			same(t, name, p[0], p[1], nil)
		}
		if got, want := got.Dropout.TrailingZeros, want.Dropout.TrailingZeros+int64(n); got != want {
			t.Errorf("%d frames of zero at the end, want %d", got, want)
		}
		power := func(m meter.Readings, band int) float64 {
			v, ok := m.Channels[0].Spectrum.Bands[band].Level.Get()
			if !ok {
				return 0
			}
			return 1e6 * powerOf(float64(v)) * float64(m.Frames)
		}
		for b := range want.Spectrum.Bands {
			near(t, "power of the band of "+hertz(want.Spectrum.Bands[b].NominalHz)+" re before", power(after, b)/power(before, b), 1, 1e-6)
		}
	})
}
