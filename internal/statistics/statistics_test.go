package statistics

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

func TestTailAgainstAnotherLibrary(t *testing.T) {
	for _, c := range []Chance{TwoWay, Triangle, {1, 4}, {9, 10}} {
		for _, n := range []int{1, 2, 17, 100, 1000} {
			for _, k := range []int{1, n / 3, n / 2, n - 1, n} {
				if k < 1 {
					continue
				}
				// P(X ≥ k) is the regularised incomplete beta function I_p(k, n−k+1).
				want := mathext.RegIncBeta(float64(k), float64(n-k+1), c.Float())
				if got := P(k, n, c); math.Abs(got-want) > 1e-9*want+1e-300 {
					t.Errorf("%d of %d at %v: got %v, want %v", k, n, c, got, want)
				}
				if got := atLeast(k, n, c.Float()); math.Abs(got-want) > 1e-9*want+1e-300 {
					t.Errorf("%d of %d at %v by logarithms: got %v, want %v", k, n, c, got, want)
				}
			}
		}
	}
}

func TestIntervalsAgainstAnotherLibrary(t *testing.T) {
	for _, confidence := range []float64{0.5, 0.9, 0.95, 0.99} {
		rest := (1 - confidence) / 2
		for _, n := range []int{1, 7, 60, 900} {
			for _, k := range []int{0, 1, n / 2, n - 1, n} {
				got, want := ClopperPearson(k, n, confidence), Interval{0, 1}
				if k > 0 {
					want.Low = distuv.Beta{Alpha: float64(k), Beta: float64(n - k + 1)}.Quantile(rest)
				}
				if k < n {
					want.High = distuv.Beta{Alpha: float64(k + 1), Beta: float64(n - k)}.Quantile(1 - rest)
				}
				if math.Abs(got.Low-want.Low) > 1e-8 || math.Abs(got.High-want.High) > 1e-8 {
					t.Errorf("%d of %d at %v: got %v, want %v", k, n, confidence, got, want)
				}
			}
		}
	}
}

func TestNoTrialsSayNothing(t *testing.T) {
	if got := P(0, 0, TwoWay); got != 1 {
		t.Errorf("p of 0 of 0: got %v, want 1", got)
	}
	for n := range 5 {
		if k, ok := LeastScore(n, TwoWay, 0.05); ok {
			t.Errorf("%d trials: %d right are said to be enough, none ever is", n, k)
		}
	}
	for _, got := range []Interval{Wilson(0, 0, 0.95), ClopperPearson(0, 0, 0.95)} {
		if got != (Interval{0, 1}) {
			t.Errorf("interval of no trials: got %v, want 0 to 1", got)
		}
	}
}

// A p that is exactly on the level passes: 1/16 of four trials in two ways.
func TestScoreOnTheLimit(t *testing.T) {
	for _, c := range []struct {
		n     int
		c     Chance
		level float64
		want  int
		ok    bool
	}{
		{4, TwoWay, 0.0625, 4, true}, {4, TwoWay, 0.0624, 5, false},
		{2, Chance{2, 10}, 0.04, 2, true}, // 0.04 as a float is a little more than one in 25
		{1, Chance{1, 20}, 0.05, 1, true}, {1, Chance{1, 10}, 0.1, 1, true}, {1, Chance{3, 10}, 0.3, 1, true},
	} {
		if k, ok := LeastScore(c.n, c.c, c.level); k != c.want || ok != c.ok {
			t.Errorf("%d trials at %v for %v: got %d %v, want %d %v", c.n, c.c, c.level, k, ok, c.want, c.ok)
		}
	}
}

