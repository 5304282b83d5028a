package statistics

import (
	"fmt"
	"math/big"
	"strconv"
)

// Chance is how often guessing alone is right: Of times in In. It is a
// fraction, because a third is no floating-point number and a score on the
// limit must not be decided by rounding.
type Chance struct{ Of, In int }

// The chances of the usual tests.
var (
	TwoWay   = Chance{1, 2} // which of two; the same or not
	Triangle = Chance{1, 3} // which of three is the odd one
)

// MaxTrials is the largest number of trials: exact fractions of more take long.
const MaxTrials = 10000

func (c Chance) check() {
	if c.Of <= 0 || c.In <= c.Of {
		panic(fmt.Sprintf("statistics: a chance of %d in %d, expected one between none and all", c.Of, c.In))
	}
}

// Float is the chance as a number between 0 and 1.
func (c Chance) Float() float64 { return float64(c.Of) / float64(c.In) }

func checkCounts(k, n int) {
	if k < 0 || n < 0 || k > n {
		panic(fmt.Sprintf("statistics: %d right of %d", k, n))
	}
	if n > MaxTrials {
		panic(fmt.Sprintf("statistics: %d trials, at most %d", n, MaxTrials))
	}
}

// AtLeast is how likely guessing gives k right of n, or more, as an exact
// fraction; with p the chance of one trial
//
//	P(X ≥ k) = Σ_{i=k..n} C(n,i)·p^i·(1−p)^(n−i)
//
// It is 1 for k = 0, no trials among them. It panics on counts that cannot be,
// on more than MaxTrials and on a chance that is not between 0 and 1.
func AtLeast(k, n int, c Chance) *big.Rat {
	checkCounts(k, n)
	c.check()
	sum := new(big.Int)
	eachTerm(n, c, func(i int, term *big.Int) bool {
		if i < k {
			return false
		}
		sum.Add(sum, term)
		return true
	})
	return new(big.Rat).SetFrac(sum, power(c.In, n))
}

// P is AtLeast as a number.
func P(k, n int, c Chance) float64 {
	p, _ := AtLeast(k, n, c).Float64()
	return p
}

// LeastScore is the smallest number right of n whose P is no more than level,
// and whether there is one: of four trials in two ways, even four right are
// luck too often for a level of 0.05. The level counts as the decimal number
// that prints it: 0.05 is one in twenty. It panics like AtLeast, and on a level
// that is not between 0 and 1.
func LeastScore(n int, c Chance, level float64) (k int, ok bool) {
	checkCounts(0, n)
	c.check()
	if !(level > 0 && level < 1) {
		panic(fmt.Sprintf("statistics: a level of %v, expected one between 0 and 1", level))
	}
	limit, _ := new(big.Rat).SetString(strconv.FormatFloat(level, 'g', -1, 64))
	// sum/In^n ≤ num/den, without a fraction for each score.
	most := new(big.Int).Mul(limit.Num(), power(c.In, n))
	sum, left := new(big.Int), new(big.Int)
	k = n + 1
	eachTerm(n, c, func(i int, term *big.Int) bool {
		sum.Add(sum, term)
		if left.Mul(sum, limit.Denom()).Cmp(most) > 0 {
			return false
		}
		k = i
		return true
	})
	return k, k <= n
}

// eachTerm hands over C(n,i)·Of^i·(In−Of)^(n−i) for i = n, n−1 … 0 until take
// says no. Each follows from the one before by whole-number factors.
func eachTerm(n int, c Chance, take func(i int, term *big.Int) bool) {
	term, f := power(c.Of, n), new(big.Int)
	for i := n; take(i, term) && i > 0; i-- {
		term.Mul(term, f.SetInt64(int64(i)*int64(c.In-c.Of)))
		term.Quo(term, f.SetInt64(int64(n-i+1)*int64(c.Of)))
	}
}

func power(base, n int) *big.Int {
	return new(big.Int).Exp(big.NewInt(int64(base)), big.NewInt(int64(n)), nil)
}
