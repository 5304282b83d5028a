package meter

import (
	"math"
	"slices"

	"tidemark/internal/unit"
)

const (
	loudnessOffset = -0.691 // BS.1770-5 Annex 1 Formula 2: takes back the K filter's gain at 997 Hz

	gateAbsoluteLUFS  = -70.0 // BS.1770-5 Annex 1; Tech 3342
	gateIntegratedLU  = -10.0 // relative gate of BS.1770-5 Annex 1
	gateRangeLU       = -20.0 // relative gate of Tech 3342
	rangeLowerPercent = 10.0  // Tech 3342
	rangeUpperPercent = 95.0  // Tech 3342
)

// loudnessOf is the loudness of a weighted power; undefined for none.
func loudnessOf(power float64) unit.Maybe[unit.LUFS] {
	if !(power > 0) {
		return unit.None[unit.LUFS]()
	}
	return unit.Some(unit.LUFS(loudnessOffset + 10*math.Log10(power)))
}

// loudnessPower is the weighted power of a loudness.
func loudnessPower(l unit.LUFS) float64 { return unit.PowerRatio(l - loudnessOffset) }

// PooledIntegrated is the gated loudness of one programme or of several heard
// as one: BS.1770-5 Annex 1 over the blocks of all of them. Each programme is
// its weighted powers by 100 ms (Loudness.ProgrammeHops); a gating block is
// four hops in a row of one programme, and blocks never reach across programmes.
//
// Blocks above −70 LUFS give a mean power, blocks above it less 10 LU the
// result. Undefined when no block survives. The loudness of an album is this,
// never the mean of the loudnesses of its songs.
func PooledIntegrated(programmes ...[]float64) unit.Maybe[unit.LUFS] {
	absolute := loudnessPower(gateAbsoluteLUFS)
	loud, n := gatedMean(programmes, absolute)
	if n == 0 {
		return unit.None[unit.LUFS]()
	}
	// The relative gate lies below the mean, but it may lie below the absolute one.
	relative := loud * unit.PowerRatio(unit.LU(gateIntegratedLU))
	loud, _ = gatedMean(programmes, max(absolute, relative))
	return loudnessOf(loud)
}

// gatedMean is the mean power of the gating blocks above gate, and their number.
func gatedMean(programmes [][]float64, gate float64) (mean float64, n int) {
	var sum float64
	for _, hops := range programmes {
		for i := blockHops; i <= len(hops); i++ {
			if p := levelMean(hops[i-blockHops : i]); p > gate {
				sum += p
				n++
			}
		}
	}
	if n == 0 {
		return 0, 0
	}
	return sum / float64(n), n
}

// PooledRange is the loudness range (LRA) of one programme or of several heard
// as one, EBU Tech 3342: from the short-term values each 100 ms, those above
// −70 LUFS and above their mean power less 20 LU, the 95th percentile less the
// 10th. Undefined when no value survives.
func PooledRange(programmes ...[]float64) unit.Maybe[unit.LU] {
	var powers []float64
	for _, hops := range programmes {
		for i := shortTermHops; i <= len(hops); i++ {
			powers = append(powers, levelMean(hops[i-shortTermHops:i]))
		}
	}
	slices.Sort(powers)
	powers = levelsAbove(powers, loudnessPower(gateAbsoluteLUFS))
	powers = levelsAbove(powers, levelMean(powers)*unit.PowerRatio(unit.LU(gateRangeLU)))
	if len(powers) == 0 {
		return unit.None[unit.LU]()
	}
	low, high := levelPercentile(powers, rangeLowerPercent), levelPercentile(powers, rangeUpperPercent)
	return unit.Power[unit.LU](high / low)
}
