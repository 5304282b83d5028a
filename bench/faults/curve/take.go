package curve

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"tidemark/bench/faults/harm"
	"tidemark/bench/faults/material"
	"tidemark/bench/faults/stage"
	"tidemark/internal/desk"
	"tidemark/internal/inputlist"
	"tidemark/internal/judge"
	"tidemark/internal/match"
	"tidemark/internal/meter"
	"tidemark/internal/model"
	"tidemark/internal/sound"
)

// Take is one sound recording of an invented band, in memory, and what was
// measured on it.
type Take struct {
	*stage.Session
	sound [][]float32            // by line, as its file holds it
	alone map[string][][]float32 // line check: samples by file name below its folder
	files map[[2]int][]byte      // sound files by line and frames, once somebody asked for them
	quart map[int][]float32      // lines a quarter period later, likewise
	known *judge.Evidence
	track []int // index into known.Tracks, by line
	clean []model.Finding
}

// NewTake records a session and measures its lines.
func NewTake(store *material.Store, seed uint64, style string, seconds float64, rateHz int) (*Take, error) {
	t := &Take{Session: stage.Build(store, seed, style, seconds, rateHz, 24), alone: map[string][][]float32{}, files: map[[2]int][]byte{}, quart: map[int][]float32{}}
	files := map[string][][]float32{}
	err := t.RecordTo(func(name string, _ stage.Sheet, channels [][]float32) error {
		kept := make([][]float32, len(channels))
		for c, x := range channels {
			kept[c] = slices.Clone(x)
			stage.Quantise(kept[c], t.Bits)
		}
		if below, ok := strings.CutPrefix(name, stage.AloneFolder+"/"); ok {
			t.alone[below] = kept
		} else {
			files[strings.TrimPrefix(name, stage.TakeFolder+"/")] = kept
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	for _, l := range t.Lines {
		t.sound = append(t.sound, files[l.File][l.Channel])
	}
	if err := t.measure(); err != nil {
		return nil, err
	}
	t.clean = judge.Judge(t.known)
	return t, nil
}

// measure gathers the evidence of the whole take, as the desk does for single
// lines: without what is measured between them.
func (t *Take) measure() error {
	list := typed(t.Lines)
	sheet, err := inputlist.Read(stage.ListName, bytes.NewReader(list), int64(len(list)), inputlist.Options{})
	if err != nil {
		return err
	}
	e := &judge.Evidence{Lines: sheet.Lines, Listed: true, NominalDBFS: desk.DefaultNominalDBFS}
	first := map[string]int{} // recording of a file
	format := make([]sound.Format, 0, len(t.Lines))
	for _, l := range t.Lines {
		if at, ok := first[l.File]; ok {
			format[at].Channels++
			e.Recordings[at].Channels++
			continue
		}
		first[l.File] = len(e.Recordings)
		format = append(format, sound.Format{Container: "WAV", Bits: t.Bits, RateHz: t.RateHz, Channels: 1})
		e.Recordings = append(e.Recordings, model.Recording{Name: l.File, Channels: 1, RateHz: t.RateHz, Bits: t.Bits, Frames: int64(t.Frames),
			StartFrames: int64(t.Stamp().TimeReference), HasStart: true})
	}
	e.Passes = match.Passes(e.Recordings)
	results, err := match.Files(e.Recordings, e.Passes, e.Lines, nil)
	if err != nil {
		return err
	}
	of := map[[2]int]model.Match{}
	for _, r := range results {
		for _, m := range r.Matches {
			of[[2]int{m.Recording, m.Channel}] = m
		}
	}
	for i, l := range t.Lines {
		rec := first[l.File]
		m, ok := of[[2]int{rec, l.Channel}]
		if !ok || m.Line != i {
			return fmt.Errorf("%s is on line %d, and was taken for line %d", l.File, i+1, m.Line+1)
		}
		t.track = append(t.track, len(e.Tracks))
		e.Tracks = append(e.Tracks, judge.Track{Line: i, Match: m, Pass: 0, Recording: rec, Channel: l.Channel,
			Header: sound.Header{Format: format[rec], Frames: int64(t.Frames)}, M: measured(t.sound[i], t.Bits, t.RateHz)})
	}
	// The rules ask which lines are related; nothing was measured between them.
	for _, r := range model.Relations(e.Lines) {
		e.Pairs = append(e.Pairs, judge.Pair{Relation: r, A: t.track[r.A], B: t.track[r.B], On: t.track[r.On]})
	}
	t.known = e
	return nil
}

// measured runs the meters that rules about single lines ask, over the samples
// of a file of one channel: all but loudness and spectrum, which take half the
// time and tell of no fault here.
func measured(x []float32, bits, rateHz int) meter.Channel {
	level, peak, bit := meter.NewLevel(rateHz), meter.NewTruePeak(rateHz, meter.WindowedSinc), meter.NewBits()
	clip, hole := meter.NewClipping(rateHz, float32(1-math.Ldexp(1, 1-bits))), meter.NewDropout(rateHz)
	onset, click, hum := meter.NewOnset(rateHz), meter.NewClick(rateHz), meter.NewHum(rateHz, meter.MainsAuto)
	for part := range slices.Chunk(x, sound.BlockFrames) {
		level.Measure(part)
		peak.Measure(part)
		clip.Measure(part)
		hole.Measure(part)
		onset.Measure(part)
		click.Measure(part)
		hum.Measure(part)
		bit.Measure(part)
	}
	l := level.Reading()
	return meter.Channel{Level: l, Tidemark: meter.Tidemark(l), TruePeak: peak.Reading(), Clipping: clip.Reading(), Dropout: hole.Reading(),
		Onsets: onset.Reading(), Clicks: click.Reading(), Hum: hum.Reading(), Bits: bit.Reading()}
}

// judged are the findings about the take with other samples on one line.
func (t *Take) judged(line int, x []float32) []model.Finding {
	stage.Quantise(x, t.Bits)
	e := *t.known
	e.Tracks = slices.Clone(e.Tracks)
	e.Tracks[t.track[line]].M = measured(x, t.Bits, t.RateHz)
	return judge.Judge(&e)
}

// one picks a line that fits, or says that there is none.
func (t *Take) one(r *rand.Rand, fits func(stage.Line) bool) (int, bool) {
	var at []int
	for i, l := range t.Lines {
		if fits(l) {
			at = append(at, i)
		}
	}
	if len(at) == 0 {
		return 0, false
	}
	return at[r.IntN(len(at))], true
}

// folder is a folder of some of the lines, each in a file of its own, and the
// list of them; frames cuts them short, 0 leaves them whole. In it a partner's
// index counts for nothing.
func (t *Take) folder(frames int, lines ...int) *Folder {
	var rows []stage.Line
	for _, i := range lines {
		l := t.Lines[i]
		if t.shared(l) {
			l.File = fmt.Sprintf("%02d %s.wav", l.Number, l.Source)
		}
		l.Channel = 0
		rows = append(rows, l)
	}
	f := newFolder("take", rows)
	for k, i := range lines {
		key := [2]int{i, frames}
		if t.files[key] == nil {
			f.put(rows[k].File, t.sheet(), t.cut(i, frames))
			t.files[key] = f.bytes[rows[k].File]
		}
		f.putBytes(rows[k].File, t.files[key])
	}
	return f
}

// shared says whether a line's file holds another line too.
func (t *Take) shared(l stage.Line) bool {
	n := 0
	for _, o := range t.Lines {
		if o.File == l.File {
			n++
		}
	}
	return n > 1
}

func (t *Take) sheet() stage.Sheet {
	st := t.Stamp()
	return stage.Sheet{RateHz: t.RateHz, Bits: t.Bits, Stamp: &st}
}

// cut is the sound of a line, not to be written to, up to a number of frames.
func (t *Take) cut(line, frames int) []float32 {
	x := t.sound[line]
	if frames > 0 && frames < len(x) {
		return x[:frames]
	}
	return x
}

// named are the names of lines as findings have them.
func (t *Take) named(lines ...int) []string {
	var out []string
	for _, i := range lines {
		out = append(out, harm.Name(t.Lines[i]))
	}
	return out
}
