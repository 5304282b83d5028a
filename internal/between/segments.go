package between

import (
	"fmt"
	"math"
	"slices"
)

// Limits of Segments. Common practice, no source.
const (
	segmentRiseDB = 12.0 // over its floor, for a line to sound
	segmentGapS   = 2.0  // silence that ends no segment
	segmentLeastS = 0.5  // sounding time that makes a segment
	answersWithin = 3.0  // dB under its own maximum: a line answers
)

// Segment is a stretch of a pass in which one source, or one group, sounds alone.
type Segment struct {
	StartS, EndS float64
	Line         int     // the line that answers best
	Group        int     // its group, as given; the line itself without groups
	Lines        []int   // all that come within 3 dB of their own loudest, in order of number
	MarginDB     float64 // of the best group over the next, re each line's own loudest
}

// Segments splits a recording in which sources sound one after the other.
//
// power is [hop][line], the mean square of each line in hops of hopS seconds
// (100 ms suit). A line sounds while it is 12 dB over its own floor (the lower
// tenth of its hops); the line that answers is the one nearest to its own
// loudest (the upper hundredth, so that one knock counts for little), since
// gains are not known. A line that heard nothing but bleed all along is at its
// own loudest too, so among those within 3 dB the one that rises most over its
// floor is taken. group is nil, or each line's, negative for none. It panics on
// ragged hops and on hopS that is not positive.
func Segments(power [][]float64, hopS float64, group []int) []Segment {
	if !(hopS > 0) {
		panic(fmt.Sprintf("between: Segments wants a positive hop, got %g s", hopS))
	}
	if len(power) == 0 {
		return nil
	}
	lines := len(power[0])
	id := func(j int) int {
		if group != nil && group[j] >= 0 {
			return group[j]
		}
		return -1 - j // a group of its own
	}
	floor, loud := make([]float64, lines), make([]float64, lines)
	level := make([][]float64, lines)
	for j := range lines {
		level[j] = make([]float64, len(power))
		for h, row := range power {
			if len(row) != lines {
				panic(fmt.Sprintf("between: Segments wants %d lines in every hop, hop %d has %d", lines, h, len(row)))
			}
			level[j][h] = 10 * math.Log10(max(row[j], 1e-20))
			if math.IsNaN(row[j]) {
				level[j][h] = -200
			}
		}
		s := slices.Clone(level[j])
		slices.Sort(s)
		// Digital silence between is no floor to rise from: 24 bits end at −145.
		floor[j], loud[j] = max(s[len(s)/10], -140), s[len(s)-1-len(s)/100]
	}
	// The best line of each hop, or −1.
	best := make([]int, len(power))
	for h := range power {
		best[h] = -1
		near := math.Inf(-1)
		for j := range lines {
			if loud[j] >= floor[j]+segmentRiseDB && level[j][h] >= floor[j]+segmentRiseDB {
				near = max(near, min(0, level[j][h]-loud[j]))
			}
		}
		if near < -20 { // the tail of what sounded before
			continue
		}
		rise := math.Inf(-1)
		for j := range lines {
			r := level[j][h] - floor[j]
			if r >= segmentRiseDB && min(0, level[j][h]-loud[j]) >= near-answersWithin && r > rise {
				best[h], rise = j, r
			}
		}
	}
	// Runs of one group, over gaps and over hops of something else, shortest first out.
	type run struct{ from, to, sounding, group int }
	var runs []run
	join := func(list []run) []run {
		var out []run
		for _, r := range list {
			if n := len(out); n > 0 && out[n-1].group == r.group && float64(r.from-out[n-1].to)*hopS <= segmentGapS {
				out[n-1].to, out[n-1].sounding = r.to, out[n-1].sounding+r.sounding
				continue
			}
			out = append(out, r)
		}
		return out
	}
	for h, j := range best {
		if j >= 0 {
			runs = append(runs, run{h, h + 1, 1, id(j)})
		}
	}
	runs = join(runs)
	for {
		least := -1
		for i, r := range runs {
			if float64(r.sounding)*hopS < segmentLeastS-1e-9 && (least < 0 || r.sounding < runs[least].sounding) {
				least = i
			}
		}
		if least < 0 {
			break
		}
		runs = join(slices.Delete(runs, least, least+1))
	}
	var out []Segment
	for _, r := range runs {
		out = append(out, segmentOf(r.from, r.to, hopS, level, floor, loud, id))
	}
	return out
}

