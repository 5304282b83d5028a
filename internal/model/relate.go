package model

import (
	"slices"
	"strings"
)

// Relations finds the pairs of lines that hear the same source, from what the
// list calls them. Two lines are related once, by the first of these that fits:
//
//	halves of a row split in two, left and right of one stem,
//	mid and side, top and bottom of a drum, in and out of a kick,
//	DI and amplifier, two microphones on one stem,
//	each close microphone of the kit against each overhead.
//
// Guitars, voices, basses and drums that are called left and right in rows of
// their own may be two players or two drums, and are not paired. Numbers never
// make a pair (tom 1 and 2), except two overheads or two rooms called 1 and 2
// with nothing else to tell them apart. All of it is common practice. An empty
// list gives nil.
func Relations(lines []Line) []Relation {
	r := relater{lines: lines, seen: map[[2]int]bool{}}
	r.partners()
	for _, group := range r.groups() {
		r.sides(group)
		r.parts(group, MidPart, SidePt, MidSide, nil)
		r.parts(group, Top, Bottom, TopBottom, []Family{Snare, Tom, Percussion, HiHat, Cymbal})
		r.parts(group, In, Out, InOut, []Family{Kick, Percussion, Tom})
		r.parts(group, DI, Amp, DIAmp, nil)
		r.parts(group, DI, NoPart, DIAmp, []Family{Bass, Guitar})
		r.twoMics(group)
	}
	r.kit()
	return r.out
}

type relater struct {
	lines []Line
	seen  map[[2]int]bool
	out   []Relation
}

// add keeps a relation unless the two lines have one.
func (r *relater) add(a, b, on int, kind RelationKind) {
	key := [2]int{min(a, b), max(a, b)}
	if a == b || r.seen[key] {
		return
	}
	r.seen[key] = true
	r.out = append(r.out, Relation{A: a, B: b, On: on, Kind: kind})
}

// partners relates the halves of rows that the list itself made a pair.
func (r *relater) partners() {
	for i, l := range r.lines {
		j := l.Partner
		if j <= i || j >= len(r.lines) || r.lines[j].Partner != i {
			continue
		}
		m := r.lines[j]
		if l.Side == Left && m.Side == Right {
			r.pair(i, j)
		}
	}
}

// pair adds a stereo or room pair of a left and a right line.
func (r *relater) pair(l, m int) {
	if r.lines[l].Family == Room {
		r.add(l, m, l, RoomPair)
		return
	}
	on := l
	if r.lines[l].Family == Overhead {
		on = r.hits(l)
	}
	r.add(l, m, on, StereoPair)
}

// hits is the line on whose strokes overheads are measured: the snare's top,
// else a snare that is not its bottom, else a kick, else the overhead itself.
func (r *relater) hits(overhead int) int {
	best, rank := overhead, 3
	for i, l := range r.lines {
		at := 3
		switch {
		case l.Family == Snare && l.Part == Top:
			at = 0
		case l.Family == Snare && l.Part != Bottom:
			at = 1
		case l.Family == Kick:
			at = 2
		}
		if at < rank {
			best, rank = i, at
		}
	}
	return best
}

// places are words for where on a source a microphone stands; two lines that
// differ in them alone hear the same source.
var places = map[string]bool{
	"neck": true, "body": true, "bridge": true, "soundhole": true, "hammers": true,
	"lid": true, "low": true, "lo": true, "high": true, "hi": true, "treble": true,
	"bell": true, "horn": true, "edge": true, "cone": true, "cap": true, "ribbon": true,
	"condenser": true, "dynamic": true, "alt": true, "trigger": true, "trig": true,
}

// stemOf is the stem without places.
func stemOf(l Line) string {
	words := strings.Fields(l.Stem)
	kept := slices.DeleteFunc(slices.Clone(words), func(w string) bool { return places[w] })
	if len(kept) == 0 || l.Family == Winds {
		kept = words // a horn is no place on a horn
	}
	return strings.Join(kept, " ")
}

