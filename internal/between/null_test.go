package between

import (
	"fmt"
	"math"
	"testing"

	"tidemark/internal/conform"
	"tidemark/internal/signal"
)

// feed adds both lines in odd pieces.
func feed(add func(a, b []float32), a, b []float32) {
	for at, size := 0, 1; at < len(a); size = size*3%4001 + 1 {
		end := min(len(a), at+size)
		add(a[at:end], b[at:end])
		at = end
	}
}

// Derived: a gain error of e dB leaves 20·log10(10^(e/20) − 1).
func TestNullLeavesWhatAGainErrorLeaves(t *testing.T) {
	for e, want := range map[float64]float64{0.1: -38.73, 0.01: -58.77} {
		x := noise32(seeded(6), 50000, 0.1)
		y := make([]float32, len(x))
		for i, v := range x {
			y[i] = float32(float64(v) * math.Pow(10, e/20))
		}
		n := NewNull(0)
		feed(n.Add, x, y)
		got := n.Reading()
		conform.Check(t, conform.Row{Section: "Null test", Case: fmt.Sprintf("noise, left of a gain error of %g dB", e), Source: "derived: 20·log10(10^(e/20) − 1)", Unit: "dB",
			Expected: want, Under: 0.006, Over: 0.006, Digits: 2, Measured: defined(t, "residual", got.ResidualAsIsDB)})
		near(t, "gain", defined(t, "gain", got.GainDB), -e, 1e-5)
		if left, ok := got.ResidualDB.Get(); ok && left > -140 {
			t.Errorf("with the gain fitted %.1f dB is left, want the rounding of single precision", float64(left))
		}
	}
}

// Derived: a delay of a tenth of a sample at 1 kHz and 48 kHz leaves
// 20·log10(2·sin(π·1000·0.1/48000)) = −37.66 dB.
func TestNullLeavesWhatADelayLeaves(t *testing.T) {
	const n = 96000
	sine := func(late float64) []float32 {
		x := make([]float32, n)
		for i := range x {
			x[i] = float32(0.5 * math.Sin(2*math.Pi*1000*(float64(i)-late)/48000))
		}
		return x
	}
	k := NewNull(0)
	feed(k.Add, sine(0), sine(0.1))
	conform.Check(t, conform.Row{Section: "Null test", Case: "1 kHz sine at 48 kHz, left of a delay of a tenth of a sample", Source: "derived: 20·log10(2·sin(π·f·τ))", Unit: "dB",
		Expected: -37.66, Under: 0.006, Over: 0.006, Digits: 2, Measured: defined(t, "residual", k.Reading().ResidualAsIsDB)})
	for _, late := range []float64{0.1, 7, -7, 33.37, -250.5} {
		k := NewNull(late)
		feed(k.Add, sine(0), sine(late))
		got := k.Reading()
		if left := float64(got.ResidualAsIsDB.Or(-200)); left > -90 { // whole samples leave nothing at all
			t.Errorf("moved back by %g samples, %.1f dB is left, want under -90", late, left)
		}
		if got.Frames < n-400 {
			t.Errorf("moved by %g: %d frames compared of %d", late, got.Frames, n)
		}
	}
}

func TestNullFindsAnAddedSound(t *testing.T) {
	x, extra := noise32(seeded(1), 60000, 0.1), noise32(seeded(2), 60000, 0.001)
	y := make([]float32, len(x))
	for i := range x {
		y[i] = -0.5 * (x[i] + extra[i])
	}
	n := NewNull(0)
	feed(n.Add, x, y)
	got := n.Reading()
	conform.Check(t, conform.Row{Section: "Null test", Case: "noise, left of another noise 40 dB under it, gain fitted", Source: "derived: 20·log10(0.01)", Unit: "dB",
		Expected: -40, Under: 0.1, Over: 0.1, Digits: 2, Measured: defined(t, "residual", got.ResidualDB)})
	near(t, "gain", defined(t, "gain", got.GainDB), 6.02, 0.01)
	if !got.Flipped {
		t.Error("the flipped copy is not reported as flipped")
	}
}

