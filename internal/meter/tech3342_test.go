package meter

import (
	"fmt"
	"math"
	"testing"

	"tidemark/internal/signal"
	"tidemark/internal/unit"
)

// EBU Tech 3342 v4 (11/2023), Table 1: loudness range of 20 s steps of a
// stereo 1 kHz tone, ±1 LU. Cases 5 and 6 are authentic programmes. "last" is
// our own value. We take a short-term value each 100 ms.
func TestTech3342Range(t *testing.T) {
	for _, c := range []struct {
		number int
		levels []float64
		want   float64
		last   float64
	}{
		{1, []float64{-20, -30}, 10, 10.000},
		{2, []float64{-20, -15}, 5, 5.000},
		{3, []float64{-40, -20}, 20, 20.000},
		{4, []float64{-50, -35, -20, -35, -50}, 15, 15.000},
	} {
		for _, rate := range loudnessRates {
			var steps []step
			for _, l := range c.levels {
				steps = append(steps, step{DBFS: l, Seconds: 20})
			}
			x := signal.Steps(rate, 1000, steps...)
			got, ok := loudnessOfSound(rate, nil, x, x).Reading().Range.Get()
			what := fmt.Sprintf("case %d at %d Hz", c.number, rate)
			if !ok || math.Abs(float64(got)-c.want) > 1 {
				t.Errorf("%s: got %.4f (defined: %v), want %g ± 1 LU", what, float64(got), ok, c.want)
			}
			if math.Abs(float64(got)-c.last) > 0.0015 {
				t.Errorf("%s: got %.4f, last value was %.3f", what, float64(got), c.last)
			}
		}
	}
}

// Tech 3342, reference code: the percentile of n sorted values is the one at
// index round((n−1)·p/100), counted from 0.
func TestTech3342PercentileIndex(t *testing.T) {
	for _, c := range []struct {
		n          int
		p          float64
		wantedSpot int
	}{
		{1, 95, 0}, {2, 10, 0}, {2, 95, 1}, {6, 10, 1} /* 0.5 rounds up */, {11, 10, 1}, {11, 95, 10}, {101, 95, 95}, {172, 10, 17},
	} {
		sorted := make([]int, c.n)
		for i := range sorted {
			sorted[i] = i
		}
		if got := levelPercentile(sorted, c.p); got != c.wantedSpot {
			t.Errorf("%g %% of %d values: index %d, want %d", c.p, c.n, got, c.wantedSpot)
		}
	}
}

// By hand: 51 hops give 22 short-term values; the last 20 hops are 6 dB up, so
// value k holds max(0, k−1) of them. Sorted, index round(21·0.10) = 2 holds one
// loud hop, and index round(21·0.95) = 20 holds 19.
func TestTech3342ByHand(t *testing.T) {
	hops := make([]float64, 51)
	for i := range hops {
		hops[i] = 0.01
		if i >= 31 {
			hops[i] = 0.04
		}
	}
	want := 10 * math.Log10((11*0.01+19*0.04)/(29*0.01+1*0.04))
	got := PooledRange(hops)
	if v, ok := got.Get(); !ok || math.Abs(float64(v)-want) > 1e-9 {
		t.Errorf("got %v %v, want %g LU", v, ok, want)
	}
	if got := PooledRange(hops[:29]); got != unit.None[unit.LU]() {
		t.Errorf("shorter than 3 s: got %v, want undefined", got)
	}
}
