package desk

import (
	"context"
	"fmt"
	"math"
	"slices"
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
	name string
	hops map[int][]meter.Hop // by line
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
	s := solo{name: name, hops: map[int][]meter.Hop{}}
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
		return s, fmt.Errorf("line check: no file in %s could be read", name)
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
	var doubted []bool // by source: its folder's name could be other lines' as well
	var a between.Alone
	a.Group = group
	a.Own = make([]int, len(e.Lines))
	a.FloorDB = make([]float64, len(e.Lines))
	for i := range a.Own {
		a.Own[i], a.FloorDB[i] = -1, math.Inf(1)
	}
	for _, s := range solos {
		line, sure := lineNamed(s.name, e.Lines, group)
		if line < 0 {
			r.Sources = append(r.Sources, SoloReport{Named: s.name, Heard: "no line is called that"})
			continue
		}
		source := len(a.LevelDB)
		doubted = append(doubted, !sure)
		for i := range e.Lines {
			if group[i] == group[line] && a.Own[i] < 0 {
				a.Own[i] = source
			}
		}
		row := make([]float64, len(e.Lines))
		for i := range row {
			row[i] = math.Inf(-1)
			if hops, ok := s.hops[i]; ok && answers(e.Lines[i]) {
				low, high := quietAndLoud(hops)
				row[i] = high
				a.FloorDB[i] = math.Min(a.FloorDB[i], low)
			}
		}
		a.LevelDB = append(a.LevelDB, row)
		r.Sources = append(r.Sources, SoloReport{Named: s.name})
	}
	if len(a.LevelDB) < 2 {
		r.Why = "fewer than two of its folders are called like a line"
		return
	}
	r.Understood = true
	for i := range a.FloorDB {
		if math.IsInf(a.FloorDB[i], 1) {
			a.FloorDB[i] = 0 // not in the line check: answers to nothing
		}
	}
	finish(r, e, a, doubted, "heard in the line check, one folder a source")
}

// ringMarginDB is the margin that every line of a closed ring must have for the
// ring to be certain. It may be smaller than for a line by itself: all lines of
// a ring would have to be misread together. Common practice, no source.
const ringMarginDB = 2

// answers says whether a line is for one source more than for others: a room
// hears them all.
func answers(l model.Line) bool { return l.Family != model.Room }

// finish says which line answered to each source, and gathers crossed lines.
// doubted are the sources, by index, whose turn may have been another's: what
// they say of a line is never certain.
func finish(r *LineCheckReport, e *judge.Evidence, a between.Alone, doubted []bool, text string) {
	answers := a.Answers()
	doubtful := func(source int) bool { return source >= 0 && doubted[source] }
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
		s := judge.Swap{Ring: ring, Open: open, Certain: true, MarginDB: math.Inf(1), By: "line check", Pass: -1, Text: text}
		for k, l := range ring {
			if open && k == len(ring)-1 {
				break // the last of a chain only lends its source
			}
			s.Certain = s.Certain && (answers[l].Certain || !open && answers[l].MarginDB >= ringMarginDB) &&
				!doubtful(answers[l].Source) && !doubtful(a.Own[l])
			s.MarginDB = math.Min(s.MarginDB, answers[l].MarginDB)
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
		r.Why = "none of its files matches a line with a turn of its own"
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
			if hops, ok := s.hops[i]; ok && answers(e.Lines[i]) {
				from := min(int(math.Round(g.StartS/hopS)), len(hops))
				to := min(int(math.Round(g.EndS/hopS)), len(hops))
				_, row[i] = quietAndLoud(hops[from:to])
			}
		}
		a.LevelDB = append(a.LevelDB, row)
	}
	doubted := make([]bool, len(turns))
	for k := range doubted {
		doubted[k] = !order.Certain
	}
	finish(r, e, a, doubted, "heard in the line check, if the sources sounded in the order of the list")
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

// hopS is the length of a hop of the level meter in seconds.
const hopS = 0.1

// findSwaps adds what the sound of the take suggests about lines that the line
// check has not told of already.
func findSwaps(e *judge.Evidence) {
	told := map[int]bool{}
	for _, s := range e.Swaps {
		for _, l := range s.Ring {
			told[l] = true
		}
	}
	for _, s := range judge.Likely(e) {
		if !told[s.Ring[0]] && !told[s.Ring[1]] {
			e.Swaps = append(e.Swaps, s)
		}
	}
}
