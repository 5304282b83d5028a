package curve

import (
	"math"

	"tidemark/internal/statistics"
)

// Interval is the interval in which the true share lies with 95 % confidence
// when k of n trials succeeded.
func Interval(k, n int) statistics.Interval { return statistics.Wilson(k, n, 0.95) }

// rising is the rising curve nearest to the shares in squares, each weighted by
// its trials: neighbours that fall are pooled until none does.
func rising(k, n []int) []float64 {
	type pool struct{ k, n, steps float64 }
	var pools []pool
	for i := range k {
		pools = append(pools, pool{float64(k[i]), float64(n[i]), 1})
		for len(pools) > 1 {
			a, b := pools[len(pools)-2], pools[len(pools)-1]
			if a.n > 0 && b.n > 0 && a.k/a.n <= b.k/b.n {
				break
			}
			pools = append(pools[:len(pools)-2], pool{a.k + b.k, a.n + b.n, a.steps + b.steps})
		}
	}
	var out []float64
	for _, p := range pools {
		share := 0.0
		if p.n > 0 {
			share = p.k / p.n
		}
		for range int(p.steps) {
			out = append(out, share)
		}
	}
	return out
}

// Crossing says at which strength the rising curve through the steps reaches a
// share, straight lines between steps. side is −1 where the first step is there
// already, +1 where the last is not, and the strength is that step's.
func Crossing(steps []float64, log bool, k, n []int, share float64) (strength float64, side int) {
	if len(steps) == 0 {
		return math.NaN(), 1
	}
	y := rising(k, n)
	const near = 1e-9
	if y[0] >= share-near {
		return steps[0], -1
	}
	for i := 1; i < len(y); i++ {
		if y[i] < share-near {
			continue
		}
		f := (share - y[i-1]) / (y[i] - y[i-1])
		a, b := steps[i-1], steps[i]
		if log {
			return a * math.Pow(b/a, f), 0
		}
		return a + f*(b-a), 0
	}
	return steps[len(steps)-1], 1
}

// Monotone says whether no step is surely below an earlier one: an interval
// that ends before the earlier one begins.
func (r Result) Monotone() bool {
	highest := 0.0
	for _, c := range r.Steps {
		share := Interval(c.Found(), c.Tries)
		if share.High < highest {
			return false
		}
		highest = math.Max(highest, share.Low)
	}
	return true
}
