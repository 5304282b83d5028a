package statistics

import (
	"fmt"
	"math"
	"slices"

	"tidemark/internal/unit"
)

// Percentile is the value below which p of 100 values lie, 0 the least and 100
// the largest. The values are spread evenly from 0 to 100 and joined by
// straight lines: with x sorted and h = (n−1)·p/100,
//
//	x[⌊h⌋] + (h − ⌊h⌋)·(x[⌊h⌋+1] − x[⌊h⌋])
//
// which is definition 7 of Hyndman & Fan 1996 (from memory). It changes nothing
// of x, and is undefined for no values and where one is not a number. It panics
// on a p outside 0 to 100.
func Percentile(x []float64, p float64) unit.Maybe[float64] {
	if !(p >= 0 && p <= 100) {
		panic(fmt.Sprintf("statistics: percentile %v, expected 0 to 100", p))
	}
	if len(x) == 0 || slices.ContainsFunc(x, math.IsNaN) {
		return unit.None[float64]()
	}
	v := percentile(slices.Sorted(slices.Values(x)), p)
	if math.IsNaN(v) { // between −∞ and +∞
		return unit.None[float64]()
	}
	return unit.Some(v)
}

func percentile(sorted []float64, p float64) float64 {
	whole, part := math.Modf(float64(len(sorted)-1) * p / 100)
	i := int(whole)
	a, b := sorted[i], sorted[min(i+1, len(sorted)-1)]
	if part == 0 || a == b { // infinite values have no difference
		return a
	}
	return a + part*(b-a)
}

// Median is the middle of the values, of an even number the mean of the two in
// the middle; undefined like Percentile.
func Median(x []float64) unit.Maybe[float64] { return Percentile(x, 50) }

// normalMAD makes the median deviation of normally distributed values their
// standard deviation: 1/Φ⁻¹(¾).
const normalMAD = 1.4826022185056018

// Spread is the median distance of the values from their median, times 1.4826:
// the standard deviation of values that are normally distributed, and deaf to
// up to half of them lying anywhere. 0 for one value, undefined like Percentile.
func Spread(x []float64) unit.Maybe[float64] {
	m, ok := Median(x).Get()
	if !ok {
		return unit.None[float64]()
	}
	off := make([]float64, len(x))
	for i, v := range x {
		off[i] = math.Abs(v - m)
	}
	s, ok := Median(off).Get()
	if !ok {
		return unit.None[float64]()
	}
	return unit.Some(normalMAD * s)
}
