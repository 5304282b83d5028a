package between

import (
	"math"
	"slices"
)

// Fit is the best relabelling of lines by what each sounds like.
type Fit struct {
	Label []int // of each line
	// GainNats is the log-likelihood over that of every line keeping its own label (label j for line j).
	GainNats float64
	// MarginNats is, for each line, what the best assignment loses when the line may not have its label.
	MarginNats []float64
}

// FitLabels finds the permutation of labels under which the lines are most
// likely: loglik is [line][label], label j what the list says of line j. It
// panics unless the matrix is square. A family that two lines share gives both
// the same column, and they stay as they are.
func FitLabels(loglik [][]float64) Fit {
	n := len(loglik)
	// Ties go to the list: a thousandth of a nat each.
	score := make([][]float64, n)
	same := func(a, b int) bool { // labels that nothing tells apart
		for i := range loglik {
			if math.Abs(loglik[i][a]-loglik[i][b]) > 1e-9 {
				return false
			}
		}
		return true
	}
	for i, row := range loglik {
		if len(row) != n {
			panic("between: FitLabels wants as many labels as lines")
		}
		score[i] = slices.Clone(row)
		score[i][i] += 1e-3
	}
	label, best := Assign(score)
	f := Fit{Label: label, MarginNats: make([]float64, n)}
	for i := range loglik {
		f.GainNats += loglik[i][label[i]] - loglik[i][i]
		row := slices.Clone(score[i])
		for k := range row {
			if k == label[i] || same(k, label[i]) {
				score[i][k] = math.Inf(-1)
			}
		}
		_, other := Assign(score)
		score[i] = row
		f.MarginNats[i] = min(best-other, 1e6)
	}
	return f
}

// Limits of Regroup. Common practice, no source.
const (
	regroupGain  = 0.25 // rise of the mean coherence of the pairs concerned
	regroupAfter = 0.35 // that they must have then
)

// Regrouping is a relabelling of few lines that brings sounds together which cohere.
type Regrouping struct {
	// Assign[j] is the line whose place line j should take: the argument of Rings.
	Assign []int
	// Before and After are the mean coherence of the pairs within the groups concerned.
	Before, After float64
	// Others are different relabellings that do as well: two crossed pairs may be
	// mended by crossing either half. Which lines are concerned is then not known.
	Others [][]int
}

// Regroup looks for the swap of two lines, or ring of three, that raises the
// coherence within the expected groups decisively: by regroupGain to at least
// regroupAfter. coherence is symmetric, [line][line]; NaN where it was not
// measured. group is each line's, negative for none. It reports false where the
// groups hold, or no single swap or ring mends them.
func Regroup(coherence [][]float64, group []int) (Regrouping, bool) {
	n := len(group)
	// The sum and count of known pairs within the groups that lines in moved touch.
	mean := func(g []int, touched map[int]bool) (float64, int) {
		sum, count := 0.0, 0
		for i := range n {
			for j := i + 1; j < n; j++ {
				if g[i] >= 0 && g[i] == g[j] && touched[g[i]] && !math.IsNaN(coherence[i][j]) {
					sum += coherence[i][j]
					count++
				}
			}
		}
		if count == 0 {
			return 0, 0
		}
		return sum / float64(count), count
	}
	type trial struct {
		assign        []int
		before, after float64
	}
	var trials []trial
	try := func(cycle ...int) {
		assign, g, touched := make([]int, n), slices.Clone(group), map[int]bool{}
		for j := range assign {
			assign[j] = j
		}
		for i, j := range cycle {
			k := cycle[(i+1)%len(cycle)]
			assign[j], g[j] = k, group[k]
			if group[j] >= 0 {
				touched[group[j]] = true
			}
		}
		before, nb := mean(group, touched)
		after, na := mean(g, touched)
		if nb > 0 && na > 0 && after >= before+regroupGain && after >= regroupAfter {
			trials = append(trials, trial{assign, before, after})
		}
	}
	for i := range n {
		for j := i + 1; j < n; j++ {
			if group[i] == group[j] {
				continue
			}
			try(i, j)
		}
	}
	if len(trials) == 0 {
		for i := range n {
			for j := i + 1; j < n; j++ {
				for k := j + 1; k < n; k++ {
					if group[i] != group[j] && group[j] != group[k] && group[i] != group[k] {
						try(i, j, k)
						try(i, k, j)
					}
				}
			}
		}
	}
	if len(trials) == 0 {
		return Regrouping{}, false
	}
	slices.SortStableFunc(trials, func(a, b trial) int {
		switch ga, gb := a.after-a.before, b.after-b.before; {
		case ga > gb:
			return -1
		case ga < gb:
			return 1
		}
		return 0
	})
	best := trials[0]
	r := Regrouping{Assign: best.assign, Before: best.before, After: best.after}
	for _, t := range trials[1:] {
		if t.after-t.before > 0.8*(best.after-best.before) {
			r.Others = append(r.Others, t.assign)
		}
	}
	return r, true
}