// segmentOf describes a stretch by the upper quarter of each line's hops in it.
func segmentOf(from, to int, hopS float64, level [][]float64, floor, loud []float64, id func(int) int) Segment {
	s := Segment{StartS: float64(from) * hopS, EndS: float64(to) * hopS, Line: -1}
	near := make([]float64, len(level))
	for j := range level {
		part := slices.Clone(level[j][from:to])
		slices.Sort(part)
		typical := part[len(part)*3/4]
		near[j] = min(0, part[len(part)-1]-loud[j])
		if loud[j] < floor[j]+segmentRiseDB || typical < floor[j]+segmentRiseDB/2 {
			near[j] = math.Inf(-1)
		}
	}
	top := slices.Max(near)
	rise := math.Inf(-1)
	for j := range near {
		if near[j] >= top-answersWithin && loud[j]-floor[j] > rise {
			s.Line, rise = j, loud[j]-floor[j]
		}
		if near[j] >= -answersWithin {
			s.Lines = append(s.Lines, j)
		}
	}
	if s.Line < 0 {
		return s
	}
	g := id(s.Line)
	s.Group = g
	if g < 0 {
		s.Group = s.Line
	}
	other := math.Inf(-1)
	for j := range near {
		if id(j) != g {
			other = max(other, near[j])
		}
	}
	s.MarginDB = min(near[s.Line]-other, 100)
	return s
}

// Order is what the order of answers says about crossed lines.
type Order struct {
	// Assign[k] is the line whose source line k carries, if the players kept to
	// the list: the argument of Rings.
	Assign []int
	Moved  int // lines out of place
	// Certain: as many segments as sources, each answered once, none doubtful,
	// and at most a third of them, and at most four, out of place. Even then a
	// player may have gone before another: less sure than a file a source.
	Certain bool
	Sure    float64 // 0 … 1
}

// OrderMostMoved is the greatest number of lines out of place that an order can speak about.
const OrderMostMoved = 4

// ReadOrder holds the order in which groups answered against the order of the
// list. answered and list hold group ids (Segment.Group), the list each once.
// It reports false where the order says nothing: another number of answers than
// sources, a group that answered twice or not at all, or more out of place than
// a few. Assign speaks of positions in list: position k carries the source of
// position Assign[k].
//
// The rule: the source at position k of the list was sounded k-th; if another
// group answered k-th, then that group's line carries k's source. Players who
// changed places look the same, so Sure stays under 0.7.
func ReadOrder(answered, list []int) (Order, bool) {
	n := len(list)
	if len(answered) != n || n == 0 {
		return Order{}, false
	}
	o := Order{Assign: make([]int, n)}
	for k := range o.Assign {
		o.Assign[k] = -1
	}
	for k, g := range answered {
		at := slices.Index(list, g)
		if at < 0 || o.Assign[at] >= 0 {
			return Order{}, false
		}
		o.Assign[at] = k
		if at != k {
			o.Moved++
		}
	}
	if o.Moved > OrderMostMoved || 3*o.Moved > n && o.Moved > 0 {
		return Order{}, false
	}
	o.Certain = true
	o.Sure = 0.7 * (1 - float64(o.Moved)/float64(n))
	if o.Moved == 0 {
		o.Sure = 0.9 // nobody crosses lines and places alike
	}
	return o, true
}