// groups gathers lines of one family, stem and number, in the list's order.
func (r *relater) groups() [][]int {
	type key struct {
		family Family
		stem   string
		index  int
	}
	at := map[key]int{}
	var groups [][]int
	put := func(k key, i int) {
		g, ok := at[k]
		if !ok {
			g = len(groups)
			at[k] = g
			groups = append(groups, nil)
		}
		groups[g] = append(groups[g], i)
	}
	for i, l := range r.lines {
		stem := stemOf(l)
		if stem == "" && (l.Family == Unknown && l.Part != MidPart && l.Part != SidePt) {
			continue // a row without a name shares nothing with another
		}
		switch l.Family {
		case Talkback, Click:
			continue // cues, not sources
		}
		put(key{l.Family, stem, l.Index}, i)
	}
	return groups
}

// sides pairs left and right within a group, part by part, in order.
func (r *relater) sides(group []int) {
	used := map[int]bool{}
	for _, a := range group {
		l := r.lines[a]
		if l.Side != Left || l.Partner >= 0 && r.paired(a) || !pairsBySide(l.Family) {
			continue
		}
		for _, b := range group {
			m := r.lines[b]
			if m.Side == Right && m.Part == l.Part && !used[b] && !(m.Partner >= 0 && r.paired(b)) &&
				placeWords(m) == placeWords(l) {
				used[b] = true
				r.pair(a, b)
				break
			}
		}
	}
}

// placeWords are the places in a stem: "piano low" and "piano high" each have
// a left and right of their own.
func placeWords(l Line) string {
	var out []string
	for _, w := range strings.Fields(l.Stem) {
		if places[w] {
			out = append(out, w)
		}
	}
	return strings.Join(out, " ")
}

// paired says whether a line is a half of a row that was split in two.
func (r *relater) paired(i int) bool {
	j := r.lines[i].Partner
	return j >= 0 && j < len(r.lines) && j != i && r.lines[j].Partner == i
}

// pairsBySide are the families whose left and right are two microphones or
// outputs of one thing.
func pairsBySide(f Family) bool {
	switch f {
	case Guitar, Voice, Backing, Bass, Kick, Snare, HiHat, Tom, Talkback, Click:
		return false
	}
	return true
}

// parts relates each line of one part to each of the other within a group.
// Lines of different sides are not two ends of one thing (amp L, DI R).
func (r *relater) parts(group []int, a, b Part, kind RelationKind, only []Family) {
	for _, i := range group {
		l := r.lines[i]
		if l.Part != a || only != nil && !slices.Contains(only, l.Family) {
			continue
		}
		for _, j := range group {
			m := r.lines[j]
			if m.Part == b && (l.Side == m.Side || l.Side == NoSide || m.Side == NoSide) {
				r.add(i, j, i, kind)
			}
		}
	}
}

// twoMics relates what is left in a group: lines that differ in part or place
// only. Lines that the list calls exactly alike are left alone, since nothing
// says whether they are one source or two; so are opposite sides.
func (r *relater) twoMics(group []int) {
	if len(group) == 0 {
		return
	}
	f := r.lines[group[0]].Family
	for n, a := range group {
		for _, b := range group[n+1:] {
			l, m := r.lines[a], r.lines[b]
			if l.Side != m.Side && l.Side != NoSide && m.Side != NoSide {
				continue
			}
			if f == Overhead || f == Room {
				continue // near and far rooms are late by their nature
			}
			if f == Voice || f == Backing {
				continue // high and low are two singers, not two microphones on one
			}
			if l.Part != m.Part || l.Stem != m.Stem {
				r.add(a, b, a, TwoMics)
			}
		}
	}
}

// kit relates overheads called 1 and 2, and every close microphone of the kit
// to every overhead.
func (r *relater) kit() {
	r.numbered(Overhead)
	r.numbered(Room)
	for i, l := range r.lines {
		if !l.Family.Kit() || l.Family == Overhead {
			continue
		}
		for j, m := range r.lines {
			if m.Family == Overhead && m.Part != SidePt {
				r.add(i, j, i, KitPair)
			}
		}
	}
}

// numbered pairs "OH 1" and "OH 2": common practice where there are two of
// them, without sides, and nothing else tells them apart.
func (r *relater) numbered(f Family) {
	var at []int
	for i, l := range r.lines {
		if l.Family == f {
			at = append(at, i)
		}
	}
	if len(at) != 2 {
		return
	}
	l, m := r.lines[at[0]], r.lines[at[1]]
	if l.Stem == m.Stem && l.Part == m.Part && l.Side == NoSide && m.Side == NoSide && l.Index == 1 && m.Index == 2 {
		r.pair(at[0], at[1])
	}
}
