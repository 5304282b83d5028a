package desk

import (
	"context"
	"fmt"
	"math"
	"sort"
	"strings"

	"tidemark/internal/between"
	"tidemark/internal/judge"
	"tidemark/internal/match"
	"tidemark/internal/meter"
	"tidemark/internal/model"
	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

// LineCheckReport says what the line-check recording was taken for.
type LineCheckReport struct {
	Folder string `json:"folder"`
	// Form is "one folder a source" or "one pass".
	Form string `json:"form"`
	// Sources are what sounded, in order of time or of name.
	Sources []SoloReport `json:"sources"`
	// Understood is false where the recording could not be read as a line check.
	Understood bool   `json:"understood"`
	Why        string `json:"why"`
}

// SoloReport is one source sounding by itself.
type SoloReport struct {
	Named  string `json:"named"` // the folder's name, or the line whose turn it was
	StartS number `json:"start_s"`
	EndS   number `json:"end_s"`
	Heard  string `json:"heard"` // the line that answered loudest for itself
}

// solo is one recording of the line check: the hops of each line.
type solo struct {
	name  string
	hops  map[int][]meter.Hop // by line; none where no file could be read
	doubt map[int]bool        // lines whose file may be another line's
}

// lineCheck listens to the line-check recording and says which lines carry each
// other's sound.
func lineCheck(ctx context.Context, lib Library, e *judge.Evidence) (*LineCheckReport, error) {
	files, err := lib.Files()
	if err != nil {
		return nil, fmt.Errorf("line check: %w", err)
	}
	byFolder := map[string][]File{}
	var folders []string
	for _, f := range files {
		folder, _, below := strings.Cut(f.Name, "/")
		if !below {
			folder = ""
		}
		if _, seen := byFolder[folder]; !seen {
			folders = append(folders, folder)
		}
		byFolder[folder] = append(byFolder[folder], f)
	}
	sort.Strings(folders)
	r := &LineCheckReport{Folder: lib.Folder(), Form: "one folder a source", Sources: []SoloReport{}}
	if len(folders) == 1 {
		r.Form = "one pass"
		s, err := hearSolo(ctx, lib, byFolder[folders[0]], e, "line check")
		if err != nil {
			return nil, err
		}
		readOnePass(r, e, s)
		return r, nil
	}
	var solos []solo
	for _, folder := range folders {
		if folder == "" {
			continue
		}
		s, err := hearSolo(ctx, lib, byFolder[folder], e, folder)
		if err != nil {
			return nil, err
		}
		solos = append(solos, s)
	}
	readFolders(r, e, solos)
	return r, nil
}

// hearSolo measures the level of every line in one recording of the line check.
// A file that cannot be read is passed over: the take itself is what is checked.
func hearSolo(ctx context.Context, lib Library, files []File, e *judge.Evidence, name string) (solo, error) {
	s := solo{name: name, hops: map[int][]meter.Hop{}, doubt: map[int]bool{}}
	var measured []Measured
	pass := model.Pass{Name: name}
	var recs []model.Recording
	for _, f := range files {
		m, err := levelsOnly(ctx, lib, f)
		if ctx.Err() != nil {
			return s, ctx.Err()
		}
		if err != nil {
			continue
		}
		pass.Members = append(pass.Members, model.Member{Recording: len(recs)})
		recs = append(recs, recording(m))
		measured = append(measured, m)
	}
	if len(recs) == 0 {
		return s, nil
	}
	var results []match.Result
	if e.Listed {
		var err error
		if results, err = match.Files(recs, []model.Pass{pass}, e.Lines, nil); err != nil {
			return s, err
		}
	} else {
		results = sameNames(recs, pass, e)
	}
	for _, r := range results {
		for _, m := range r.Matches {
			if m.Line >= 0 {
				s.doubt[m.Line] = !m.Certain
				s.hops[m.Line] = measured[m.Recording].Readings.Channels[m.Channel].Level.Hops
			}
		}
	}
	return s, nil
}

// sameNames matches a line check without an input list: by the names that the
// takes' files gave to the lines.
func sameNames(recs []model.Recording, pass model.Pass, e *judge.Evidence) []match.Result {
	lines, results := match.Named(recs, []model.Pass{pass})
	at := map[string]int{}
	for i, l := range e.Lines {
		at[strings.ToLower(l.Source)] = i
	}
	for i := range results[0].Matches {
		m := &results[0].Matches[i]
		if m.Line < 0 {
			continue
		}
		if l, ok := at[strings.ToLower(lines[m.Line].Source)]; ok {
			m.Line = l
		} else {
			m.Line = -1
		}
	}
	return results
}

// levelsOnly measures the level picture of a file and nothing else.
func levelsOnly(ctx context.Context, lib Library, f File) (Measured, error) {
	r, closer, err := lib.Open(f.Name)
	if err != nil {
		return Measured{}, err
	}
	defer closer.Close()
	h := r.Header()
	meters := make([]*meter.Level, h.Format.Channels)
	for c := range meters {
		meters[c] = meter.NewLevel(h.Format.RateHz)
	}
	err = stream(ctx, r, func(b *sound.Block) {
		for c, x := range b.Channels {
			meters[c].Measure(x)
		}
	}, nil)
	if err != nil {
		return Measured{}, err
	}
	m := Measured{File: f, Header: h, Readings: meter.Readings{Format: h.Format}}
	for _, l := range meters {
		level := l.Reading()
		m.Readings.Frames = level.Frames
		m.Readings.Channels = append(m.Readings.Channels, meter.Channel{Level: level})
	}
	return m, nil
}

// groups gives lines that hear each other's source as their own one number:
// pairs, top and bottom, in and out. Lines by themselves are groups too.
func groups(lines []model.Line) []int {
	g := make([]int, len(lines))
	for i := range g {
		g[i] = i
	}
	root := func(i int) int {
		for g[i] != i {
			i = g[i]
		}
		return i
	}
	for _, r := range model.Relations(lines) {
		if r.Kind == model.KitPair {
			continue
		}
		a, b := root(r.A), root(r.B)
		g[max(a, b)] = min(a, b)
	}
	for a, l := range lines {
		for b, m := range lines {
			if l.Side == model.Left && m.Side == model.Right && l.Stem == m.Stem && l.Family == m.Family && l.Index == m.Index {
				x, y := root(a), root(b)
				g[max(x, y)] = min(x, y)
			}
		}
	}
	for i := range g {
		g[i] = root(i)
	}
	return g
}

// readFolders reads a line check with one recording a source: the folder's name
// says which source sounded.
func readFolders(r *LineCheckReport, e *judge.Evidence, solos []solo) {
	group := groups(e.Lines)
	doubt := doubts{line: map[int]bool{}}
	var a between.Alone
	a.Group = group
	a.Own = make([]int, len(e.Lines))
	a.FloorDB = make([]float64, len(e.Lines))
	for i := range a.Own {
		a.Own[i], a.FloorDB[i] = -1, math.Inf(1)
	}
	for _, s := range solos {
		if len(s.hops) == 0 {
			r.Sources = append(r.Sources, SoloReport{Named: s.name, Heard: "none of its files could be read and is a line's"})
			continue
		}
		line, sure := lineNamed(s.name, e.Lines, group)
		if line < 0 {
			r.Sources = append(r.Sources, SoloReport{Named: s.name, Heard: "no line is called that"})
			continue
		}
		source := len(a.LevelDB)
		doubt.source = append(doubt.source, !sure)
		doubt.add(s)
		for i := range e.Lines {
			if group[i] == group[line] && a.Own[i] < 0 {
				a.Own[i] = source
			}
		}
		row := make([]float64, len(e.Lines))
		for i := range row {
			row[i] = math.Inf(-1)
			if hops, ok := s.hops[i]; ok && forOneSource(e.Lines[i]) {
				low, high := quietAndLoud(hops)
				row[i] = high
				a.FloorDB[i] = math.Min(a.FloorDB[i], low)
			}
		}
		a.LevelDB = append(a.LevelDB, row)
		r.Sources = append(r.Sources, SoloReport{Named: s.name})
	}
	if len(a.LevelDB) < 2 {
		r.Why = "fewer than two of its folders are called like a line and hold sound"
		return
	}
	r.Understood = true
	for i := range a.FloorDB {
		if math.IsInf(a.FloorDB[i], 1) {
			a.FloorDB[i] = 0 // not in the line check: answers to nothing
		}
	}
	finish(r, e, a, doubt, "heard in the line check, one folder a source")
}

// forOneSource says whether a line hears one source more than others: a room
// hears them all.
func forOneSource(l model.Line) bool { return l.Family != model.Room }

// doubts are what makes a line check's word uncertain.
type doubts struct {
	source []bool       // by source: its turn may have been another's
	line   map[int]bool // by line: its file in the line check may be another line's
	order  bool         // sources are known by their order alone: then only a closed ring is sure
}

// add takes over what is doubtful in a recording: once is enough for a line.
func (d doubts) add(s solo) {
	for line, doubtful := range s.doubt {
		d.line[line] = d.line[line] || doubtful
	}
}

func (d doubts) of(line int, sources ...int) bool {
	for _, s := range sources {
		if s >= 0 && d.source[s] {
			return true
		}
	}
	return d.line[line]
}

// finish says which line answered to each source, and gathers crossed lines.
func finish(r *LineCheckReport, e *judge.Evidence, a between.Alone, doubt doubts, text string) {
	answers := a.Answers()
	source := 0
	for k := range r.Sources {
		if r.Sources[k].Heard != "" {
			continue
		}
		margin := math.Inf(-1)
		for i, an := range answers {
			if an.Source == source && an.MarginDB > margin {
				r.Sources[k].Heard, margin = e.Lines[i].Name(), an.MarginDB
			}
		}
		source++
	}
	add := func(ring []int, open bool) {
		s := judge.Swap{Ring: ring, Open: open, Certain: true, Margin: math.Inf(1), Unit: "dB", By: "line check", Pass: -1, Text: text}
		for k, l := range ring {
			if open && k == len(ring)-1 {
				break // the last of a chain only lends its source
			}
			s.Certain = s.Certain && !(open && doubt.order) && (answers[l].Certain || !open && answers[l].MarginDB >= judge.RingMarginDB) &&
				!doubt.of(l, answers[l].Source, a.Own[l])
			s.Margin = math.Min(s.Margin, answers[l].MarginDB)
		}
		e.Swaps = append(e.Swaps, s)
	}
	carried := between.Carried(answers)
	for _, ring := range between.Rings(carried) {
		add(ring, false)
	}
	for _, chain := range between.Chains(carried) {
		add(chain, true)
	}
}

// lineNamed finds the line that a folder of the line check is named for, −1
// where there is none. sure says that the name is no other line's, or only
// those of lines that hear the same source.
func lineNamed(name string, lines []model.Line, group []int) (line int, sure bool) {
	recs := []model.Recording{{Name: name + ".wav", Channels: 1, RateHz: 48000, Frames: 1}}
	results, err := match.Files(recs, []model.Pass{{Members: []model.Member{{}}}}, lines, nil)
	if err != nil || len(results) == 0 || len(results[0].Matches) == 0 {
		return -1, false
	}
	m := results[0].Matches[0]
	if m.Line < 0 {
		return -1, false
	}
	return m.Line, m.Certain || m.RunnerUp >= 0 && group[m.RunnerUp] == group[m.Line]
}

// quietAndLoud are the lower twentieth and the upper twentieth of the hops, in dBFS.
func quietAndLoud(hops []meter.Hop) (low, high float64) {
	db := make([]float64, 0, len(hops))
	for _, h := range hops {
		db = append(db, 10*math.Log10(max(float64(h.MeanSquare), 1e-20))+unit.SineOffsetDB)
	}
	if len(db) == 0 {
		return math.Inf(1), math.Inf(-1)
	}
	sort.Float64s(db)
	return db[len(db)/20], db[len(db)-1-len(db)/20]
}

// hopS is the length of a hop of the level meter in seconds.
const hopS = 0.1
