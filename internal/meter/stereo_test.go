package meter

import (
	"fmt"
	"math"
	"testing"

	"tidemark/internal/signal"
	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

func measureStereo(l, r []float32) StereoReading {
	m := NewStereo(48000)
	m.Measure(&sound.Block{Channels: [][]float32{l, r}})
	return m.Reading()
}

// Derived: for equal levels and correlation r the mono sum loses
// 10·log10((1+r)/2), and S/M = (1−r)/(1+r). Two sines φ apart have r = cos φ.
func TestStereoOfTwoSines(t *testing.T) {
	const frames = 48000
	l := signal.Sine(48000, 1000, 0.5, frames)
	for _, c := range []struct{ r, loss, sideOverMid float64 }{
		{0.9, -0.22, -12.79}, {0.7, -0.71, -7.53}, {0.5, -1.25, -4.77}, {0.3, -1.87, -2.69},
		{0, -3.01, 0}, {-0.2, -3.98, 1.76}, {-0.5, -6.02, 4.77}, {-0.9, -13.01, 12.79},
	} {
		r := make([]float32, frames)
		signal.NewTone(48000, 1000, 0.5, math.Acos(c.r)).Fill(r)
		got := measureStereo(l, r)
		name := fmt.Sprintf("correlation %g: ", c.r)
		wantNear(t, name+"correlation", got.Correlation.Or(9), c.r, 1e-5)
		wantNear(t, name+"mono loss", float64(got.MonoLoss.Or(9)), c.loss, 0.006)
		wantNear(t, name+"side over mid", float64(got.SideOverMid.Or(99)), c.sideOverMid, 0.006)
		wantNear(t, name+"balance", float64(got.Balance.Or(9)), 0, 1e-4)
	}
}

func TestStereoExtremes(t *testing.T) {
	x := signal.White(1, 0.1, 5000)
	silence := signal.Silence(5000)
	none := unit.None[unit.DB]()
	for _, c := range []struct {
		name        string
		l, r        []float32
		correlation unit.Maybe[float64]
		loss        float64
		lossKnown   bool
	}{
		{"identical", x, x, unit.Some(1.0), 0, true},
		{"opposite: nothing is left in mono", x, signal.Scale(x, -1), unit.Some(-1.0), 0, false},
		{"left only", x, silence, unit.None[float64](), -3.0103, true},
		{"silence", silence, silence, unit.None[float64](), 0, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := measureStereo(c.l, c.r)
			v, ok := got.Correlation.Get()
			want, wantOK := c.correlation.Get()
			if ok != wantOK || math.Abs(v-want) > 1e-12 {
				t.Errorf("correlation: got %v %v, want %v %v", v, ok, want, wantOK)
			}
			if got.MonoLoss.Defined() != c.lossKnown {
				t.Errorf("mono loss: got %v, want defined: %v", got.MonoLoss, c.lossKnown)
			}
			wantNear(t, "mono loss", float64(got.MonoLoss.Or(0)), c.loss, 1e-4)
		})
	}
	got := measureStereo(x, signal.Scale(x, 0.5))
	wantNear(t, "balance of a channel 6 dB down", float64(got.Balance.Or(0)), 6.0206, 1e-4)
	if got := measureStereo(x, silence); got.Balance != none {
		t.Errorf("balance with a silent channel: got %v, want undefined", got.Balance)
	}
	// Unequal levels: mono power over stereo power is (PL + PR + 2r√(PL·PR))/(2(PL + PR)).
	wantNear(t, "mono loss of a channel 6 dB down", float64(got.MonoLoss.Or(0)), 10*math.Log10((1+0.25+1)/(2*1.25)), 1e-4)
}

func TestStereoPanicsOnOneChannel(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("a mono block was accepted, want a panic: it is a wrong call")
		}
	}()
	NewStereo(48000).Measure(&sound.Block{Channels: [][]float32{{0}}})
}
