package between

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Oracle: all permutations.
func TestAssignFindsTheGreatestTotal(t *testing.T) {
	r := seeded(4)
	for range 200 {
		n := 1 + r.IntN(6)
		m := n + r.IntN(2)
		score := make([][]float64, n)
		for i := range score {
			score[i] = make([]float64, m)
			for j := range score[i] {
				score[i][j] = 50 * r.NormFloat64()
			}
		}
		want := math.Inf(-1)
		var try func(i int, used int, sum float64)
		try = func(i, used int, sum float64) {
			if i == n {
				want = max(want, sum)
				return
			}
			for j := range m {
				if used&(1<<j) == 0 {
					try(i+1, used|1<<j, sum+score[i][j])
				}
			}
		}
		try(0, 0, 0)
		column, got := Assign(score)
		near(t, "total", got, want, 1e-6)
		sum := 0.0
		for i, j := range column {
			sum += score[i][j]
		}
		near(t, "total of the columns", sum, want, 1e-6)
	}
}

func TestRingsAndChains(t *testing.T) {
	for _, c := range []struct {
		name          string
		assign        []int
		rings, chains [][]int
	}{
		{"all right", []int{0, 1, 2}, nil, nil},
		{"nothing known", []int{-1, -1}, nil, nil},
		{"no lines", nil, nil, nil},
		{"a swap", []int{0, 2, 1}, [][]int{{1, 2}}, nil},
		{"a ring of three", []int{2, 0, 1, 3}, [][]int{{0, 2, 1}}, nil},
		{"two swaps", []int{1, 0, 3, 2}, [][]int{{0, 1}, {2, 3}}, nil},
		{"a line with a dead one's source", []int{1, -1, 2}, nil, [][]int{{0, 1}}},
		{"a chain of three", []int{1, 2, -1}, nil, [][]int{{0, 1, 2}}},
		{"a chain into a swap", []int{1, 2, 1}, [][]int{{1, 2}}, [][]int{{0, 1}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if d := cmp.Diff(Rings(c.assign), c.rings); d != "" {
				t.Errorf("rings (-got +want):\n%s", d)
			}
			if d := cmp.Diff(Chains(c.assign), c.chains); d != "" {
				t.Errorf("chains (-got +want):\n%s", d)
			}
		})
	}
}

// lineCheck builds a line check: line j is fed by source wired[j] (−1: dead),
// with any gain on any line, any loudness of any source, bleed between own
// −bleed and −bleed−15 dB, groups that hear each other nearly alike.
func lineCheck(r *rand.Rand, wired, group []int, bleed float64) Alone {
	n := len(wired)
	a := Alone{LevelDB: make([][]float64, n), FloorDB: make([]float64, n), Own: make([]int, n), Group: group}
	gain := make([]float64, n)
	for j := range n {
		gain[j] = uniform(r, -15, 15)
		a.Own[j] = j
		a.FloorDB[j] = -95 + gain[j] + uniform(r, -3, 3)
	}
	for s := range n {
		a.LevelDB[s] = make([]float64, n)
		loud := uniform(r, -45, -15)
		for j := range n {
			x := math.Inf(-1)
			if w := wired[j]; w >= 0 {
				x = loud + gain[j]
				switch {
				case w == s:
				case group != nil && group[w] >= 0 && group[w] == group[s]:
					x -= uniform(r, 0, 4) // the other side of the drum
				default:
					x -= bleed + uniform(r, 0, 15)
				}
			}
			a.LevelDB[s][j] = 10 * math.Log10(math.Pow(10, x/10)+math.Pow(10, a.FloorDB[j]/10))
		}
	}
	return a
}

func TestAnswersOfALineCheck(t *testing.T) {
	const n = 12
	group := []int{0, 0, 1, 1, -1, -1, -1, 2, 2, -1, -1, -1}
	straight := func() []int {
		w := make([]int, n)
		for i := range w {
			w[i] = i
		}
		return w
	}
	wrong, uncertain, total := 0, 0, 0
	for _, c := range []struct {
		name  string
		wired func() []int
		rings [][]int
	}{
		{"all right", straight, nil},
		{"two lines crossed", func() []int { w := straight(); w[4], w[9] = 9, 4; return w }, [][]int{{4, 9}}},
		{"two halves of groups crossed", func() []int { w := straight(); w[1], w[2] = 2, 1; return w }, [][]int{{1, 2}}},
		{"a ring of three", func() []int { w := straight(); w[4], w[5], w[10] = 5, 10, 4; return w }, [][]int{{4, 5, 10}}},
		{"one half against a single", func() []int { w := straight(); w[8], w[6] = 6, 8; return w }, [][]int{{6, 8}}},
		{"top and bottom crossed stay as they are", func() []int { w := straight(); w[2], w[3] = 3, 2; return w }, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			for seed := range 60 {
				answers := lineCheck(seeded(uint64(seed)), c.wired(), group, 12).Answers()
				total++
				if d := cmp.Diff(Rings(Carried(answers)), c.rings); d != "" {
					wrong++
					t.Errorf("seed %d: rings (-got +want):\n%s", seed, d)
				}
				if slices.ContainsFunc(answers, func(a Answer) bool { return !a.Certain }) {
					uncertain++
				}
			}
		})
	}
	t.Logf("%d line checks of %d lines: %d wrong, %d with an uncertain line", total, n, wrong, uncertain)
}

func TestDeadLinesAnswerToNothing(t *testing.T) {
	for seed := range 40 {
		wired := []int{0, 1, -1, 3, 4, 5, 6, 7}
		answers := lineCheck(seeded(uint64(seed)), wired, nil, 15).Answers()
		for j, a := range answers {
			if a.Source != wired[j] {
				t.Errorf("seed %d: line %d answers to %d, want %d", seed, j, a.Source, wired[j])
			}
		}
		// Crossed, and one of the two dead: the other carries its source.
		wired = []int{0, 2, -1, 3, 4, 5, 6, 7}
		a := lineCheck(seeded(uint64(seed)), wired, nil, 15).Answers()
		if d := cmp.Diff(Chains(Carried(a)), [][]int{{1, 2}}); d != "" {
			t.Errorf("seed %d: chains (-got +want):\n%s", seed, d)
		}
	}
}

func TestNearlyEqualLevelsAreNotCertain(t *testing.T) {
	a := Alone{LevelDB: [][]float64{{-20, -21}, {-20.5, -20}}, FloorDB: []float64{-80, -80}, Own: []int{0, 1}}
	for j, x := range a.Answers() {
		if x.Source != j || x.Certain {
			t.Errorf("line %d: %+v, want its own source without certainty", j, x)
		}
	}
	// The nearest microphone hears first.
	a.ArrivalS = [][]float64{{0.000, 0.012}, {0.012, 0.000}}
	for j, x := range a.Answers() {
		if x.Source != j || !x.Certain {
			t.Errorf("line %d with arrivals: %+v, want its own source with certainty", j, x)
		}
	}
}

func TestWrongShapesPanic(t *testing.T) {
	for name, call := range map[string]func(){
		"more rows than columns": func() { Assign([][]float64{{1}, {2}}) },
		"ragged rows":            func() { Assign([][]float64{{1, 2}, {2}}) },
		"a column short":         func() { Alone{LevelDB: [][]float64{{1}}, FloorDB: []float64{0, 0}, Own: []int{0, 0}}.Answers() },
		"an unknown source":      func() { Alone{LevelDB: [][]float64{{1}}, FloorDB: []float64{0}, Own: []int{3}}.Answers() },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			call()
		}()
	}
}
