package acoustics

import (
	"fmt"
	"math"

	"tidemark/internal/unit"
)

// Comb is what adding a delayed copy to a sound does: x(t) + g·x(t − Delay).
type Comb struct {
	Delay unit.Seconds // of the copy, positive
	Copy  unit.DB      // its level re the sound, 20·log10|g|
	// Flipped: g is negative; notches and peaks change places.
	Flipped bool
}

// NewComb makes a Comb; it panics on a delay that is not positive.
func NewComb(delay unit.Seconds, level unit.DB, flipped bool) Comb {
	if !(delay > 0) {
		panic(fmt.Sprintf("acoustics: a comb wants a positive delay, got %g s", float64(delay)))
	}
	return Comb{delay, level, flipped}
}

// Notches are the first n frequencies of least level: (2k+1)/(2·Delay), or
// k/Delay for a flipped copy, whose first notch is at 0 Hz.
func (c Comb) Notches(n int) []unit.Hertz { return c.series(n, !c.Flipped) }

// Peaks are the first n frequencies of greatest level, the other of the two series.
func (c Comb) Peaks(n int) []unit.Hertz { return c.series(n, c.Flipped) }

func (c Comb) series(n int, half bool) []unit.Hertz {
	out := make([]unit.Hertz, n)
	for k := range out {
		f := float64(k)
		if half {
			f += 0.5
		}
		out[k] = unit.Hertz(f / float64(c.Delay))
	}
	return out
}

// Peak is the level at a peak re the sound alone: 20·log10(1 + |g|).
func (c Comb) Peak() unit.DB { return unit.DB(20 * math.Log10(1+unit.Ratio(c.Copy))) }

// Notch is the level at a notch re the sound alone: 20·log10|1 − |g||; undefined
// where the copy is as loud as the sound and cancels it.
func (c Comb) Notch() unit.Maybe[unit.DB] {
	return unit.Amplitude[unit.DB](math.Abs(1 - unit.Ratio(c.Copy)))
}

// Ripple is the distance from notch to peak; undefined where the notch is.
func (c Comb) Ripple() unit.Maybe[unit.DB] {
	n, ok := c.Notch().Get()
	if !ok {
		return unit.None[unit.DB]()
	}
	return unit.Some(c.Peak() - n)
}

// At is the level at one frequency re the sound alone; undefined where nothing is left.
func (c Comb) At(f unit.Hertz) unit.Maybe[unit.DB] {
	g := unit.Ratio(c.Copy)
	if c.Flipped {
		g = -g
	}
	p := 1 + g*g + 2*g*math.Cos(2*math.Pi*float64(f)*float64(c.Delay))
	if p < 1e-15 {
		return unit.None[unit.DB]()
	}
	return unit.Power[unit.DB](p)
}
