package band

import (
	"math"

	"tidemark/internal/unit"
)

// FaultKind names a fault that was put in on purpose.
type FaultKind string

// The faults of a session.
const (
	Dying   FaultKind = "dying microphone" // crackle that grows, then nothing but the converter
	Flipped FaultKind = "flipped"          // the bottom snare's polarity switch was forgotten
	Hum     FaultKind = "hum"              // mains and its harmonics
	Crossed FaultKind = "crossed lines"    // two lines at each other's inputs
	Late    FaultKind = "late"             // an overhead farther from the snare than its partner
	Clipped FaultKind = "clipped word"     // flat tops at full scale
)

// Fault is one fault that a session has, for comparison with what is found.
type Fault struct {
	Kind   FaultKind
	Line   int     // index of the line
	Other  int     // the second line of a crossed or late pair; −1 without
	StartS float64 // where it begins
	EndS   float64 // where it ends
	Text   string  // how strong, for people
	Amount float64 // how strong, in Unit
	Unit   string  // "dBFS", "frames", "s" …; "" without an amount
}

// HumFault adds a mains tone to a line: a fundamental of hz and harmonics
// whose RMS together is levelDBFS (AES17).
func HumFault(rateHz int, hz, levelDBFS float64) func(x []float32, start int64) {
	// Rectifiers and lamps: odd ones stand out (common practice, no source).
	shares := []float64{1, 0.45, 0.6, 0.2, 0.38, 0.12, 0.25, 0.08, 0.14, 0.05, 0.08}
	sum := 0.0
	for _, a := range shares {
		sum += a * a
	}
	peak := unit.Ratio(unit.DBFS(levelDBFS)) / math.Sqrt(sum) // a full-scale sine is 0 dBFS
	return func(x []float32, start int64) {
		for i := range x {
			_, turn := math.Modf(hz * float64(start+int64(i)) / float64(rateHz))
			// sin(kφ) by the angle sums of sin φ and cos φ.
			s, c := math.Sincos(2 * math.Pi * turn)
			sk, ck, v := s, c, 0.0
			for _, a := range shares {
				v += a * sk
				sk, ck = sk*c+ck*s, ck*c-sk*s
			}
			x[i] += float32(peak * v)
		}
	}
}

// DyingFault lets a line crackle from the frame first on, more and more, until
// it is dead at the frame dead: then only the converter's own floor is left.
func DyingFault(rateHz int, seed uint64, first, dead int64) func(x []float32, start int64) {
	d := newDice(seed, "crackle")
	h := newDice(seed, "converter").hiss()
	crackle, hiss := d.hiss(), newDice(seed, "cut").hiss()
	fs := float64(rateHz)
	burst, wait, level, open := 0.0, 0.0, 0.0, 1.0
	floor := unit.Ratio(unit.DBFS(converterFloorDBFS - unit.SineOffsetDB))
	return func(x []float32, start int64) {
		for i := range x {
			n := start + int64(i)
			if n >= dead {
				x[i] = float32(floor * h.next())
				continue
			}
			if n < first {
				continue
			}
			worn := float64(n-first) / float64(dead-first) // 0 … 1
			if wait--; wait <= 0 && burst <= 0 {
				burst = d.between(0.004, 0.02+0.10*worn) * fs
				level = d.between(0.04, 0.08+0.20*worn)
				wait = d.between(0.02, 0.15+0.9*(1-worn)) * fs
			}
			if burst > 0 {
				burst--
				// A contact that breaks and makes again: the sound drops out at
				// random and pops of random sign stand in it.
				if d.chance(0.010) {
					open = 1 - open
					x[i] += float32(level * crackle.next())
				}
				x[i] = x[i]*float32(open) + float32(0.15*level*hiss.next()*d.Float64())
				continue
			}
			open = 1
		}
	}
}

// converterFloorDBFS is the noise of a 24-bit converter with nothing connected.
const converterFloorDBFS = -108
