package match

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"

	"tidemark/internal/model"
)

// How close starts must be, common practice.
const (
	sameReferenceS = 0.050 // time references: files of one run agree to the frame, or to rounding between rates
	sameOriginS    = 10    // origination times: whole seconds, files are opened one after the other
	sameModifiedS  = 20    // file times: files are closed one after the other
	punchShare     = 0.5   // a punched-in piece is shorter than this share of what it mends
	sameLengthS    = 0.050
	otherDayS      = 12 * 3600 // a clock of the day tells no more than this
)

// Passes gathers recordings into runs of the recorder, in order of time.
//
// Recordings belong together by the first of these keys that they have:
//
//  1. time reference: the same start within 50 ms at whatever rate; a later
//     start inside the span of a pass is a line armed late, or, where the pass
//     already has the line and the piece is less than half as long, a punch;
//  2. date and time in the names;
//  3. origination time, within ten seconds, with late starts and punches as above;
//  4. take numbers in the names, where a line would else be there twice. Counters
//     differ between lines of one pass (one armed later counts from 1), so a
//     recording whose length is not that of its take but exactly that of
//     another goes there, and takes of different lines that are equally long to
//     the frame are one run;
//  5. equal length to the frame, then file times that lie together.
//
// Files of one time reference in which a line is there twice are several takes
// recorded at one place of a timeline (or a recorder that writes a constant),
// and are told apart by keys 2 to 5. Copies ("Kick copy", "Kick (1)") stay in
// the pass of their original and are marked. Every recording is in one pass;
// none gives nil.
func Passes(recs []model.Recording) []model.Pass {
	p := passer{recs: recs, names: make([]fileName, len(recs)), copyOf: map[int]int{}}
	for i, r := range recs {
		p.names[i] = parseName(r.Name)
		p.keys = append(p.keys, p.names[i].key())
	}
	p.findCopies()
	var timed, rest []int
	for i, r := range recs {
		if _, copied := p.copyOf[i]; copied {
			continue
		}
		if r.HasStart && r.RateHz > 0 {
			timed = append(timed, i)
		} else {
			rest = append(rest, i)
		}
	}
	var runs []run
	reference := func(i int) float64 { return float64(recs[i].StartFrames) / float64(recs[i].RateHz) }
	for _, r := range p.cluster(timed, reference, sameReferenceS, false) {
		r.timed = true
		runs = append(runs, r)
	}
	rest = p.joinByLength(runs, rest)
	runs = append(runs, p.divide(rest, 0)...)
	return p.finish(runs)
}

// run is a pass being gathered.
type run struct {
	start   float64 // seconds on the clock of its key
	timed   bool
	members []model.Member
}

type passer struct {
	recs   []model.Recording
	names  []fileName
	keys   []string    // what the names share from take to take
	copyOf map[int]int // recording → its original
}

// findCopies marks recordings that are named a copy of another of the same
// length, or lie under the same name and length in another folder.
func (p *passer) findCopies() {
	type what struct {
		key    string
		take   int
		frames int64
		rate   int
	}
	first := map[what]int{}
	order := make([]int, len(p.recs))
	for i := range order {
		order[i] = i
	}
	// An original is not marked as a copy, and lies least deep.
	sort.SliceStable(order, func(a, b int) bool {
		x, y := order[a], order[b]
		if p.names[x].copied != p.names[y].copied {
			return !p.names[x].copied
		}
		return strings.Count(p.recs[x].Name, "/") < strings.Count(p.recs[y].Name, "/")
	})
	for _, i := range order {
		n, r := p.names[i], p.recs[i]
		k := what{p.key(i) + n.stamp + strconv.Itoa(n.number), n.take, r.Frames, r.RateHz}
		if j, ok := first[k]; ok && (n.copied || n.base == p.names[j].base) {
			o := p.recs[j]
			if n.copied || o.HasStart == r.HasStart && o.StartFrames == r.StartFrames && math.Abs(float64(o.OriginS-r.OriginS)) <= sameOriginS {
				p.copyOf[i] = j
				continue
			}
		}
		if _, ok := first[k]; !ok {
			first[k] = i
		}
	}
}

