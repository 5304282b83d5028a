package match

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"tidemark/internal/model"
)

// What a match was made by, as model.Match.By has it.
const (
	byTrack  = "track name"
	bySource = "source"
	byNumber = "number"
	byOrder  = "order of channels"
	byWord   = "your word"
)

// When a match counts, common practice.
const (
	leastScore    = 0.45 // below it a channel is unlisted
	certainScore  = 0.75
	certainMargin = 0.15 // over the runner-up line, and over another file for the same line
	settledScore  = 0.90 // a line held this well by another file is no runner-up…
	settledMargin = 0.10 // …if it is held better by this much
	orderScore    = 0.80 // a polyphonic file whose count fits
	orderDoubt    = 0.50 // one whose count does not
)

// Result is what was matched in one pass.
type Result struct {
	// Matches has every channel of every member once, in the order of the
	// members and their channels; Line is −1 where a channel is on no line,
	// with the likeliest line as the runner-up where there is one. Pieces
	// punched in have the line of what they mend; copies have none.
	Matches []model.Match
	// Missing are the lines, by index, that no channel of the pass is.
	Missing []int
}

// Files gives the channels of each pass to lines; there is one result for each
// pass. Evidence, strongest first: the person's word, the list's name in the
// recorder, the source as typed or as the vocabulary reads it, a leading
// number in the name, the order of channels in a polyphonic file.
//
// The best pair of name and line is given away first, then the next (greedy,
// of equal ones that with the clearer margin). A global optimum of the sum is
// not sought, since it would take a line from the file that bears its name in
// order to place two others badly.
//
// A match is Certain with a score of 0.75 or more, a margin of 0.15 over the
// runner-up, no other file that wants the line nearly as much, and no leading
// number that contradicts the name where those of the other files agree.
// Files without any name but a number ("Track 7") are certain only if all such
// numbers of the pass are on the list. A polyphonic file by the order of its
// channels is certain only if its count fits the list.
//
// Errors are sentences about overrides that name no file or line, or one line
// twice in a pass.
func Files(recs []model.Recording, passes []model.Pass, lines []model.Line, overrides []Override) ([]Result, error) {
	said, err := resolve(recs, lines, overrides)
	if err != nil {
		return nil, err
	}
	targets := makeTargets(lines)
	out := make([]Result, len(passes))
	for i, p := range passes {
		m := matcher{recs: recs, lines: lines, targets: targets, found: map[[2]int]model.Match{}, holder: make([]int, len(lines))}
		for l := range m.holder {
			m.holder[l] = -1
		}
		if out[i], err = m.pass(p, said); err != nil {
			return nil, err
		}
	}
	return out, nil
}

type matcher struct {
	recs    []model.Recording
	lines   []model.Line
	targets []target
	found   map[[2]int]model.Match
	holder  []int // line → index of its bid in won, −2 by the person's word or by order, −1 free
	units   []unit
	won     []bid
}

// makeTargets lists the lines and the pairs among them.
func makeTargets(lines []model.Line) []target {
	var out []target
	for i, l := range lines {
		t := target{line: i, other: -1, sources: []reading{read(l.Source)}, byOrder: l.ByOrder}
		if l.Number > 0 {
			t.numbers = []int{l.Number}
		}
		if l.Partner < 0 && l.Typed != "" && l.Typed != l.Source {
			t.sources = append(t.sources, read(l.Typed))
		}
		t.setTrack(l.Track, read)
		out = append(out, t)
	}
	for i, l := range lines {
		j := pairOf(lines, i)
		if j < 0 {
			continue
		}
		t := target{line: i, other: j, sources: []reading{unsided(l.Source)}, byOrder: l.ByOrder}
		for _, k := range []int{i, j} {
			if n := lines[k].Number; n > 0 {
				t.numbers = append(t.numbers, n)
			}
		}
		t.setTrack(l.Track, unsided)
		out = append(out, t)
	}
	return out
}

// setTrack takes the name in the recorder, or its number.
func (t *target) setTrack(track string, reader func(string) reading) {
	switch {
	case track == "":
	case allDigits(track):
		t.trackNumber = atoi(track)
	default:
		f := parseName(track)
		if f.bare {
			t.trackNumber = f.number
		}
		t.tracks = []reading{reader(track)}
		if f.number > 0 && !f.bare && f.text != "" { // "01 Kick": the recorder adds a take behind
			t.tracks = append(t.tracks, reader(f.text))
		}
	}
}

// pairOf is the right (or side) line to a left (or mid) one: its partner, or
// the only line that differs in the side alone.
func pairOf(lines []model.Line, i int) int {
	l := lines[i]
	fits := func(m model.Line) bool {
		return l.Side == model.Left && m.Side == model.Right && l.Part == m.Part ||
			l.Part == model.MidPart && m.Part == model.SidePt && l.Side == m.Side
	}
	if j := l.Partner; j >= 0 && j < len(lines) && j != i {
		if fits(lines[j]) {
			return j
		}
		return -1
	}
	found := -1
	for j, m := range lines {
		if j == i || m.Family != l.Family || m.Stem != l.Stem || m.Index != l.Index || !fits(m) {
			continue
		}
		if found >= 0 {
			return -1
		}
		found = j
	}
	return found
}

