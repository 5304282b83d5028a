package desk

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"sort"
	"sync"
	"sync/atomic"
	"time"

	"tidemark/internal/inputlist"
	"tidemark/internal/judge"
	"tidemark/internal/match"
	"tidemark/internal/meter"
	"tidemark/internal/model"
	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

// CheckRequest is one take check: what the recorder wrote against the list.
type CheckRequest struct {
	Recordings Library
	List       *Document // nil: the lines are taken from the names of the files
	Alone      Library   // the line-check recording, nil without
	Columns    map[string]string
	Overrides  []string // "FILE=LINE"
	Nominal    float64  // dBFS; 0 stands for DefaultNominalDBFS
	Mains      meter.Mains
	Workers    int            // files read side by side; 0 stands for one a processor
	Progress   func(Progress) // called from several goroutines in turn, never at once; may be nil
}

// DefaultNominalDBFS is the alignment level of EBU R 68.
const DefaultNominalDBFS = -18

// CheckPass reads every recording of the folder once, matches channels to
// lines, measures them alone and between each other, and judges what it found.
//
// It fails when there is nothing to check or no recording can be read at all;
// files that are damaged, and some that cannot be read, become findings instead.
func CheckPass(ctx context.Context, req CheckRequest) (Check, error) {
	began := time.Now()
	files, err := req.Recordings.Files()
	if err != nil {
		return Check{}, err
	}
	nominal := req.Nominal
	if nominal == 0 {
		nominal = DefaultNominalDBFS
	}

	c := Check{Refused: []Refused{}, Schema: CheckSchema, Folder: req.Recordings.Folder(), NominalDBFS: nominal, Mains: req.Mains.String()}
	opt := meter.Options{Mains: req.Mains, Sampled: true}
	c.TruePeakBy, c.SpectrumBy = opt.Interpolator.Describe(), opt.DescribeSpectrum()
	e := &judge.Evidence{NominalDBFS: nominal}
	if req.List != nil {
		sheet, err := inputlist.Read(req.List.Name, req.List, req.List.Size, inputlist.Options{Columns: req.Columns})
		if err != nil {
			return Check{}, err // it names the list
		}
		e.Lines, e.Listed = sheet.Lines, true
		c.List = listReport(req.List.Name, sheet)
	}

	tell := newTeller(files, req.Progress)
	measured, refused, err := measureAll(ctx, req.Recordings, files, opt, req.Workers, tell)
	if err != nil {
		return Check{}, err
	}
	c.Refused = append(c.Refused, refused...)
	for _, r := range refused {
		e.Refused = append(e.Refused, judge.Refused{File: r.File, Reason: r.Reason})
	}
	if err := place(e, measured, req.Overrides); err != nil {
		return Check{}, err
	}

	tell.stage("comparing lines")
	if err := comparePairs(ctx, req.Recordings, e); err != nil {
		return Check{}, err
	}
	if err := findTwins(ctx, req.Recordings, e); err != nil {
		return Check{}, err
	}
	if req.Alone != nil {
		tell.stage("line check")
		if c.LineCheck, err = lineCheck(ctx, req.Alone, e); err != nil {
			return Check{}, err
		}
	}
	if err := findSwaps(ctx, req.Recordings, e); err != nil {
		return Check{}, err
	}

	report(&c, e, measured)
	c.Findings = judge.Judge(e)
	if c.Findings == nil {
		c.Findings = []model.Finding{}
	}
	c.TookS = time.Since(began).Seconds()
	return c, nil
}

// Refused is a file that could not be read as sound, and why.
type Refused struct {
	File   string `json:"file"`
	Reason string `json:"reason"`
}

