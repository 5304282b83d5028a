package properties

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"tidemark/internal/between"
	"tidemark/internal/meter"
	"tidemark/internal/signal"
)

// Swapped channels are the same channels the other way round: each reads what it
// read, the two together read the same, and the balance leans the other way.
func TestSwappedChannelsAreTheMirrorImage(t *testing.T) {
	each(t, 6, func(t *testing.T, r *rand.Rand) {
		rate := []int{44100, 48000, 96000}[r.IntN(3)]
		x := take(r, 2, rate, int(within(r, 1, 4)*float64(rate)))
		if r.IntN(2) == 0 {
			signal.Add(x[1], signal.Gain(x[0], within(r, -12, 6)), r.IntN(200)) // and something of the left in the right
		}
		want, got := whole(rate, x[0], x[1]), whole(rate, x[1], x[0])
		got.Channels[0], got.Channels[1] = got.Channels[1], got.Channels[0]
		same(t, "swapped", got, want, func(path string) bool { return strings.HasPrefix(path, ".Stereo.value.Balance") })
		a, b := got.Stereo.Or(meter.StereoReading{}), want.Stereo.Or(meter.StereoReading{})
		near(t, "balance", float64(a.Balance.Or(99)), -float64(b.Balance.Or(99)), 1e-12)
	})
}

// One sound on both channels is all middle: correlation 1, nothing lost in mono,
// no side, in balance, and 3.01 LU louder than either channel by itself.
func TestOneSoundOnBothChannelsIsAllMiddle(t *testing.T) {
	each(t, 6, func(t *testing.T, r *rand.Rand) {
		const rate = 48000
		x := line(r, rate, int(within(r, 3.5, 5)*rate))
		m := whole(rate, x, x)
		same(t, "channels", m.Channels[0], m.Channels[1], nil)
		s, ok := m.Stereo.Get()
		if !ok {
			t.Fatal("two channels without a stereo reading")
		}
		near(t, "correlation", s.Correlation.Or(9), 1, 1e-12)
		near(t, "mono loss", float64(s.MonoLoss.Or(9)), 0, 1e-12)
		near(t, "balance", float64(s.Balance.Or(9)), 0, 0)
		if side, ok := s.SideOverMid.Get(); ok {
			t.Errorf("a side of %v dB", side)
		}
		for name, p := range map[string][2]float64{
			"integrated":         {float64(m.Programme.Integrated.Or(0)), float64(m.Channels[0].Loudness.Integrated.Or(99))},
			"highest momentary":  {float64(m.Programme.MaxMomentary.Or(0)), float64(m.Channels[0].Loudness.MaxMomentary.Or(99))},
			"highest short-term": {float64(m.Programme.MaxShortTerm.Or(0)), float64(m.Channels[0].Loudness.MaxShortTerm.Or(99))},
		} {
			near(t, name+" over one channel", p[0]-p[1], 10*math.Log10(2), 1e-9)
		}
		same(t, "range", m.Programme.Range, m.Channels[0].Loudness.Range, nil)
	})
}

// What the stereo meter says of left and right is what the level meter says of
// middle and side; and left and right come back from them to the bit where their
// sums have room in a float.
func TestMiddleAndSideSayTheSame(t *testing.T) {
	each(t, 5, func(t *testing.T, r *rand.Rand) {
		rate := []int{44100, 48000}[r.IntN(2)]
		x := take(r, 2, rate, int(within(r, 1, 3)*float64(rate)))
		if r.IntN(2) == 0 {
			signal.Add(x[1], signal.Gain(x[0], within(r, -12, 6)), 0)
		}
		l, right := signal.Quantize(x[0], 20), signal.Quantize(x[1], 20)
		mid, side := signal.Silence(len(l)), signal.Silence(len(l))
		between.EncodeMidSide(mid, side, l, right)
		want, ms := whole(rate, l, right), whole(rate, mid, side)
		s := want.Stereo.Or(meter.StereoReading{})
		near(t, "side over mid", float64(s.SideOverMid.Or(99)), float64(ms.Channels[1].RMS.Or(0)-ms.Channels[0].RMS.Or(0)), 1e-6)
		both := (want.Channels[0].Level.MeanSquare + want.Channels[1].Level.MeanSquare) / 2
		near(t, "mono loss", float64(s.MonoLoss.Or(99)), 10*math.Log10(ms.Channels[0].Level.MeanSquare/both), 1e-6)
		near(t, "balance", float64(s.Balance.Or(99)), float64(want.Channels[0].RMS.Or(0)-want.Channels[1].RMS.Or(0)), 1e-9)

		backL, backR := signal.Silence(len(l)), signal.Silence(len(l))
		between.DecodeMidSide(backL, backR, mid, side)
		same(t, "decoded again", whole(rate, backL, backR), want, nil)
	})
}
