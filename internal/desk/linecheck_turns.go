package desk

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"tidemark/internal/between"
	"tidemark/internal/judge"
	"tidemark/internal/meter"
	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// turn is one source's turn in a line check of one pass.
type turn struct {
	atS   float64 // its middle
	lines []int   // close lines that are loudest, for themselves, in it
	group int     // the group that most of is among them
}

// All common practice, no source.
const (
	// sameTurnS is how far apart the middles of two lines of one turn may lie.
	sameTurnS = 0.75
	// turnReachS is how far a turn is taken to reach from its middle.
	turnReachS = 1.0
	// turnRiseDB is how far a line must rise over its floor to have a turn.
	turnRiseDB = 12
	// turnTopDB is how far under a line's loudest its turn may be: leakage of a
	// drum into a hi-hat's microphone is often louder than the hat.
	turnTopDB = 24
	// mostMoved is how many sources may be out of the order of the list.
	mostMoved = 4
	// leastTurns is how many turns make a line check.
	leastTurns = 3
)

// readOnePass reads a line check in which the sources sound one after another,
// in the order of the list. Every close line has one turn, the time when it is
// loudest for itself, so gains do not matter. Rooms and overheads hear everybody
// and have none. A source that was left out does no harm: the others are still
// in the list's order, but for crossed lines.
//
// All rests on that order. Players who change places look like crossed lines,
// so where more than a few are out of place nothing is said.
func readOnePass(r *LineCheckReport, e *judge.Evidence, s solo) {
	group := groups(e.Lines)
	turns := findTurns(e, s, group)
	if len(s.hops) == 0 {
		r.Why = "none of its files could be read and is a line's"
		return
	}
	if len(turns) < leastTurns {
		r.Why = fmt.Sprintf("%d sources were heard one after another, expected %d or more", len(turns), leastTurns)
		return
	}
	expected := make([]int, len(turns))
	for k, t := range turns {
		expected[k] = t.group
	}
	slices.Sort(expected) // a group is called by its first line, so this is the order of the list
	moved := 0
	for k, t := range turns {
		if t.group != expected[k] {
			moved++
		}
	}
	r.Understood = moved <= mostMoved && 3*moved <= max(len(turns), 3*leastTurns)
	for k, t := range turns {
		solo := SoloReport{StartS: rounded(unit.Some(max(0, t.atS-turnReachS))), EndS: rounded(unit.Some(t.atS + turnReachS))}
		if r.Understood {
			solo.Named = e.Lines[expected[k]].Name()
		} else {
			solo.Heard = e.Lines[t.group].Name()
		}
		r.Sources = append(r.Sources, solo)
	}
	if !r.Understood {
		r.Why = fmt.Sprintf("%d sources were heard one after another, %d of them out of the list's order, so it says nothing about crossed lines; one sub-folder a source would", len(turns), moved)
		return
	}
	a := between.Alone{Group: group, Own: make([]int, len(e.Lines)), FloorDB: make([]float64, len(e.Lines))}
	for i, l := range e.Lines {
		a.Own[i] = -1
		if hops, ok := s.hops[i]; ok && !hearsAll(l.Family) {
			a.Own[i] = slices.Index(expected, group[i])
			a.FloorDB[i], _ = quietAndLoud(hops)
		}
	}
	for k, t := range turns {
		fromS, toS := t.atS-turnReachS, t.atS+turnReachS
		if k > 0 {
			fromS = max(fromS, (turns[k-1].atS+t.atS)/2)
		}
		if k+1 < len(turns) {
			toS = min(toS, (t.atS+turns[k+1].atS)/2)
		}
		a.LevelDB = append(a.LevelDB, turnLevels(e, s, fromS, toS))
	}
	finish(r, e, a, doubts{source: make([]bool, len(turns)), line: s.doubt, order: true}, "heard in the line check, if the sources sounded in the order of the list")
}

// turnLevels is how loud each close line is in a stretch, −Inf for the others.
func turnLevels(e *judge.Evidence, s solo, fromS, toS float64) []float64 {
	row := make([]float64, len(e.Lines))
	for i, l := range e.Lines {
		row[i] = math.Inf(-1)
		hops, ok := s.hops[i]
		if !ok || hearsAll(l.Family) {
			continue
		}
		from, to := max(0, int(fromS/hopS)), min(int(math.Ceil(toS/hopS)), len(hops))
		if from < to {
			_, row[i] = quietAndLoud(hops[from:to])
		}
	}
	return row
}

