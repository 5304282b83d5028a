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

// pass builds hops of a line check in one run: sources sound for 4 s each, 3 s apart, in the order given.
func pass(r *rand.Rand, order, wired []int, bleed float64) [][]float64 {
	n := len(wired)
	gain := make([]float64, n)
	for j := range gain {
		gain[j] = uniform(r, -10, 10)
	}
	var hops [][]float64
	hop := func(sounding int, level float64) {
		row := make([]float64, n)
		for j, w := range wired {
			row[j] = math.Pow(10, (-85+gain[j]+uniform(r, -1, 1))/10)
			if sounding >= 0 {
				x := level + gain[j]
				if w != sounding {
					x -= bleed + 5*float64((w+sounding)%3)
				}
				row[j] += math.Pow(10, x/10)
			}
		}
		hops = append(hops, row)
	}
	for _, s := range order {
		for range 30 {
			hop(-1, 0)
		}
		loud := uniform(r, -35, -20)
		for i := range 40 {
			hop(s, loud-float64(i%5)*6) // hits that decay
		}
	}
	return hops
}

func TestSegmentsOfAPass(t *testing.T) {
	list := []int{0, 1, 2, 3, 4, 5, 6, 7}
	for _, c := range []struct {
		name   string
		order  []int
		wired  []int
		says   bool
		rings  [][]int
		atMost float64
	}{
		{"as listed", list, list, true, nil, 1},
		{"two lines crossed", list, []int{0, 1, 5, 3, 4, 2, 6, 7}, true, [][]int{{2, 5}}, 0.69},
		{"two players in each other's place look the same", []int{0, 1, 5, 3, 4, 2, 6, 7}, list, true, [][]int{{2, 5}}, 0.69},
		{"another order altogether", []int{7, 6, 5, 4, 3, 2, 1, 0}, list, false, nil, 1},
		{"one source left out", []int{0, 1, 2, 3, 4, 5, 6}, list, false, nil, 1},
		{"one source twice", []int{0, 1, 2, 3, 4, 5, 6, 0}, list, false, nil, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			for seed := range 20 {
				s := Segments(pass(seeded(uint64(seed)), c.order, c.wired, 14), 0.1, nil)
				if len(s) != len(c.order) {
					t.Fatalf("seed %d: %d segments, want %d: %+v", seed, len(s), len(c.order), s)
				}
				var answered []int
				for k, x := range s {
					answered = append(answered, x.Group)
					if want := slices.Index(c.wired, c.order[k]); x.Line != want {
						t.Errorf("seed %d: segment %d answered by line %d, want %d (%+v)", seed, k, x.Line, want, x)
					}
				}
				o, says := ReadOrder(answered, list)
				if says != c.says {
					t.Fatalf("seed %d: the order says something: %v, want %v", seed, says, c.says)
				}
				if says {
					if d := cmp.Diff(Rings(o.Assign), c.rings); d != "" {
						t.Errorf("rings (-got +want):\n%s", d)
					}
					if o.Sure > c.atMost {
						t.Errorf("sure %.2f, want at most %.2f", o.Sure, c.atMost)
					}
				}
			}
		})
	}
	if s := Segments(nil, 0.1, nil); s != nil {
		t.Errorf("no hops: %v", s)
	}
	quiet := make([][]float64, 200)
	for h := range quiet {
		quiet[h] = []float64{1e-9, 0}
	}
	if s := Segments(quiet, 0.1, nil); s != nil {
		t.Errorf("a steady floor and a dead line make segments: %+v", s)
	}
}

func TestFitLabels(t *testing.T) {
	// Lines 1 and 3 sound like each other's label; lines 2 and 4 share a family.
	l := [][]float64{
		{0, -20, -20, -20, -20},
		{-20, -15, -8, 0, -8},
		{-20, -12, 0, -9, 0},
		{-20, 0, -8, -15, -8},
		{-20, -12, 0, -9, 0},
	}
	f := FitLabels(l)
	if d := cmp.Diff(f.Label, []int{0, 3, 2, 1, 4}); d != "" {
		t.Errorf("labels (-got +want):\n%s", d)
	}
	near(t, "gain", f.GainNats, 30, 1e-9)
	if f.MarginNats[1] < 5 || f.MarginNats[2] < 5 {
		t.Errorf("margins %v, want 5 and more", f.MarginNats)
	}
	if f := FitLabels([][]float64{{-1, -1}, {-1, -1}}); f.Label[0] != 0 || f.GainNats != 0 {
		t.Errorf("nothing to tell: %+v, want the list's labels", f)
	}
}

func TestRegroup(t *testing.T) {
	matrix := func(sound []int) [][]float64 {
		c := make([][]float64, len(sound))
		for i := range c {
			c[i] = make([]float64, len(sound))
			for j := range c[i] {
				c[i][j] = 0.05
				if sound[i] == sound[j] {
					c[i][j] = 0.7
				}
			}
		}
		return c
	}
	for _, c := range []struct {
		name   string
		group  []int
		sound  []int
		found  bool
		rings  [][]int
		others int
	}{
		{"groups hold", []int{0, 0, 1, 1, 2}, []int{0, 0, 1, 1, 2}, false, nil, 0},
		{"half of a pair crossed with a single", []int{0, 0, 1, -1, -1}, []int{0, 9, 1, 0, 7}, true, [][]int{{1, 3}}, 0},
		{"a trio names the one", []int{0, 0, 0, 1, 1, 1}, []int{0, 0, 1, 0, 1, 1}, true, [][]int{{2, 3}}, 0},
		{"two pairs crossed: either half", []int{0, 0, 1, 1}, []int{0, 1, 0, 1}, true, [][]int{{0, 3}}, 1},
		{"nothing coheres", []int{0, 0, 1, 1}, []int{0, 1, 2, 3}, false, nil, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, found := Regroup(matrix(c.sound), c.group)
			if found != c.found {
				t.Fatalf("found %v (%+v), want %v", found, r, c.found)
			}
			if found {
				if d := cmp.Diff(Rings(r.Assign), c.rings); d != "" {
					t.Errorf("rings (-got +want):\n%s", d)
				}
				if len(r.Others) != c.others {
					t.Errorf("%d others, want %d: %v", len(r.Others), c.others, r.Others)
				}
			}
		})
	}
}

func TestWrongShapesPanic(t *testing.T) {
	for name, call := range map[string]func(){
		"more rows than columns": func() { Assign([][]float64{{1}, {2}}) },
		"ragged rows":            func() { Assign([][]float64{{1, 2}, {2}}) },
		"a column short":         func() { Alone{LevelDB: [][]float64{{1}}, FloorDB: []float64{0, 0}, Own: []int{0, 0}}.Answers() },
		"an unknown source":      func() { Alone{LevelDB: [][]float64{{1}}, FloorDB: []float64{0}, Own: []int{3}}.Answers() },
		"a hop of no length":     func() { Segments(nil, 0, nil) },
		"labels not square":      func() { FitLabels([][]float64{{1, 2}}) },
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
