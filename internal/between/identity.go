package between

import (
	"fmt"
	"math"
	"slices"
)

// Limits of identity. Common practice, no source.
const (
	// answerRiseDB is how far a line must rise over its floor for some source to answer at all.
	answerRiseDB = 6.0
	// SureMarginDB is the margin from which Answer.Certain holds.
	SureMarginDB = 6.0
	// arrivalDBPerMS is what a millisecond of lateness counts like, up to arrivalMostMS.
	arrivalDBPerMS = 1.0
	arrivalMostMS  = 10.0
)

// Alone is what a line check with each source sounding alone has measured.
// Levels are in dB re anything, the same for all cells of a line: gains need
// not be known, nor how loud anybody played.
type Alone struct {
	// LevelDB is [source][line]: a line's typical active level (the loudest hops
	// of 100 ms) while the source sounds. −Inf or NaN stands for digital silence.
	LevelDB [][]float64
	// FloorDB is each line's own floor, when nothing sounds.
	FloorDB []float64
	// Own is, for each line, the source that the list says it carries; −1 for none.
	Own []int
	// Group is nil, or for each line the group it belongs to: lines of one group
	// (top and bottom, in and out, left and right) hear each other's source as
	// their own, and are never called crossed with each other. Negative: no group.
	Group []int
	// ArrivalS is nil, or [source][line] the time at which each line hears the
	// source, re anything that is the same along a row; NaN where unknown. The
	// nearest microphone hears first, however hot its neighbours are.
	ArrivalS [][]float64
}

// Answer is what one line answers to.
type Answer struct {
	Source int // index into LevelDB; −1 where the line answers to none
	// Line is the line whose source that is (the line itself where all is well); −1 with Source.
	Line int
	// MarginDB is half of what the best assignment loses when this line must take
	// a source from outside: the distance to the nearest other reading of the levels.
	MarginDB float64
	Certain  bool    // MarginDB ≥ SureMarginDB
	Sure     float64 // 0 … 1: margin/(margin + 3 dB)
}

// Answers tells which source each line carries: the assignment of lines to
// sources, each source to as many lines as the list gives it, with the greatest
// sum of levels in dB. A line's gain adds the same to every cell of its column
// and a player's loudness to every cell of a row; neither changes which
// assignment is greatest, so a hot line or a loud drum wins nothing. A line that
// rises for no source answers to none. It panics on shapes that do not fit.
func (a Alone) Answers() []Answer {
	lines := len(a.FloorDB)
	a.check(lines)
	out := make([]Answer, lines)
	for j := range out {
		out[j] = Answer{Source: -1, Line: -1}
	}
	var live []int
	for j := range lines {
		for s := range a.LevelDB {
			if a.LevelDB[s][j] >= a.FloorDB[j]+answerRiseDB {
				live = append(live, j)
				break
			}
		}
	}
	// One row a live line, one column a place at a source.
	var place []int
	for j := range lines {
		if s := a.Own[j]; s >= 0 {
			place = append(place, s)
		}
	}
	for len(place) < len(live) {
		place = append(place, -1) // a line that the list gives no source
	}
	if len(live) == 0 {
		return out
	}
	r := a.residual(live)
	score := make([][]float64, len(live))
	for i := range live {
		score[i] = make([]float64, len(place))
		for c, s := range place {
			if s >= 0 {
				score[i][c] = r[s][i]
			}
		}
	}
	column, best := Assign(score)
	for i, j := range live {
		out[j].Source = place[column[i]]
	}
	a.keepWithinGroups(out)
	for i, j := range live {
		if out[j].Source < 0 {
			continue
		}
		row := slices.Clone(score[i])
		for c, s := range place {
			if s >= 0 && (s == out[j].Source || a.sameGroup(s, out[j].Source)) {
				score[i][c] = math.Inf(-1)
			}
		}
		_, other := Assign(score)
		score[i] = row
		m := min((best-other)/2, 100)
		out[j].MarginDB, out[j].Certain, out[j].Sure = m, m >= SureMarginDB, m/(m+3)
	}
	a.lineOf(out)
	return out
}

