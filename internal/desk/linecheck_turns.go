package desk

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"tidemark/internal/between"
	"tidemark/internal/judge"
	"tidemark/internal/model"
)

// readOnePass reads a line check in which the sources sound one after another,
// in the order of the list. Lines without a source of their own (rooms,
// talkback) may be left out by the players.
func readOnePass(r *LineCheckReport, e *judge.Evidence, s solo) {
	group := groups(e.Lines)
	var heard, over []int // close lines with sound, and overheads, in the order of the list
	n := 0
	for i := range e.Lines {
		hops, ok := s.hops[i]
		if !ok || e.Lines[i].Family == model.Room {
			continue // a room has no turn of its own
		}
		n = max(n, len(hops))
		if e.Lines[i].Family == model.Overhead {
			over = append(over, i)
		} else {
			heard = append(heard, i)
		}
	}
	if n == 0 || len(heard) == 0 {
		r.Why = "none of its files could be read and is that of a line with a turn of its own"
		return
	}
	power, of := make([][]float64, n), make([]int, len(heard))
	for h := range power {
		power[h] = make([]float64, len(heard))
		for k, i := range heard {
			if hops := s.hops[i]; h < len(hops) {
				power[h][k] = float64(hops[h].MeanSquare)
			}
		}
	}
	for k, i := range heard {
		of[k] = group[i]
	}
	var turns []between.Segment
	var answered []int // groups, in order of time
	for _, g := range between.Segments(power, hopS, of) {
		if g.Line < 0 {
			continue
		}
		line := heard[g.Line]
		if len(over) > 0 && e.Lines[line].Family.Kit() && ofOverheads(power, g.Line, g) {
			line = over[0]
		}
		turns, answered = append(turns, g), append(answered, group[line])
	}
	var list []int // groups in the order of the list
	for i, l := range e.Lines {
		if _, ok := s.hops[i]; !ok || l.Family == model.Room || slices.Contains(list, group[i]) {
			continue
		}
		if (judge.MayBeSilent(l.Family) || l.Family == model.Overhead) && !slices.Contains(answered, group[i]) {
			continue // nobody spoke into the talkback, or struck the cymbals by themselves
		}
		list = append(list, group[i])
	}
	order, ok := between.ReadOrder(answered, list)
	for k, g := range turns {
		solo := SoloReport{StartS: rounded(some(g.StartS)), EndS: rounded(some(g.EndS))}
		if ok {
			solo.Named = e.Lines[list[k]].Name()
		} else {
			solo.Heard = e.Lines[answered[k]].Name()
		}
		r.Sources = append(r.Sources, solo)
	}
	if !ok {
		r.Why = fmt.Sprintf("%d sources answered where the list has %d, or in quite another order, so it says nothing about crossed lines; one sub-folder a source would", len(answered), len(list))
		return
	}
	r.Understood = true
	a := between.Alone{Group: group, Own: make([]int, len(e.Lines)), FloorDB: make([]float64, len(e.Lines))}
	for i := range e.Lines {
		a.Own[i] = slices.Index(list, group[i])
		if hops, ok := s.hops[i]; ok {
			a.FloorDB[i], _ = quietAndLoud(hops)
		}
	}
	for _, g := range turns {
		row := make([]float64, len(e.Lines))
		for i := range row {
			row[i] = math.Inf(-1)
			if hops, ok := s.hops[i]; ok && forOneSource(e.Lines[i]) {
				from := min(int(math.Round(g.StartS/hopS)), len(hops))
				to := min(int(math.Round(g.EndS/hopS)), len(hops))
				_, row[i] = quietAndLoud(hops[from:to])
			}
		}
		a.LevelDB = append(a.LevelDB, row)
	}
	doubt := doubts{make([]bool, len(turns)), s.doubt}
	for k := range doubt.source {
		doubt.source[k] = !order.Certain
	}
	finish(r, e, a, doubt, "heard in the line check, if the sources sounded in the order of the list")
}

// quietTurnDB is how far under its own loudest a close line must answer for the
// turn to be another source's, that only the overheads are for.
const quietTurnDB = 5

// ofOverheads says whether a turn that a close line answered belongs to the
// overheads: a cymbal without a microphone of its own reaches the nearest close
// line well under that line's own loudest.
func ofOverheads(power [][]float64, line int, g between.Segment) bool {
	column := make([]float64, len(power))
	for h := range power {
		column[h] = power[h][line]
	}
	from, to := min(int(math.Round(g.StartS/hopS)), len(power)), min(int(math.Round(g.EndS/hopS)), len(power))
	turn := slices.Clone(column[from:to])
	sort.Float64s(column)
	sort.Float64s(turn)
	if len(turn) == 0 {
		return false
	}
	return 10*math.Log10(turn[len(turn)-1]/column[len(column)-1-len(column)/200]) < -quietTurnDB
}
