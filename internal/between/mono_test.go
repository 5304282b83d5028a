package between

import (
	"fmt"
	"math"
	"testing"

	"tidemark/internal/conform"
	"tidemark/internal/unit"
)

// Derived: for equal levels and correlation r, mono loss is 10·log10((1+r)/2),
// and side over mid 10·log10((1−r)/(1+r)).
func TestCorrelationAndMonoLoss(t *testing.T) {
	for _, c := range []struct{ r, loss, sideOverMid float64 }{
		{0.9, -0.22, -12.79}, {0.7, -0.71, -7.53}, {0.5, -1.25, -4.77}, {0.3, -1.87, -2.69},
		{0, -3.01, 0}, {-0.2, -3.98, 1.76}, {-0.5, -6.02, 4.77}, {-0.9, -13.01, 12.79},
	} {
		t.Run(fmt.Sprintf("correlation %g", c.r), func(t *testing.T) {
			// Two sines a whole number of cycles long, orthogonal, give any r exactly:
			// r = cos φ.
			const n = 48000
			l, r := make([]float32, n), make([]float32, n)
			phi := math.Acos(c.r)
			for i := range l {
				w := 2 * math.Pi * 1000 * float64(i) / 48000
				l[i], r[i] = float32(0.5*math.Sin(w)), float32(0.5*math.Sin(w+phi))
			}
			p := sums(l, r)
			stereo := func(what, source string, digits int, got, want, tolerance float64) {
				unitName := "dB"
				if what == "correlation" {
					unitName = ""
				}
				conform.Check(t, conform.Row{Section: "Delay and polarity", Case: fmt.Sprintf("two 1 kHz sines %.1f° apart: %s", phiDegrees(c.r), what), Source: source, Unit: unitName,
					Expected: want, Under: tolerance, Over: tolerance, Digits: digits, Measured: got})
			}
			stereo("correlation", "derived: cos φ", 4, defined(t, "correlation", p.correlation()), c.r, 1e-5)
			stereo("mono loss", "derived: 10·log10((1 + r)/2)", 2, defined(t, "mono loss", p.monoLoss()), c.loss, 0.006)
			mid, side := make([]float32, n), make([]float32, n)
			EncodeMidSide(mid, side, l, r)
			q := sums(mid, side)
			stereo("side over mid", "derived: 10·log10((1 − r)/(1 + r))", 2, 10*math.Log10(q.bb/q.aa), c.sideOverMid, 0.006)
			quiet := make([]float32, n)
			for i, v := range r {
				quiet[i] = v / 10
			}
			q = sums(l, quiet)
			near(t, "mono loss matched", defined(t, "matched", q.monoLossMatched(math.Sqrt(q.aa/q.bb))), c.loss, 0.0051)
		})
	}
}

func phiDegrees(r float64) float64 { return math.Acos(r) * 180 / math.Pi }

// Derived: a pair that is equal loses nothing, one that is opposite everything,
// left alone 3.01 dB against the mean of both.
func TestMonoLossAtTheEnds(t *testing.T) {
	x := noise32(seeded(2), 20000, 0.1)
	y := make([]float32, len(x))
	for i, v := range x {
		y[i] = -v
	}
	for _, c := range []struct {
		name        string
		a, b        []float32
		loss        unit.Maybe[unit.DB]
		correlation unit.Maybe[float64]
	}{
		{"equal", x, x, unit.Some[unit.DB](0), unit.Some(1.0)},
		{"opposite", x, y, unit.None[unit.DB](), unit.Some(-1.0)},
		{"left alone", x, make([]float32, len(x)), unit.Some[unit.DB](-3.0103), unit.None[float64]()},
		{"silence", make([]float32, 9), make([]float32, 9), unit.None[unit.DB](), unit.None[float64]()},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := sums(c.a, c.b)
			got := p.monoLoss()
			if got.Defined() != c.loss.Defined() {
				t.Fatalf("mono loss %v, want %v", got, c.loss)
			}
			near(t, "mono loss", float64(got.Or(0)), float64(c.loss.Or(0)), 1e-4)
			if r := p.correlation(); r.Defined() != c.correlation.Defined() {
				t.Errorf("correlation %v, want %v", r, c.correlation)
			}
			near(t, "correlation", p.correlation().Or(0), c.correlation.Or(0), 1e-9)
		})
	}
}

// A copy late by t0 at equal level has notches at (2k+1)/(2·t0): the octave of
// the first notch loses most. 1 ms: 500 Hz.
func TestOctavesShowTheComb(t *testing.T) {
	p := NewPair(48000, 240)
	r := seeded(8)
	for range 6 {
		x := noise32(r, 16848, 0.1)
		p.Add(x[48:], x[:16800])
	}
	got := p.Reading()
	at := func(hz float64) float64 {
		for _, o := range got.Octaves {
			if o.NominalHz == hz {
				return defined(t, "mono loss", o.MonoLossDB)
			}
		}
		t.Fatalf("no octave of %g Hz", hz)
		return 0
	}
	// Derived: mean of cos²(π·f·t0) over each octave.
	for i, hz := range octaveNominalHz {
		lo, hi := octaveEdges(i)
		mean := 0.5 + (math.Sin(2*math.Pi*hi*0.001)-math.Sin(2*math.Pi*lo*0.001))/(4*math.Pi*0.001*(hi-lo))
		near(t, fmt.Sprintf("mono loss at %g Hz", hz), at(hz), 10*math.Log10(mean), 0.5)
	}
	near(t, "delay", defined(t, "delay", got.DelaySamples), 48, 0.02)
}

// sums are the powers of two stretches, as a Pair adds them.
func sums(a, b []float32) powers {
	pa, ma := lineSums(a)
	pb, mb := lineSums(b)
	return powers{pa, pb, product(a, b) - float64(len(a))*ma*mb}
}

func TestMidSideRoundTrip(t *testing.T) {
	l, r := []float32{0.5, -0.25, 0.125, 0}, []float32{0.25, 0.25, 0.125, -0.5}
	m, s := make([]float32, 4), make([]float32, 4)
	EncodeMidSide(m, s, l, r)
	if s[2] != 0 || m[1] != 0 {
		t.Errorf("a source in the middle has side %g, one of opposite polarity mid %g, want 0", s[2], m[1])
	}
	DecodeMidSide(m, s, m, s)
	for i := range l {
		if m[i] != l[i] || s[i] != r[i] {
			t.Errorf("frame %d: %g, %g back, want %g, %g", i, m[i], s[i], l[i], r[i])
		}
	}
}
