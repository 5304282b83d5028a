package meter

import (
	"fmt"
	"math"
	"testing"

	"tidemark/internal/conform"
	"tidemark/internal/unit"
)

// EBU Tech 3342 v4 (11/2023), Table 1: loudness range of 20 s steps of a
// stereo 1 kHz tone, ±1 LU. Cases 5 and 6 are authentic programmes. "last" is
// our own value. We take a short-term value each 100 ms.
func TestTech3342Range(t *testing.T) {
	for _, c := range []struct {
		number int
		what   string
		levels []float64
		want   float64
		last   float64
	}{
		{1, "−20, −30 dBFS", []float64{-20, -30}, 10, 10.000},
		{2, "−20, −15 dBFS", []float64{-20, -15}, 5, 5.000},
		{3, "−40, −20 dBFS", []float64{-40, -20}, 20, 20.000},
		{4, "−50, −35, −20, −35, −50 dBFS", []float64{-50, -35, -20, -35, -50}, 15, 15.000},
	} {
		for _, rate := range standardRates {
			var steps []step
			for _, l := range c.levels {
				steps = append(steps, step{DBFS: l, Seconds: 20})
			}
			row := func(what, source string, got, last float64) {
				conform.Check(t, conform.Row{
					Section: "Loudness range", Case: fmt.Sprintf("Tech 3342 case %d, %s%s, %s", c.number, c.what, what, kHz(rate)), Source: source,
					Unit: "LU", Expected: c.want, Under: 1, Over: 1, Digits: 3, Measured: got,
				})
				if math.Abs(got-last) > 0.0015 {
					t.Errorf("case %d%s at %d Hz: got %.4f, last value was %.3f", c.number, what, rate, got, last)
				}
			}
			source := fmt.Sprintf("EBU Tech 3342 v4 (11/2023) Table 1 case %d", c.number)
			if rate != 48000 {
				source += ", its signal made at this rate"
			}
			m := playSteps(rate, nil, steps, steps)
			row("", source, number(m.Reading().Range), c.last)
			if rate != 48000 {
				continue
			}
			playStepsTo(m, rate, nil, steps, steps)
			row(", played twice", "derived: a programme heard twice has the range of one, "+source, number(m.Reading().Range), c.last)
		}
	}
}

// By hand: short-term values of −40, −39 … −20 LUFS, one each. Of 21 values the
// 10th percentile is at index 2 and the 95th at 19: −38 and −21.
func TestTech3342PercentilesByHand(t *testing.T) {
	var programmes [][]float64 // 3 s of one level each
	for l := -40; l <= -20; l++ {
		hops := make([]float64, shortTermHops)
		for i := range hops {
			hops[i] = loudnessPower(unit.LUFS(l))
		}
		programmes = append(programmes, hops)
	}
	conform.Check(t, conform.Row{
		Section: "Loudness range", Case: "21 short-term values from −40 to −20 LUFS in steps of 1", Source: "derived: percentile indices of the reference code of EBU Tech 3342 v4",
		Unit: "LU", Expected: 17, Under: 1e-9, Over: 1e-9, Digits: 3, Measured: number(PooledRange(programmes...)),
	})
	// The gates of Tech 3342: below −70 LUFS, and 20 LU below the mean of the rest.
	quiet := func(l float64) []float64 {
		hops := make([]float64, shortTermHops)
		for i := range hops {
			hops[i] = loudnessPower(unit.LUFS(l))
		}
		return hops
	}
	loud := append([][]float64(nil), programmes...)
	for range 100 {
		loud = append(loud, quiet(-70.001))
	}
	conform.Check(t, conform.Row{
		Section: "Loudness range", Case: "21 short-term values from −40 to −20 LUFS with 100 at −70.001", Source: "derived: EBU Tech 3342 v4, values below −70 LUFS are dropped",
		Unit: "LU", Expected: 17, Under: 1e-9, Over: 1e-9, Digits: 3, Measured: number(PooledRange(loud...)),
	})
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
