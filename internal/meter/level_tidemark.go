package meter

import (
	"cmp"
	"math"
	"slices"

	"tidemark/internal/unit"
)

// TidemarkReading is the level picture of a line: where it lies when nobody
// plays, where it lies as a rule, how high the water came, and what is left.
// RMS levels of 100 ms, AES17 (see unit).
type TidemarkReading struct {
	Floor     unit.Maybe[unit.DBFS] // noise floor in pauses: the 5th percentile of hops that are not digital zero
	Steady    bool                  // the quietest tenth of the hops lie within SteadySpreadDB: a real floor, not soft playing
	UsualLow  unit.Maybe[unit.DBFS] // 10th percentile of the hops that pass the gate
	UsualHigh unit.Maybe[unit.DBFS] // 95th percentile of the same
	Highest   unit.Maybe[unit.DBFS] // loudest hop
	Peak      unit.Maybe[unit.DBFS] // sample peak
	Headroom  unit.Maybe[unit.DB]   // from the sample peak up to full scale; negative for float sound above it
}

const (
	// SteadySpreadDB is how far apart the quietest hops of a steady floor may
	// lie. Common practice: hops of plain noise differ by some tenths of a dB,
	// rumble and room by one or two, notes that die away by far more.
	SteadySpreadDB = 3.0

	// steadyHops is the least number of hops that can show a steady floor: a
	// tenth of them must hold more than one. Common practice.
	steadyHops = 20

	// The gate of the usual range is that of EBU Tech 3342 (2023), applied to
	// unweighted hops of 100 ms: an absolute threshold, and one below the
	// mean power of what passes it.
	usualAbsoluteDBFS = -70.0
	usualRelativeDB   = -20.0
)

// Tidemark reads the level picture of a line from its hops.
//
// Percentiles take the hop at index round((n−1)·p/100) of the sorted hops, as
// Tech 3342 does. Digital silence has no floor; a line that never passes the
// gate has no usual range. The quietest hundredth is left out of the judgement
// of steadiness, so that one hop cut short by an edit does not decide it, and
// under two seconds of sound nothing is called steady.
func Tidemark(r LevelReading) TidemarkReading {
	t := TidemarkReading{Peak: unit.Amplitude[unit.DBFS](r.Peak)}
	if p, ok := t.Peak.Get(); ok {
		t.Headroom = unit.Some(unit.DB(-p))
	}
	sorted := make([]float64, 0, len(r.Hops))
	for _, h := range r.Hops {
		if h.MeanSquare > 0 {
			sorted = append(sorted, float64(h.MeanSquare))
		}
	}
	if len(sorted) == 0 {
		return t
	}
	slices.Sort(sorted)
	t.Floor = unit.MeanSquare(levelPercentile(sorted, 5))
	t.Highest = unit.MeanSquare(sorted[len(sorted)-1])
	t.Steady = len(sorted) >= steadyHops &&
		levelPercentile(sorted, 10) <= levelPercentile(sorted, 1)*unit.PowerRatio(unit.DB(SteadySpreadDB))

	sorted = levelsAbove(sorted, unit.PowerRatio(unit.DB(usualAbsoluteDBFS-unit.SineOffsetDB)))
	sorted = levelsAbove(sorted, levelMean(sorted)*unit.PowerRatio(unit.DB(usualRelativeDB)))
	if len(sorted) > 0 {
		t.UsualLow = unit.MeanSquare(levelPercentile(sorted, 10))
		t.UsualHigh = unit.MeanSquare(levelPercentile(sorted, 95))
	}
	return t
}

// levelPercentile is the element at index round((n−1)·p/100) of sorted values, the
// rule of the reference code in EBU Tech 3342. It panics for none.
func levelPercentile[T cmp.Ordered](sorted []T, p float64) T {
	return sorted[int(math.Round(float64(len(sorted)-1)*p/100))]
}

// levelsAbove is the part of sorted values that lies above limit.
func levelsAbove(sorted []float64, limit float64) []float64 {
	for i, v := range sorted {
		if v > limit {
			return sorted[i:]
		}
	}
	return nil
}

// levelMean is the arithmetic mean, 0 for no values.
func levelMean(values []float64) float64 {
	if len(values) == 0 {
		return 0
	}
	var sum float64
	for _, v := range values {
		sum += v
	}
	return sum / float64(len(values))
}