// measureAll measures the files side by side, the largest first so that no
// worker is left alone with it at the end. Files that cannot be read are
// refused, each with its reason; it is an error only when none can be read.
func measureAll(ctx context.Context, lib Library, files []File, opt meter.Options, workers int, tell *teller) ([]Measured, []Refused, error) {
	if len(files) == 0 {
		return nil, nil, fmt.Errorf("%s holds no sound files; give the folder that the recorder wrote to", lib.Folder())
	}
	order := make([]int, len(files))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return files[order[a]].Size > files[order[b]].Size })
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	all, errs := make([]Measured, len(files)), make([]error, len(files))
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(workers, len(files)) {
		wg.Go(func() {
			for ctx.Err() == nil {
				k := int(next.Add(1)) - 1
				if k >= len(order) {
					return
				}
				i := order[k]
				all[i], errs[i] = Measure(ctx, lib, files[i], opt, func(done float64) { tell.file(i, done) })
			}
		})
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return nil, nil, err
	}
	var measured []Measured
	var refused []Refused
	for i, err := range errs {
		if err != nil {
			refused = append(refused, Refused{files[i].Name, err.Error()})
		} else {
			measured = append(measured, all[i])
		}
	}
	if len(measured) == 0 {
		return nil, nil, errors.Join(errs...)
	}
	return measured, refused, nil
}

// teller gathers progress from the workers.
type teller struct {
	mu    sync.Mutex
	to    func(Progress)
	files []File
	done  []float64
	total int64
}

func newTeller(files []File, to func(Progress)) *teller {
	t := &teller{to: to, files: files, done: make([]float64, len(files))}
	for _, f := range files {
		t.total += f.Size
	}
	return t
}

