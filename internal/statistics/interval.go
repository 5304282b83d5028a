package statistics

import (
	"fmt"
	"math"
)

// Interval is a pair of limits between which a share probably lies, 0 to 1.
type Interval struct{ Low, High float64 }

func checkConfidence(c float64) {
	if !(c > 0 && c < 1) {
		panic(fmt.Sprintf("statistics: a confidence of %v, expected one between 0 and 1", c))
	}
}

// Wilson is the interval that holds the true share with the given confidence
// (0.95 is usual) when k of n were counted; with p̂ = k/n and z the normal
// quantile of the confidence, 1.959964 for 0.95,
//
//	(p̂ + z²/2n ± z·√(p̂(1−p̂)/n + z²/4n²)) / (1 + z²/n)
//
// It is right on the average over all true shares; ClopperPearson never holds
// too seldom and is wider for it. Of no trials it is 0 to 1. It panics on counts
// that cannot be and on a confidence that is not between 0 and 1. Source:
// Wilson 1927.
func Wilson(k, n int, confidence float64) Interval {
	checkCounts(k, n)
	checkConfidence(confidence)
	if n == 0 {
		return Interval{0, 1}
	}
	z := math.Sqrt2 * math.Erfinv(confidence)
	m, p, z2 := float64(n), float64(k)/float64(n), z*z
	mid := (p + z2/(2*m)) / (1 + z2/m)
	half := z * math.Sqrt(p*(1-p)/m+z2/(4*m*m)) / (1 + z2/m)
	i := Interval{max(0, mid-half), min(1, mid+half)}
	// The ends are exact at none and all; the difference above leaves a last bit.
	if k == 0 {
		i.Low = 0
	}
	if k == n {
		i.High = 1
	}
	return i
}

// ClopperPearson is the interval of the shares that k of n does not contradict:
// its limits are those shares at which as many or more, and as few or fewer,
// would be counted in only (1 − confidence)/2 of all cases. Of no trials it is
// 0 to 1. It panics like Wilson. Source: Clopper & Pearson 1934, Biometrika 26,
// from memory.
func ClopperPearson(k, n int, confidence float64) Interval {
	checkCounts(k, n)
	checkConfidence(confidence)
	i := Interval{0, 1}
	rest := (1 - confidence) / 2
	if k > 0 {
		i.Low = rising(func(p float64) float64 { return atLeast(k, n, p) }, rest)
	}
	if k < n {
		// As few as k right is as many as n−k wrong.
		i.High = 1 - rising(func(q float64) float64 { return atLeast(n-k, n, q) }, rest)
	}
	return i
}

// rising is where a function that rises from 0 to 1 over 0 … 1 takes a value.
func rising(f func(float64) float64, value float64) float64 {
	lo, hi := 0.0, 1.0
	for {
		mid := (lo + hi) / 2
		if mid <= lo || mid >= hi || hi-lo < 1e-15 {
			return mid
		}
		if f(mid) < value {
			lo = mid
		} else {
			hi = mid
		}
	}
}

// atLeast is AtLeast for any share p, to about ten digits: the first term by
// logarithms, the others from it, on that side of the middle where they shrink.
func atLeast(k, n int, p float64) float64 {
	switch {
	case k <= 0 || p >= 1:
		return 1
	case p <= 0:
		return 0
	case float64(k) <= float64(n)*p:
		return max(0, 1-atLeastFar(n-k+1, n, 1-p))
	}
	return min(1, atLeastFar(k, n, p))
}

func atLeastFar(k, n int, p float64) float64 {
	if k > n {
		return 0
	}
	lg := func(i int) float64 { v, _ := math.Lgamma(float64(i + 1)); return v }
	term := math.Exp(lg(n) - lg(k) - lg(n-k) + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
	sum, odds := 0.0, p/(1-p)
	for i := k; i <= n && term > 1e-18*sum; i++ {
		sum += term
		term *= float64(n-i) / float64(i+1) * odds
	}
	return sum
}
