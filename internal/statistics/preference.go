package statistics

import (
	"fmt"
	"math"
	"slices"
)

// Preference is what pairwise choices say about several items.
type Preference struct {
	// Strength of each item, summing to 1; nil where there is no finite answer.
	Strength []float64
	// Groups are the items between which strengths are finite. One group of
	// all is the ordinary case; with several there is no finite answer: no item of
	// a later group ever beat one of an earlier group, so that any factor
	// between them is too small. Groups that were never set against each other,
	// directly or by way of others, stand in the order of their first items.
	Groups [][]int
}

// Finite tells whether there are strengths.
func (p Preference) Finite() bool { return len(p.Groups) <= 1 }

// Beats is the chance that item i is chosen over item j, π_i/(π_i + π_j). It
// panics where there are no strengths.
func (p Preference) Beats(i, j int) float64 {
	if p.Strength == nil {
		panic("statistics: the chance of a preference without a finite answer")
	}
	return p.Strength[i] / (p.Strength[i] + p.Strength[j])
}

// Preferred fits strengths π to choices between pairs, wins[i][j] being how
// often i was chosen over j:
//
//	P(i beats j) = π_i/(π_i + π_j)
//
// The strengths are those that make the choices most likely. They exist where
// for any split of the items in two, somebody of each side beat somebody of the
// other (Ford 1957): no item that never lost, none that never won, no two sets
// that never met. A tie is no choice; leave it out. No items give no strengths
// and no groups, one item a strength of 1. It panics on a table that is not
// square, on negative counts and on an item that beat itself. Source: Bradley &
// Terry 1952, Biometrika 39.
func Preferred(wins [][]int) Preference {
	for i, row := range wins {
		if len(row) != len(wins) {
			panic(fmt.Sprintf("statistics: row %d of a table of %d items holds %d counts", i, len(wins), len(row)))
		}
		for j, w := range row {
			if w < 0 || i == j && w != 0 {
				panic(fmt.Sprintf("statistics: item %d beat item %d %d times", i, j, w))
			}
		}
	}
	p := Preference{Groups: groups(wins)}
	if len(p.Groups) == 1 {
		p.Strength = strengths(wins)
	}
	return p
}

// strengths climbs to the likeliest strengths by
//
//	π_i ← Σ_j w_ij·π_j/(π_i + π_j) / Σ_j w_ji/(π_i + π_j)
//
// which rests where Zermelo's π_i ← W_i/Σ_j n_ij/(π_i + π_j) does and gets there
// in far fewer rounds (Newman 2023, from memory).
func strengths(wins [][]int) []float64 {
	const rounds, near = 100000, 1e-14
	s := make([]float64, len(wins))
	for i := range s {
		s[i] = 1
	}
	for range rounds {
		most := 0.0
		for i := range s {
			var won, lost float64
			for j := range s {
				if i != j {
					won += float64(wins[i][j]) * s[j] / (s[i] + s[j])
					lost += float64(wins[j][i]) / (s[i] + s[j])
				}
			}
			if lost > 0 {
				most = max(most, math.Abs(won/lost/s[i]-1))
				s[i] = won / lost
			}
		}
		// The scale is free: hold the geometric mean, so that nothing runs away.
		mean := 0.0
		for _, v := range s {
			mean += math.Log(v) / float64(len(s))
		}
		for i := range s {
			s[i] /= math.Exp(mean)
		}
		if most < near {
			break
		}
	}
	sum := 0.0
	for _, v := range s {
		sum += v
	}
	for i := range s {
		s[i] /= sum
	}
	return s
}

// groups are the sets of items each of which beat each other of its set, by way
// of others of it if need be; winners first.
func groups(wins [][]int) [][]int {
	n := len(wins)
	beat := make([][]bool, n) // by way of others: Warshall's closure
	for i := range beat {
		beat[i] = make([]bool, n)
		for j, w := range wins[i] {
			beat[i][j] = w > 0
		}
	}
	for k := range n {
		for i := range n {
			for j := range n {
				beat[i][j] = beat[i][j] || beat[i][k] && beat[k][j]
			}
		}
	}
	var left [][]int
	in := make([]bool, n)
	for i := range n {
		if in[i] {
			continue
		}
		g := []int{i}
		for j := i + 1; j < n; j++ {
			if beat[i][j] && beat[j][i] {
				g = append(g, j)
				in[j] = true
			}
		}
		left = append(left, g)
	}
	// Again and again the first group that none of the others beat.
	var out [][]int
	for len(left) > 0 {
		at := slices.IndexFunc(left, func(g []int) bool {
			return !slices.ContainsFunc(left, func(h []int) bool { return h[0] != g[0] && beat[h[0]][g[0]] })
		})
		out = append(out, left[at])
		left = slices.Delete(left, at, at+1)
	}
	return out
}