func (t *teller) file(i int, done float64) {
	if t.to == nil {
		return
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.done[i] = done
	t.to(Progress{File: t.files[i].Name, Done: done, BytesDone: t.bytes(), BytesTotal: t.total, Stage: "reading"})
}

func (t *teller) stage(name string) {
	if t.to == nil {
		return
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	t.to(Progress{BytesDone: t.total, BytesTotal: t.total, Stage: name})
}

func (t *teller) bytes() int64 {
	var n float64
	for i, d := range t.done {
		n += d * float64(t.files[i].Size)
	}
	return int64(n)
}

// place groups the recordings into passes and gives their channels to lines.
func place(e *judge.Evidence, measured []Measured, overrides []string) error {
	for _, m := range measured {
		e.Recordings = append(e.Recordings, recording(m))
	}
	e.Passes = match.Passes(e.Recordings)
	var results []match.Result
	if e.Listed {
		words, err := match.ParseOverrides(overrides)
		if err != nil {
			return err
		}
		if results, err = match.Files(e.Recordings, e.Passes, e.Lines, words); err != nil {
			return err
		}
		if !anyLine(results) {
			return fmt.Errorf("no file matches a line of the list: the files are called like %q, the lines like %q; see whether this is the list of this session, or settle matches with --match",
				e.Recordings[0].Name, e.Lines[0].Name())
		}
	} else {
		if len(overrides) > 0 {
			return fmt.Errorf("--match %q gives a file to a line, and there is no list of lines; name one with --lines", overrides[0])
		}
		e.Lines, results = match.Named(e.Recordings, e.Passes)
	}
	type channel struct{ recording, channel int }
	of := map[channel]model.Match{}
	for _, r := range results {
		for _, m := range r.Matches {
			of[channel{m.Recording, m.Channel}] = m
		}
	}
	for p, pass := range e.Passes {
		for _, member := range pass.Members {
			m := &measured[member.Recording]
			for ch := range m.Readings.Channels {
				t := judge.Track{Line: -1, Pass: p, Recording: member.Recording, Channel: ch, OffsetS: member.OffsetS,
					Punch: member.Punch, Header: m.Header, Damage: m.Damage, M: m.Readings.Channels[ch]}
				if found, ok := of[channel{member.Recording, ch}]; ok {
					t.Line, t.Match = found.Line, found
				}
				if t.Copy = member.Copy; t.Copy {
					t.Line = -1
				}
				e.Tracks = append(e.Tracks, t)
			}
		}
	}
	return nil
}

func anyLine(results []match.Result) bool {
	for _, r := range results {
		for _, m := range r.Matches {
			if m.Line >= 0 {
				return true
			}
		}
	}
	return false
}

// recording is what the plan needs to know of a measured file.
func recording(m Measured) model.Recording {
	h := m.Header
	r := model.Recording{Name: m.File.Name, Channels: h.Format.Channels, RateHz: h.Format.RateHz, Bits: h.Format.Bits,
		Float: h.Format.Encoding == sound.Float, ChannelNames: h.ChannelNames, Frames: m.Readings.Frames, ModifiedS: m.File.ModTime.Unix()}
	if b := h.Broadcast; b != nil {
		r.StartFrames, r.HasStart = int64(b.TimeReference), b.TimeReference != 0
		if t, err := time.Parse("2006-01-02 15:04:05", b.OriginationDate+" "+b.OriginationTime); err == nil {
			r.OriginS = t.Unix()
		}
	}
	return r
}

func listReport(name string, s inputlist.Sheet) *ListReport {
	r := &ListReport{File: name, Sheet: s.SheetName, Lines: len(s.Lines), Understood: s.Understood(), Columns: []ListColumn{}, Problems: []ListProblem{}}
	for _, c := range s.Columns {
		r.Columns = append(r.Columns, ListColumn{Letter: c.Letter, Heading: c.Header, Means: c.Field})
	}
	for _, p := range s.Problems {
		r.Problems = append(r.Problems, ListProblem{Row: p.Row, Column: p.Column, Text: p.Text})
	}
	return r
}

// report writes what the evidence holds, in the order of the list.
func report(c *Check, e *judge.Evidence, measured []Measured) {
	c.Passes, c.Lines, c.Pairs = []PassReport{}, []LineReport{}, []PairReport{}
	for _, p := range e.Passes {
		r := PassReport{Name: p.Name, Files: []string{}}
		if p.Timed {
			r.StartS = rounded(unit.Some(p.StartS))
		}
		for _, m := range p.Members {
			rec := e.Recordings[m.Recording]
			r.Files = append(r.Files, rec.Name)
			r.DurationS = max(r.DurationS, round(m.OffsetS+rec.DurationS()))
		}
		c.Passes = append(c.Passes, r)
	}
	order := make([]int, 0, len(e.Tracks))
	for i := range e.Tracks {
		order = append(order, i)
	}
	sort.SliceStable(order, func(a, b int) bool {
		x, y := &e.Tracks[order[a]], &e.Tracks[order[b]]
		if x.Pass != y.Pass {
			return x.Pass < y.Pass
		}
		if (x.Line < 0) != (y.Line < 0) {
			return y.Line < 0
		}
		return x.Line < y.Line
	})
	for _, i := range order {
		t := &e.Tracks[i]
		l := LineReport{File: e.Recordings[t.Recording].Name, Channel: t.Channel + 1, Pass: e.Passes[t.Pass].Name, OffsetS: round(t.OffsetS),
			Format: formatReport(t.Header, t.M.Level.Frames, t.M.Bits.Used), Levels: levelsReport(t.M, t.Header.Format.RateHz),
			ThirdOctave: bands(t.M.Spectrum), Envelope: envelope(t.M.Level.Hops)}
		if t.Line >= 0 {
			ln := e.Lines[t.Line]
			l.Number, l.Source, l.Name, l.Mic = ln.Number, ln.Source, ln.Name(), ln.Mic
			l.MatchedBy, l.Certain = t.Match.By, t.Match.Certain
			if r := t.Match.RunnerUp; r >= 0 && !t.Match.Certain {
				l.RunnerUp = e.Lines[r].Name()
			}
		}
		c.Lines = append(c.Lines, l)
	}
	for _, p := range e.Pairs {
		c.Pairs = append(c.Pairs, pairReport(e, p))
	}
}
