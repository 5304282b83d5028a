package properties

import (
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"tidemark/internal/meter"
	"tidemark/internal/signal"
	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

// levelsOf are all levels of a recording that gain moves by itself, and all
// numbers that it leaves alone.
func levelsOf(r meter.Readings) (moved, still map[string]float64) {
	moved, still = map[string]float64{}, map[string]float64{}
	loudness := func(name string, l meter.LoudnessReading) {
		put(moved, name+" integrated", l.Integrated)
		put(moved, name+" highest momentary", l.MaxMomentary)
		put(moved, name+" highest short-term", l.MaxShortTerm)
		put(still, name+" range", l.Range)
	}
	loudness("programme", r.Programme)
	for i, c := range r.Channels {
		name := "channel " + string(rune('A'+i))
		loudness(name, c.Loudness)
		put(moved, name+" true peak", c.TruePeak.Max)
		put(moved, name+" RMS", c.RMS)
		put(moved, name+" offset", unit.Amplitude[unit.DB](math.Abs(c.Level.DC)))
		put(moved, name+" floor", c.Tidemark.Floor)
		put(moved, name+" usual low", c.Tidemark.UsualLow)
		put(moved, name+" usual high", c.Tidemark.UsualHigh)
		put(moved, name+" loudest hop", c.Tidemark.Highest)
		put(moved, name+" sample peak", c.Tidemark.Peak)
		if h, ok := c.Tidemark.Headroom.Get(); ok {
			moved[name+" headroom, turned over"] = -float64(h)
		}
		put(still, name+" crest", c.Crest)
		still[name+" peak frame"] = float64(c.Level.PeakFrame)
		still[name+" steady"] = map[bool]float64{true: 1}[c.Tidemark.Steady]
		still[name+" zero frames"] = float64(c.Dropout.ZeroFrames)
		for _, b := range c.Spectrum.Bands {
			put(moved, name+" band of "+hertz(b.NominalHz), b.Level)
		}
		put(moved, name+" hum", c.Hum.Level)
		still[name+" hum known"] = map[bool]float64{true: 1}[c.Hum.Known]
		still[name+" hum Hz"] = c.Hum.FundamentalHz
		for _, h := range c.Hum.Harmonics {
			moved[name+" harmonic "+hertz(float64(h.Number))] = h.LevelDBFS
			still[name+" harmonic over floor "+hertz(float64(h.Number))] = h.OverFloorDB
		}
	}
	if s, ok := r.Stereo.Get(); ok {
		put(still, "correlation", s.Correlation)
		put(still, "mono loss", s.MonoLoss)
		put(still, "side over mid", s.SideOverMid)
		put(still, "balance", s.Balance)
	}
	return moved, still
}

func put[T ~float64](m map[string]float64, name string, v unit.Maybe[T]) {
	if x, ok := v.Get(); ok {
		m[name] = float64(x)
	}
}

func hertz(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

// Gain by any amount moves every level by that amount, and nothing else. Lines
// are loud enough for every part to stay above the absolute gates of −70 LUFS
// and −70 dBFS, which are made to treat soft sound otherwise.
//
// Rounding the result to 24 bits of mantissa adds noise at −150 dB re the
// sample, which is nothing to levels; the softest bands of the spectrum lie
// 70 dB under the sound and are held to a wider tolerance.
func TestGainMovesEveryLevelByItself(t *testing.T) {
	hums := 0
	each(t, 8, func(t *testing.T, r *rand.Rand) {
		rate := []int{44100, 48000, 96000}[r.IntN(3)]
		x := take(r, 1+r.IntN(2), rate, int(within(r, 6.5, 9)*float64(rate)))
		gain := within(r, -8, 20)
		y := make([][]float32, len(x))
		for c := range x {
			y[c] = signal.Gain(x[c], gain)
		}
		moved, still := levelsOf(whole(rate, x...))
		gotMoved, gotStill := levelsOf(whole(rate, y...))
		compare(t, gotMoved, moved, gain, 2e-3)
		compare(t, gotStill, still, 0, 2e-3)
		if len(moved) < 40 {
			t.Errorf("only %d levels were compared", len(moved))
		}
		for name := range moved {
			if strings.HasSuffix(name, " hum") {
				hums++
			}
		}
	})
	if hums == 0 {
		t.Error("no case had a hum whose level could be compared")
	}
}

// Gain by a power of two rounds nothing: levels move by it to the last digits of
// the logarithm, and everything else stays to the bit.
func TestGainByAPowerOfTwoIsExact(t *testing.T) {
	each(t, 5, func(t *testing.T, r *rand.Rand) {
		const rate = 48000
		x := take(r, 2, rate, int(within(r, 6.2, 8)*rate))
		power := r.IntN(4) - 1
		if power == 0 {
			power = 3
		}
		factor := math.Ldexp(1, power)
		moved, still := levelsOf(whole(rate, x...))
		gotMoved, gotStill := levelsOf(whole(rate, signal.Scale(x[0], factor), signal.Scale(x[1], factor)))
		compare(t, gotMoved, moved, 20*math.Log10(factor), 1e-9)
		compare(t, gotStill, still, 0, 1e-9)
	})
}

func compare(t *testing.T, got, before map[string]float64, by, tolerance float64) {
	t.Helper()
	for name, want := range before {
		v, ok := got[name]
		if !ok {
			t.Errorf("%s: gone, was %g before", name, want)
			continue
		}
		near(t, name+" moved by", v-want, by, tolerance)
	}
	for name, v := range got {
		if _, ok := before[name]; !ok {
			t.Errorf("%s: %g, was not there before", name, v)
		}
	}
}

// turned is a reading of the channel with its signs turned over: the offset, and
// the samples that events show.
func turned(c meter.Channel) meter.Channel {
	runs := func(e *meter.Events) {
		e.Kept = slices.Clone(e.Kept)
		for i := range e.Kept {
			e.Kept[i].Amplitude *= -1
		}
		e.Last.Amplitude *= -1
	}
	c.Level.DC *= -1
	runs(&c.Clipping.FullScale)
	runs(&c.Clipping.FlatTop)
	runs(&c.Dropout.Dropouts)
	c.Dropout.Holes = slices.Clone(c.Dropout.Holes)
	for i := range c.Dropout.Holes {
		c.Dropout.Holes[i].Amplitude *= -1
	}
	return c
}

// Flipping the polarity of all channels changes nothing but the sign of the
// offset and of the samples that events show; flipping one of two turns over how
// they go together, and nothing else. Integers have one value more below zero
// than above; sound that touches it is no subject of this.
func TestPolarityChangesNothingButItself(t *testing.T) {
	each(t, 5, func(t *testing.T, r *rand.Rand) {
		rate := []int{44100, 48000, 88200}[r.IntN(3)]
		x := take(r, 2, rate, int(within(r, 6.2, 7)*float64(rate)))
		f := float(rate, 2)
		for c := range x {
			spoilFinite(r, x[c], rate)
		}
		if r.IntN(2) == 0 {
			f.Encoding, f.Bits = sound.Integer, 16
			for c := range x {
				signal.Clip(x[c], 32767./32768)
				x[c] = signal.Quantize(x[c], 16)
			}
		}
		flipped := [][]float32{signal.Scale(x[0], -1), signal.Scale(x[1], -1)}
		blocks := func() int { return sound.BlockFrames }
		want := measure(f, x, blocks)
		both := measure(f, flipped, blocks)
		one := measure(f, [][]float32{x[0], flipped[1]}, blocks)
		both.Channels[0], both.Channels[1], one.Channels[1] = turned(both.Channels[0]), turned(both.Channels[1]), turned(one.Channels[1])
		// The sign of a nought is not the subject either.
		nought := func(path string) bool { return strings.HasSuffix(path, ".Amplitude") }
		same(t, "both flipped", both, want, nought)
		same(t, "one flipped", one, want, func(path string) bool { return nought(path) || strings.HasPrefix(path, ".Stereo") })
		for c := range want.Channels {
			for i, w := range want.Channels[c].Clipping.FullScale.Kept {
				if got := both.Channels[c].Clipping.FullScale.Kept[i].Amplitude; got != w.Amplitude {
					t.Errorf("channel %d, run %d at full scale: got %g, want %g", c, i, got, w.Amplitude)
				}
			}
			for i, w := range want.Channels[c].Dropout.Holes {
				if got := both.Channels[c].Dropout.Holes[i].Amplitude; got != w.Amplitude {
					t.Errorf("channel %d, hole %d: got %g, want %g", c, i, got, w.Amplitude)
				}
			}
		}
		a, b := one.Stereo.Or(meter.StereoReading{}), want.Stereo.Or(meter.StereoReading{})
		near(t, "correlation turned over", a.Correlation.Or(9), -b.Correlation.Or(9), 0)
		near(t, "balance", float64(a.Balance.Or(99)), float64(b.Balance.Or(-99)), 0)
		near(t, "side over mid turned over", float64(a.SideOverMid.Or(99)), -float64(b.SideOverMid.Or(99)), 1e-9)
	})
}