func TestNullOfIdenticalPrintsAndSilence(t *testing.T) {
	x := noise32(seeded(1), 5000, 0.1)
	n := NewNull(0)
	n.Add(x, x)
	if got := n.Reading(); got.ResidualDB.Defined() || got.ResidualAsIsDB.Defined() {
		t.Errorf("identical prints leave %v, want nothing", got)
	}
	n = NewNull(0)
	n.Add(make([]float32, 100), x[:100])
	if got := n.Reading(); got.ResidualDB.Defined() || got.ResidualAsIsDB.Defined() || got.GainDB.Defined() {
		t.Errorf("silence has a residual: %+v", got)
	}
	if got := NewNull(3.5).Reading(); got.Frames != 0 || got.GainDB.Defined() {
		t.Errorf("nothing added: %+v", got)
	}
}

func TestTwins(t *testing.T) {
	x, other := noise32(seeded(1), 30000, 0.1), noise32(seeded(2), 30000, 0.1)
	make32 := func(f func(i int, v float32) float32) []float32 {
		y := make([]float32, len(x))
		for i, v := range x {
			y[i] = f(i, v)
		}
		return y
	}
	for _, c := range []struct {
		name      string
		b         []float32
		identical bool
		same      bool
		gain      float64 // of A re B
		flipped   bool
	}{
		{"the same", x, true, true, 0, false},
		{"half as loud", make32(func(_ int, v float32) float32 { return v / 2 }), false, true, 6.0206, false},
		{"flipped", make32(func(_ int, v float32) float32 { return -v }), false, true, 0, true},
		{"rounded to 16 bits", make32(func(_ int, v float32) float32 { return float32(math.Round(float64(v)*32768) / 32768) }), false, true, 0, false},
		{"one sample differs by the last of 24 bits", make32(func(i int, v float32) float32 {
			if i == 20000 {
				return v + 1.0/(1<<23)
			}
			return v
		}), false, true, 0, false},
		{"the same microphone with another's bleed at -40 dB", make32(func(i int, v float32) float32 { return v + 0.01*other[i] }), false, false, 0, false},
		{"another recording", other, false, false, 0, false},
		{"silence", make([]float32, len(x)), false, false, 0, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := NewTwin()
			feed(w.Add, x, c.b)
			got := w.Reading()
			if got.Identical != c.identical || got.SameUpToGainDB.Defined() != c.same || c.same && got.Flipped != c.flipped {
				t.Fatalf("%+v, want identical %v, same %v, flipped %v", got, c.identical, c.same, c.flipped)
			}
			near(t, "gain", float64(got.SameUpToGainDB.Or(0)), c.gain, 0.001)
		})
	}
	apart, twins := NewTwin(), NewTwin()
	for range 2 {
		apart.Add(x, other)
		twins.Add(x, x)
	}
	if !apart.Apart() || twins.Apart() {
		t.Errorf("after a second: different recordings apart %v, twins apart %v, want true and false", apart.Apart(), twins.Apart())
	}
	w := NewTwin()
	w.Add(make([]float32, 500), make([]float32, 500))
	if got := w.Reading(); got.Identical || got.SameUpToGainDB.Defined() {
		t.Errorf("two dead lines are twins: %+v", got)
	}
}

// B wakes up a second after A: the gain that fits the first stretch, in which
// there is next to nothing of B, is no guess for the rest.
func TestNullOfAPrintThatBeginsLate(t *testing.T) {
	const rate = 48000
	a := signal.Pink(11, 0.1, 3*rate)
	b := signal.Gain(a, -4)
	for i := range rate {
		b[i] *= 1e-12
	}
	n := NewNull(0)
	for at := 0; at < len(a); at += 480 {
		n.Add(a[at:at+480], b[at:at+480])
	}
	// What is left is the first second, whose level the gain of the rest does not change.
	var left, all float64
	for i, v := range a {
		all += float64(v) * float64(v)
		if i < rate {
			left += float64(v) * float64(v)
		}
	}
	r := n.Reading()
	if got, want := float64(r.ResidualDB.Or(99)), 10*math.Log10(left/all); math.Abs(got-want) > 1e-6 {
		t.Errorf("residual: got %.9f dB, want %.9f", got, want)
	}
	if got := float64(r.GainDB.Or(99)); math.Abs(got-4) > 1e-5 {
		t.Errorf("gain: got %.9f dB, want 4", got)
	}
}