func TestBinomialProperties(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		n := rapid.IntRange(0, 60).Draw(r, "n")
		k := rapid.IntRange(0, n).Draw(r, "k")
		in := rapid.IntRange(2, 9).Draw(r, "in")
		c := Chance{rapid.IntRange(1, in-1).Draw(r, "of"), in}
		level := rapid.SampledFrom([]float64{0.001, 0.01, 0.05, 0.5}).Draw(r, "level")
		if k < n && AtLeast(k, n, c).Cmp(AtLeast(k+1, n, c)) <= 0 {
			r.Errorf("%d of %d is no likelier than one more", k, n)
		}
		// k or more right, or n−k+1 or more wrong: together everything.
		if k > 0 {
			sum := AtLeast(k, n, c)
			if sum.Add(sum, AtLeast(n-k+1, n, Chance{in - c.Of, in})).Cmp(AtLeast(0, n, c)) != 0 {
				r.Errorf("the two tails of %d of %d do not make 1", k, n)
			}
		}
		if s, ok := LeastScore(n, c, level); ok && (P(s, n, c) > level || P(s-1, n, c) <= level) {
			r.Errorf("least score %d of %d for %v: p %v, one less %v", s, n, level, P(s, n, c), P(s-1, n, c))
		}
		w, cp := Wilson(k, n, 0.95), ClopperPearson(k, n, 0.95)
		for _, i := range []Interval{w, cp} {
			if p := float64(k) / max(1, float64(n)); !(0 <= i.Low && i.Low <= p && p <= i.High && i.High <= 1 && i.Low < i.High) {
				r.Errorf("interval %v does not hold %d of %d", i, k, n)
			}
		}
		if m := ClopperPearson(n-k, n, 0.95); math.Abs(m.Low-(1-cp.High)) > 1e-9 {
			r.Errorf("%d of %d and its opposite: %v and %v", k, n, cp, m)
		}
	})
}

// How often the intervals hold the true share, over all counts that it gives.
// Clopper-Pearson must never hold it less often than it says; Wilson does so
// on the average of all shares.
func TestIntervalsHoldTheTrueShare(t *testing.T) {
	const n, steps = 20, 400
	average := 0.0
	for s := 1; s < steps; s++ {
		p := float64(s) / steps
		var wilson, pearson float64
		for k := 0; k <= n; k++ {
			weight := atLeast(k, n, p) - atLeast(k+1, n, p)
			if i := Wilson(k, n, 0.95); i.Low <= p && p <= i.High {
				wilson += weight
			}
			if i := ClopperPearson(k, n, 0.95); i.Low <= p && p <= i.High {
				pearson += weight
			}
		}
		if pearson < 0.95-1e-9 {
			t.Errorf("Clopper-Pearson holds a share of %.4f in %.4f of cases, want 0.95", p, pearson)
		}
		average += wilson / (steps - 1)
	}
	if math.Abs(average-0.95) > 0.01 {
		t.Errorf("Wilson holds the share in %.4f of cases on the average, want 0.95", average)
	}
}

func TestPreferenceWithoutFiniteAnswer(t *testing.T) {
	for _, c := range []struct {
		name   string
		wins   [][]int
		groups [][]int
	}{
		{"nothing", nil, nil},
		{"one item", [][]int{{0}}, [][]int{{0}}},
		{"two that beat each other", [][]int{{0, 1}, {1, 0}}, [][]int{{0, 1}}},
		{"one that never lost", [][]int{{0, 2, 0}, {0, 0, 1}, {0, 1, 0}}, [][]int{{0}, {1, 2}}},
		{"one that never won", [][]int{{0, 0, 0}, {3, 0, 1}, {3, 1, 0}}, [][]int{{1, 2}, {0}}},
		{"a row of winners", [][]int{{0, 0, 0}, {1, 0, 0}, {1, 1, 0}}, [][]int{{2}, {1}, {0}}},
		{"a ring of winners", [][]int{{0, 1, 0}, {0, 0, 1}, {1, 0, 0}}, [][]int{{0, 1, 2}}},
		{"two pairs that never met", [][]int{{0, 1, 0, 0}, {1, 0, 0, 0}, {0, 0, 0, 1}, {0, 0, 1, 0}}, [][]int{{0, 1}, {2, 3}}},
		{"nobody ever chose", [][]int{{0, 0}, {0, 0}}, [][]int{{0}, {1}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := Preferred(c.wins)
			if !reflect.DeepEqual(p.Groups, c.groups) {
				t.Errorf("groups: got %v, want %v", p.Groups, c.groups)
			}
			if got, want := p.Strength != nil, len(c.groups) == 1; got != want || p.Finite() != (len(c.groups) <= 1) {
				t.Errorf("strengths %v for groups %v", p.Strength, p.Groups)
			}
		})
	}
}