// pass matches one pass.
func (m *matcher) pass(p model.Pass, said fixed) (Result, error) {
	for _, mem := range p.Members {
		for c := range m.recs[mem.Recording].Channels {
			key := [2]int{mem.Recording, c}
			l, ok := said[key]
			if !ok {
				continue
			}
			if l >= 0 && !mem.Punch {
				if m.holder[l] != -1 {
					return Result{}, fmt.Errorf("--match: line %q is given to two channels of %s; one of them is %s", m.lines[l].Name(), p.Name, m.recs[mem.Recording].Name)
				}
				m.holder[l] = -2
			}
			m.found[key] = model.Match{Recording: mem.Recording, Channel: c, Line: l, Certain: true, By: byWord, Score: 1, RunnerUp: -1}
		}
	}
	var poly []int
	for _, mem := range p.Members {
		if !mem.Punch && !mem.Copy && !m.addUnits(mem.Recording) {
			poly = append(poly, mem.Recording)
		}
	}
	m.assign()
	m.byOrder(poly)
	return m.result(p), nil
}

// addUnits makes the units of a recording; false for a polyphonic file without
// names of channels.
func (m *matcher) addUnits(i int) bool {
	r := m.recs[i]
	name := parseName(r.Name)
	named := false
	for c := range r.Channels {
		named = named || c < len(r.ChannelNames) && r.ChannelNames[c] != ""
	}
	free := func(c int) bool { _, said := m.found[[2]int{i, c}]; return !said }
	switch {
	case r.Channels > 2 && !named:
		return false
	case r.Channels == 2 && !named:
		if free(0) && free(1) {
			m.units = append(m.units, newUnit(i, 0, true, name, ""))
		}
		return true
	}
	for c := range r.Channels {
		if !free(c) {
			continue
		}
		title := ""
		if c < len(r.ChannelNames) {
			title = r.ChannelNames[c]
		}
		switch {
		case r.Channels == 1:
			m.units = append(m.units, newUnit(i, c, false, name, title))
		case title != "":
			m.units = append(m.units, newUnit(i, c, false, parseName(title), title))
		}
	}
	return true
}

// newUnit reads a file's name in each way it can be read.
func newUnit(rec, channel int, stereo bool, f fileName, title string) unit {
	u := unit{rec: rec, channel: channel, stereo: stereo, number: f.number, bare: f.bare && title == "",
		whole: strings.Join(model.Tokens(f.base), "")}
	side := ""
	switch f.side {
	case model.Left:
		side = " L"
	case model.Right:
		side = " R"
	}
	for _, text := range []string{f.text + side, f.alt, title} {
		r := read(text)
		if len(r.tokens) == 0 || slices.ContainsFunc(u.readings, func(o reading) bool { return o.joined == r.joined }) {
			continue
		}
		u.readings = append(u.readings, r)
		u.known = u.known || r.words.Family != model.Unknown
	}
	return u
}

// assign gives the best fitting pairs of unit and target away first.
func (m *matcher) assign() {
	var bids []bid
	best := make([][2]float64, len(m.units)) // the best two scores of each unit
	for i, u := range m.units {
		for j, t := range m.targets {
			if t.other >= 0 && !u.stereo || m.taken(t) {
				continue
			}
			if s, by, numbered := offer(u, t); s > 0 {
				bids = append(bids, bid{i, j, s, by, numbered})
				if s > best[i][0] {
					best[i] = [2]float64{s, best[i][0]}
				} else {
					best[i][1] = max(best[i][1], s)
				}
			}
		}
	}
	slices.SortStableFunc(bids, func(a, b bid) int {
		return cmp.Or(cmp.Compare(b.score, a.score),
			cmp.Compare(best[a.unit][1], best[b.unit][1]), // the clearer margin first
			cmp.Compare(a.unit, b.unit), cmp.Compare(a.target, b.target))
	})
	done := make([]bool, len(m.units))
	for _, b := range bids {
		t := m.targets[b.target]
		if b.score < leastScore || done[b.unit] || m.taken(t) {
			continue
		}
		done[b.unit] = true
		m.won = append(m.won, b)
		m.hold(t, len(m.won)-1)
	}
	m.judge(bids, done)
}

func (m *matcher) taken(t target) bool {
	return m.holder[t.line] != -1 || t.other >= 0 && m.holder[t.other] != -1
}

func (m *matcher) hold(t target, by int) {
	m.holder[t.line] = by
	if t.other >= 0 {
		m.holder[t.other] = by
	}
}

// result gathers what was found, member by member.
func (m *matcher) result(p model.Pass) Result {
	var r Result
	byKey := map[string]int{} // key and channel count → the recording that a punch mends
	for _, mem := range p.Members {
		if !mem.Punch && !mem.Copy {
			byKey[parseName(m.recs[mem.Recording].Name).key()] = mem.Recording
		}
	}
	for _, mem := range p.Members {
		for c := range m.recs[mem.Recording].Channels {
			match, ok := m.found[[2]int{mem.Recording, c}]
			if !ok {
				match = m.unlisted(mem.Recording, c, bid{target: -1})
				if mended, is := byKey[parseName(m.recs[mem.Recording].Name).key()]; is {
					of, has := m.found[[2]int{mended, c}]
					switch {
					case has && mem.Punch:
						match = of
						match.Recording = mem.Recording
					case has && mem.Copy:
						match.RunnerUp, match.RunnerUpScore = of.Line, of.Score
					}
				}
			}
			r.Matches = append(r.Matches, match)
		}
	}
	for l, h := range m.holder {
		if h == -1 {
			r.Missing = append(r.Missing, l)
		}
	}
	return r
}
