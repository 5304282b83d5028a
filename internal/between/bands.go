package between

import (
	"math"

	"tidemark/internal/unit"
)

// octaveNominalHz are the octave bands that pairs are measured in: nominal
// mid-band frequencies of IEC 61260-1 from 63 Hz to 16 kHz.
var octaveNominalHz = [...]float64{63, 125, 250, 500, 1000, 2000, 4000, 8000, 16000}

const octaves = len(octaveNominalHz)

// octaveEdges returns the edges of octave band i, base-10 system of IEC
// 61260-1: mid-band 1000·10^(0.3·k), edges 10^(±0.15) around it.
func octaveEdges(i int) (lo, hi float64) {
	mid := 1000 * math.Pow(10, 0.3*float64(i-4))
	return mid * math.Pow(10, -0.15), mid * math.Pow(10, 0.15)
}

// OctaveReading is what a pair reads in one octave band. The bands that half
// the sample rate cuts off are undefined, as are those without power.
type OctaveReading struct {
	NominalHz float64 `json:"nominal_hz"`
	// Coherence is the magnitude-squared coherence after alignment, 0 … 1,
	// corrected for the number of averages: unrelated noise reads about 0.
	Coherence unit.Maybe[float64] `json:"coherence"`
	// MonoLossDB is the power of (A+B)/2 re the mean power of A and B, as
	// recorded: 0 for equal signals, −3.01 for unrelated ones, far below where
	// they cancel.
	MonoLossDB unit.Maybe[unit.DB] `json:"mono_loss_db"`
	// MonoLossMatchedDB is the same after A and B were brought to one level over all bands.
	MonoLossMatchedDB unit.Maybe[unit.DB] `json:"mono_loss_matched_db"`
	// LevelDifferenceDB is the level of B re A.
	LevelDifferenceDB unit.Maybe[unit.DB] `json:"level_difference_db"`
}

// powers are the sums that fold-down and correlation follow from.
type powers struct{ aa, bb, ab float64 } // Σ a², Σ b², Σ a·b

func (p *powers) add(q powers) { p.aa += q.aa; p.bb += q.bb; p.ab += q.ab }

// correlation is Σab/√(Σa²·Σb²), undefined where either is silent.
func (p powers) correlation() unit.Maybe[float64] {
	d := math.Sqrt(p.aa) * math.Sqrt(p.bb)
	if !(d > 0) || math.IsInf(d, 0) {
		return unit.None[float64]()
	}
	return unit.Some(max(-1, min(1, p.ab/d)))
}

// monoLoss is 10·log10 of the power of (A+B)/2 re the mean of both powers:
// (Σa² + Σb² + 2Σab)/4 over (Σa² + Σb²)/2. A sum that rounding alone holds up
// (under −150 dB) is undefined, as is a pair without power.
func (p powers) monoLoss() unit.Maybe[unit.DB] {
	both := p.aa + p.bb
	if !(both > 0) {
		return unit.None[unit.DB]()
	}
	return roundedPower((both + 2*p.ab) / 2 / both)
}

// monoLossMatched is monoLoss after B is brought to A's level by g² = Σa²/Σb² of the whole.
func (p powers) monoLossMatched(g float64) unit.Maybe[unit.DB] {
	return powers{p.aa, p.bb * g * g, p.ab * g}.monoLoss()
}

// levelDifference is the level of B re A, undefined where either is silent.
func (p powers) levelDifference() unit.Maybe[unit.DB] {
	if !(p.aa > 0) || !(p.bb > 0) {
		return unit.None[unit.DB]()
	}
	return unit.Power[unit.DB](p.bb / p.aa)
}

func roundedPower(r float64) unit.Maybe[unit.DB] {
	if r < 1e-15 {
		return unit.None[unit.DB]()
	}
	return unit.Power[unit.DB](r)
}