func (a Alone) check(lines int) {
	ok := len(a.Own) == lines && (a.Group == nil || len(a.Group) == lines) && (a.ArrivalS == nil || len(a.ArrivalS) == len(a.LevelDB))
	for s, row := range a.LevelDB {
		ok = ok && len(row) == lines && (a.ArrivalS == nil || len(a.ArrivalS[s]) == lines)
	}
	for _, s := range a.Own {
		ok = ok && s < len(a.LevelDB)
	}
	if !ok {
		panic(fmt.Sprintf("between: Alone wants one column a line (%d), one row a source, and sources that exist", lines))
	}
}

// residual is the levels of the live lines, [source][live], less what belongs
// to the line's gain and to the source's loudness (medians, taken in turn), so
// that a source without a line can stand against a line without a source.
func (a Alone) residual(live []int) [][]float64 {
	r := make([][]float64, len(a.LevelDB))
	for s := range r {
		r[s] = make([]float64, len(live))
		first := math.Inf(1)
		if a.ArrivalS != nil {
			for _, j := range live {
				if t := a.ArrivalS[s][j]; t < first {
					first = t
				}
			}
		}
		for i, j := range live {
			v := a.LevelDB[s][j]
			if !(v > a.FloorDB[j]) {
				v = a.FloorDB[j]
			}
			if a.ArrivalS != nil && a.ArrivalS[s][j] >= first {
				v -= arrivalDBPerMS * min(arrivalMostMS, 1000*(a.ArrivalS[s][j]-first))
			}
			r[s][i] = max(v, -200)
		}
	}
	column := make([]float64, len(r))
	for range 10 {
		for i := range live {
			for s := range r {
				column[s] = r[s][i]
			}
			m := median(column)
			for s := range r {
				r[s][i] -= m
			}
		}
		for s := range r {
			m := median(r[s])
			for i := range live {
				r[s][i] -= m
			}
		}
	}
	return r
}

// median leaves x alone; 0 for none.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	y := slices.Clone(x)
	slices.Sort(y)
	if n := len(y); n%2 == 0 {
		return (y[n/2-1] + y[n/2]) / 2
	}
	return y[len(y)/2]
}

// sameGroup says whether two sources belong to lines of one group.
func (a Alone) sameGroup(s, t int) bool {
	if a.Group == nil {
		return false
	}
	for j, u := range a.Own {
		for k, v := range a.Own {
			if u == s && v == t && a.Group[j] >= 0 && a.Group[j] == a.Group[k] {
				return true
			}
		}
	}
	return false
}

// keepWithinGroups gives lines that took each other's source within a group
// their own back: levels cannot tell them apart.
func (a Alone) keepWithinGroups(out []Answer) {
	for j := range out {
		s, own := out[j].Source, a.Own[j]
		if s < 0 || own < 0 || s == own || !a.sameGroup(s, own) {
			continue
		}
		for k := range out {
			if k != j && out[k].Source == own {
				out[j].Source, out[k].Source = own, s
				break
			}
		}
		if out[j].Source == s { // nobody has it: a dead line's
			out[j].Source = own
		}
	}
}

// lineOf finds, for each source that a line carries, the line that should:
// itself, or one of those that lost it.
func (a Alone) lineOf(out []Answer) {
	taken := make([]bool, len(out))
	for j := range out {
		if s := out[j].Source; s >= 0 && a.Own[j] == s {
			out[j].Line, taken[j] = j, true
		}
	}
	for j := range out {
		s := out[j].Source
		if s < 0 || out[j].Line >= 0 {
			continue
		}
		for k := range out {
			if a.Own[k] == s && !taken[k] {
				out[j].Line, taken[k] = k, true
				break
			}
		}
	}
}

// Carried is the assignment that Rings and Chains take.
func Carried(answers []Answer) []int {
	out := make([]int, len(answers))
	for j, a := range answers {
		out[j] = a.Line
	}
	return out
}