// hearsAll says whether a line hears everybody and has no turn of its own.
func hearsAll(f model.Family) bool { return f == model.Room || f == model.Overhead }

// findTurns finds when each close line is loudest for itself and gathers lines
// that are so together. Turns are in order of time; a group has one at most.
func findTurns(e *judge.Evidence, s solo, group []int) []turn {
	type moment struct {
		line int
		atS  float64
	}
	levels := map[int]ownLevel{}
	for i, l := range e.Lines {
		if hops, ok := s.hops[i]; ok && !hearsAll(l.Family) {
			if l, ok := under(hops); ok {
				levels[i] = l
			}
		}
	}
	var moments []moment
	size := map[int]int{} // of each group, as far as it sounds
	for i := range e.Lines {
		if _, ok := levels[i]; ok {
			moments = append(moments, moment{i, turnOf(i, levels, group)})
			size[group[i]]++
		}
	}
	sort.SliceStable(moments, func(i, j int) bool { return moments[i].atS < moments[j].atS })
	var all []turn
	for k, m := range moments {
		if k > 0 && m.atS-moments[k-1].atS <= sameTurnS {
			last := &all[len(all)-1]
			last.lines = append(last.lines, m.line)
			continue
		}
		all = append(all, turn{atS: m.atS, lines: []int{m.line}})
	}
	taken := map[int]bool{}
	var turns []turn
	for _, t := range all {
		votes := map[int]int{}
		for _, l := range t.lines {
			votes[group[l]]++
		}
		best := -1
		for _, l := range t.lines { // in order, so that ties are settled the same way every time
			if g := group[l]; !taken[g] && (best < 0 || votes[g]*size[best] > votes[best]*size[g]) {
				best = g
			}
		}
		if best >= 0 {
			taken[best] = true
			t.group = best
			turns = append(turns, t)
		}
	}
	return turns
}

// ownLevel is how each hop of a line lies under its own loudest, in dB, and from
// where on up it sounds and is not only its own noise.
type ownLevel struct {
	db    []float64
	least float64
}

// under measures a line against its own loudest; not ok where it hardly rises
// over its floor.
func under(hops []meter.Hop) (l ownLevel, ok bool) {
	if len(hops) < 10 {
		return l, false
	}
	l.db = make([]float64, len(hops))
	for h := range hops {
		l.db[h] = 10 * math.Log10(max(float64(hops[h].MeanSquare), 1e-14))
	}
	sorted := slices.Clone(l.db)
	slices.Sort(sorted)
	floor, loud := sorted[len(sorted)/10], sorted[len(sorted)-1-len(sorted)/200]
	for h := range l.db {
		l.db[h] = min(0, l.db[h]-loud)
	}
	l.least = max(floor-loud+turnRiseDB, -turnTopDB)
	return l, loud-floor > turnRiseDB
}

// turnOf is the middle of a line's turn: the second in which it stands out most
// from the lines of other groups, each held against its own loudest. A hot
// microphone may hear a drum louder than its own hi-hat, but then the drum's
// line stands out, not it.
func turnOf(line int, levels map[int]ownLevel, group []int) float64 {
	own := levels[line]
	const most = 40 // dB: beyond that standing out more means nothing
	score := make([]float64, len(own.db))
	for h, db := range own.db {
		score[h] = -most / 4
		if db < own.least {
			continue
		}
		other := -2.0 * most
		for j, l := range levels {
			if group[j] != group[line] && h < len(l.db) {
				other = max(other, l.db[h])
			}
		}
		score[h] = min(max(db-other, -most), most)
	}
	n := min(int(1/hopS), len(score))
	best, bestAt, sum := math.Inf(-1), 0, 0.0
	for h, x := range score {
		sum += x
		if h >= n {
			sum -= score[h-n]
		}
		if h >= n-1 && sum > best {
			best, bestAt = sum, h-n+1
		}
	}
	return (float64(bestAt) + float64(n)/2) * hopS
}