// cluster gathers recordings by a start in seconds: equal starts together, a
// later start inside a run's span into that run. loose says that starts are
// coarse, so that equal lengths count for as much as a start.
func (p *passer) cluster(at []int, start func(int) float64, tolerance float64, loose bool) []run {
	slices.SortStableFunc(at, func(a, b int) int {
		switch x, y := start(a), start(b); {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	var groups [][]int
	for _, i := range at {
		if n := len(groups); n > 0 {
			g := groups[n-1]
			near := start(g[0])
			if loose {
				near = start(g[len(g)-1])
			}
			if start(i)-near <= tolerance {
				groups[n-1] = append(g, i)
				continue
			}
		}
		groups = append(groups, []int{i})
	}
	var runs []run
	for _, g := range groups {
		t := start(g[0])
		parts := [][]int{g}
		if p.collide(g) {
			parts = nil
			next := 0
			if loose {
				next = 2 // what was gathered by origination is divided by what comes after it
			}
			for _, r := range p.divide(g, next) {
				parts = append(parts, recordings(r))
			}
		}
		for _, part := range parts {
			if k := p.runAround(runs, part, t, loose); k >= 0 {
				p.join(&runs[k], part, t-runs[k].start)
				continue
			}
			r := run{start: t}
			for _, i := range part {
				r.members = append(r.members, model.Member{Recording: i, OffsetS: steady(start(i)-t, loose)})
			}
			runs = append(runs, r)
		}
	}
	return runs
}

// steady is an offset, 0 where the clock is too coarse to tell.
func steady(offset float64, loose bool) float64 {
	if loose {
		return 0
	}
	return offset
}

func recordings(r run) []int {
	out := make([]int, len(r.members))
	for i, m := range r.members {
		out[i] = m.Recording
	}
	return out
}

// runAround finds the run that a later group begins inside of, −1 where it is
// a run of its own. A group that plays most lines of the run again is a take
// of its own, wherever on the timeline it was recorded; so is a repeat of one
// line that is not short.
func (p *passer) runAround(runs []run, part []int, t float64, loose bool) int {
	for k := len(runs) - 1; k >= 0; k-- {
		r := runs[k]
		span := 0.0
		for _, m := range r.members {
			span = max(span, m.OffsetS+p.recs[m.Recording].DurationS())
		}
		// Of files exported one after the other, the length tells that they
		// belong together although their times do not.
		exported := loose && p.sameLength(append(recordings(r), part...)) && !p.collide(append(recordings(r), part...))
		if !exported && (t < r.start || t >= r.start+span-sameReferenceS) {
			continue
		}
		if a, b := p.recs[part[0]].OriginS, p.recs[r.members[0].Recording].OriginS; a > 0 && b > 0 && math.Abs(float64(a-b)) > otherDayS {
			continue
		}
		repeats, short := 0, true
		for _, i := range part {
			for _, m := range r.members {
				if m.Punch || p.key(m.Recording) != p.key(i) {
					continue
				}
				repeats++
				if p.recs[i].DurationS() >= punchShare*p.recs[m.Recording].DurationS() {
					short = false
				}
				break
			}
		}
		switch {
		case repeats == 0:
			return k
		case short && (repeats*2 <= len(r.members) || len(r.members) == 1):
			return k
		}
	}
	return -1
}

// key is a recording's line as its name has it: two files of one key in one
// pass are two takes of a line.
func (p *passer) key(i int) string { return p.keys[i] }

// join adds a late group to a run.
func (p *passer) join(r *run, part []int, offset float64) {
	if offset < 0 {
		offset = 0
	}
	have := map[string]bool{}
	for _, m := range r.members {
		have[p.key(m.Recording)] = true
	}
	for _, i := range part {
		o := offset
		if p.sameLength(append(recordings(*r), i)) {
			o = 0 // equal to the frame: it began with the others, its clock is late
		}
		r.members = append(r.members, model.Member{Recording: i, OffsetS: o, Punch: have[p.key(i)]})
	}
}

// sameLength says whether all recordings last equally long, to the frame at
// one rate and within 50 ms across rates.
func (p *passer) sameLength(at []int) bool {
	for _, i := range at[1:] {
		a, b := p.recs[at[0]], p.recs[i]
		if a.RateHz == b.RateHz && a.Frames != b.Frames || math.Abs(a.DurationS()-b.DurationS()) > sameLengthS {
			return false
		}
	}
	return true
}

// collide says whether a line is there twice. Files of equal length and
// origination whose names differ in a number are lines with numbers ("Tom_1",
// "Tom_2"), not takes; where the number is written as takes are ("Kick_01")
// their file times must lie together too.
func (p *passer) collide(at []int) bool {
	first := map[string]int{}
	for _, i := range at {
		j, ok := first[p.key(i)]
		if !ok {
			first[p.key(i)] = i
			continue
		}
		a, b := p.recs[i], p.recs[j]
		numbered := (p.names[i].take != p.names[j].take || p.names[i].number != p.names[j].number) &&
			a.Frames == b.Frames && math.Abs(float64(a.OriginS-b.OriginS)) <= sameOriginS && p.names[i].stamp == p.names[j].stamp
		if alt := p.names[i].alt; (alt == "" || strings.HasPrefix(lastWord(alt), "0")) && p.names[i].take != p.names[j].take && !a.HasStart && math.Abs(float64(a.ModifiedS-b.ModifiedS)) > sameModifiedS {
			numbered = false
		}
		if !numbered {
			return true
		}
	}
	return false
}

func lastWord(s string) string { return s[strings.LastIndexByte(s, ' ')+1:] }

// finish adds copies to the pass of their original, orders and names the passes.
func (p *passer) finish(runs []run) []model.Pass {
	for i := range p.recs {
		o, ok := p.copyOf[i]
		if !ok {
			continue
		}
		for k := range runs {
			at := slices.IndexFunc(runs[k].members, func(m model.Member) bool { return m.Recording == o })
			if at >= 0 {
				m := runs[k].members[at]
				m.Recording, m.Copy = i, true
				runs[k].members = append(runs[k].members, m)
				break
			}
		}
	}
	sort.SliceStable(runs, func(a, b int) bool { return p.before(runs[a], runs[b]) })
	var out []model.Pass
	for k, r := range runs {
		pass := model.Pass{Name: fmt.Sprintf("pass %d", k+1), Timed: r.timed}
		if r.timed {
			pass.StartS = r.start
		}
		sort.SliceStable(r.members, func(a, b int) bool {
			x, y := r.members[a], r.members[b]
			if x.Copy != y.Copy {
				return y.Copy
			}
			if x.OffsetS != y.OffsetS {
				return x.OffsetS < y.OffsetS
			}
			return p.recs[x.Recording].Name < p.recs[y.Recording].Name
		})
		pass.Members = r.members
		out = append(out, pass)
	}
	return out
}

// before orders runs: by origination, then stamp in the names, then time
// reference, then take number, then file time, then name, each where both have it.
func (p *passer) before(a, b run) bool {
	x, y := p.facts(a), p.facts(b)
	switch {
	case x.origin > 0 && y.origin > 0 && math.Abs(float64(x.origin-y.origin)) > sameOriginS:
		return x.origin < y.origin
	case x.stamp != "" && len(x.stamp) == len(y.stamp) && x.stamp != y.stamp:
		return x.stamp < y.stamp
	case a.timed && b.timed && math.Abs(a.start-b.start) > sameReferenceS:
		return a.start < b.start
	case x.take >= 0 && y.take >= 0 && x.take != y.take:
		return x.take < y.take
	case x.modified != y.modified:
		return x.modified < y.modified
	}
	return x.name < y.name
}

type runFacts struct {
	origin, modified int64
	stamp, name      string
	take             int
}

// facts are the earliest origination and file time, and the commonest take, of
// a run's members.
func (p *passer) facts(r run) runFacts {
	f := runFacts{take: -1}
	takes := map[int]int{}
	for _, m := range r.members {
		rec, n := p.recs[m.Recording], p.names[m.Recording]
		if m.Copy || m.Punch {
			continue
		}
		if rec.OriginS > 0 && (f.origin == 0 || rec.OriginS < f.origin) {
			f.origin = rec.OriginS
		}
		if rec.ModifiedS > 0 && (f.modified == 0 || rec.ModifiedS < f.modified) {
			f.modified = rec.ModifiedS
		}
		if n.stamp != "" && (f.stamp == "" || n.stamp < f.stamp) {
			f.stamp = n.stamp
		}
		if f.name == "" || rec.Name < f.name {
			f.name = rec.Name
		}
		if n.take >= 0 {
			takes[n.take]++
		}
	}
	most := 0
	for t, n := range takes {
		if n > most || n == most && t < f.take {
			f.take, most = t, n
		}
	}
	return f
}