// At the likeliest strengths each item wins as often as it is expected to.
func TestPreferenceIsTheLikeliest(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		n := rapid.IntRange(2, 7).Draw(r, "items")
		wins := make([][]int, n)
		for i := range wins {
			wins[i] = rapid.SliceOfN(rapid.SampledFrom([]int{0, 0, 1, 2, 5, 40}), n, n).Draw(r, "wins")
			wins[i][i] = 0
		}
		p := Preferred(wins)
		var items []int
		for _, g := range p.Groups {
			items = append(items, g...)
		}
		if slices.Sort(items); len(items) != n || items[n-1] != n-1 {
			r.Fatalf("groups %v do not hold %d items", p.Groups, n)
		}
		for at, g := range p.Groups { // nobody of a later group beat one of an earlier
			for _, h := range p.Groups[at+1:] {
				for _, i := range h {
					for _, j := range g {
						if wins[i][j] > 0 {
							r.Fatalf("groups %v, but %d beat %d", p.Groups, i, j)
						}
					}
				}
			}
		}
		if len(p.Groups) > 1 {
			return
		}
		sum := 0.0
		for i := range wins {
			sum += p.Strength[i]
			won, expected := 0.0, 0.0
			for j := range wins {
				if i != j {
					won += float64(wins[i][j])
					expected += float64(wins[i][j]+wins[j][i]) * p.Beats(i, j)
				}
			}
			if math.Abs(won-expected) > 1e-6*(1+won) {
				r.Errorf("item %d won %v times, expected %v of %v", i, won, expected, p.Strength)
			}
		}
		if math.Abs(sum-1) > 1e-9 {
			r.Errorf("strengths sum to %v", sum)
		}
	})
}

func TestOrder(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name                  string
		x                     []float64
		median, spread, p90   float64
		defined, spreadExists bool
	}{
		{"nothing", nil, 0, 0, 0, false, false},
		{"one value", []float64{3}, 3, 0, 3, true, true},
		{"two values", []float64{5, 1}, 3, 2 * normalMAD, 4.6, true, true},
		{"ten in disorder", []float64{9, 1, 8, 2, 7, 3, 6, 4, 5, 10}, 5.5, 2.5 * normalMAD, 9.1, true, true},
		{"one far away", []float64{1, 2, 3, 4, 1e9}, 3, normalMAD, 0.6*1e9 + 0.4*4, true, true},
		{"one infinite", []float64{1, 2, inf}, 2, normalMAD, inf, true, true},
		{"both infinities", []float64{-inf, inf}, 0, 0, 0, false, false},
		{"one no number", []float64{1, nan, 3}, 0, 0, 0, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			before := slices.Clone(c.x)
			m, ok := Median(c.x).Get()
			s, sok := Spread(c.x).Get()
			p, pok := Percentile(c.x, 90).Get()
			if ok != c.defined || pok != c.defined || sok != c.spreadExists {
				t.Fatalf("defined: got %v %v %v, want %v %v", ok, pok, sok, c.defined, c.spreadExists)
			}
			near := func(a, b float64) bool { return a == b || math.Abs(a-b) <= 1e-9*math.Abs(b) }
			if !near(m, c.median) || !near(s, c.spread) || !near(p, c.p90) {
				t.Errorf("got median %v, spread %v, p90 %v, want %v, %v, %v", m, s, p, c.median, c.spread, c.p90)
			}
			for i := range before {
				if c.x[i] != before[i] && !math.IsNaN(before[i]) {
					t.Error("the values were put in another order")
				}
			}
		})
	}
	if got, want := normalMAD, 1/distuv.UnitNormal.Quantile(0.75); math.Abs(got-want) > 1e-12 {
		t.Errorf("factor of the median deviation: got %v, want %v", got, want)
	}
}

func TestWrongCallsPanic(t *testing.T) {
	for name, call := range map[string]func(){
		"more right than asked":       func() { P(4, 3, TwoWay) },
		"fewer than none":             func() { Wilson(-1, 3, 0.95) },
		"too many trials":             func() { LeastScore(MaxTrials+1, TwoWay, 0.05) },
		"a chance of all":             func() { P(1, 2, Chance{2, 2}) },
		"no chance":                   func() { P(1, 2, Chance{}) },
		"a level of 1":                func() { LeastScore(9, TwoWay, 1) },
		"a level that is no number":   func() { LeastScore(9, TwoWay, math.NaN()) },
		"a confidence of 0":           func() { ClopperPearson(1, 2, 0) },
		"a table that is not square":  func() { Preferred([][]int{{0, 1}}) },
		"an item that beat itself":    func() { Preferred([][]int{{1}}) },
		"a negative count":            func() { Preferred([][]int{{0, -1}, {1, 0}}) },
		"a chance without strengths":  func() { Preferred([][]int{{0, 1}, {0, 0}}).Beats(0, 1) },
		"a percentile beyond the end": func() { Percentile([]float64{1}, 101) },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if recover() == nil {
					t.Error("no panic")
				}
			}()
			call()
		})
	}
}

func BenchmarkLeastScoreOfMaxTrials(b *testing.B) {
	for b.Loop() {
		LeastScore(MaxTrials, Triangle, 0.05)
	}
}
