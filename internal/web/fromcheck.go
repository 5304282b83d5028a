package web

import (
	"fmt"
	"time"

	"tidemark/internal/desk"
	"tidemark/internal/unit"
)

// FromCheck is a check as the page needs it. at is the local time of the check.
func FromCheck(c desk.Check, at time.Time, version string) *Page {
	p := &Page{Folder: c.Folder, Version: version, CheckedAt: at, TookS: c.TookS, NominalDBFS: unit.Some(c.NominalDBFS), Findings: c.Findings}
	p.LineCount, p.MusicS = c.Heard()
	switch c.Mains {
	case "50":
		p.MainsHz = unit.Some(50.0)
	case "60":
		p.MainsHz = unit.Some(60.0)
	}
	read := map[string]bool{}
	for _, l := range c.Lines {
		read[l.File] = true
		p.Lines = append(p.Lines, pageLine(l))
		if l.Name != "" && !l.Certain {
			p.Doubtful = append(p.Doubtful, Doubtful{File: l.File, Line: l.Name, By: l.MatchedBy, RunnerUp: l.RunnerUp})
		}
	}
	p.Files = Files{Sound: len(read) + len(c.Refused), Read: len(read)}
	for _, r := range c.Refused {
		p.Files.Refused = append(p.Files.Refused, Refused{Name: r.File, Reason: r.Reason})
	}
	for _, s := range c.Passes {
		p.Passes = append(p.Passes, Pass{Name: s.Name, StartS: s.StartS, DurationS: s.DurationS, Files: len(s.Files)})
	}
	for _, r := range c.Pairs {
		p.Pairs = append(p.Pairs, pagePair(r))
	}
	if c.List != nil {
		p.List = List{File: c.List.File, Sheet: c.List.Sheet, Rows: c.List.Lines}
		for _, col := range c.List.Columns {
			p.List.Columns = append(p.List.Columns, Column{Heading: col.Heading, Means: col.Means})
		}
		for _, pr := range c.List.Problems {
			p.List.Problems = append(p.List.Problems, fmt.Sprintf("row %d, column %s: %s", pr.Row, pr.Column, pr.Text))
		}
	}
	if r := c.LineCheck; r != nil {
		p.LineCheck = LineCheck{Folder: r.Folder, Form: r.Form, Why: r.Why}
		for _, t := range r.Sources {
			p.LineCheck.Turns = append(p.LineCheck.Turns, Turn{Sounded: t.Named, Heard: t.Heard, StartS: t.StartS})
		}
	}
	return p
}

func pageLine(l desk.LineReport) Line {
	n := l.Levels
	out := Line{Number: l.Number, Source: l.Source, Mic: l.Mic, File: l.File, Channel: l.Channel, Pass: l.Pass, OffsetS: l.OffsetS, HopS: 0.1,
		Format: Format{RateHz: l.Format.RateHz, Bits: l.Format.Bits, Float: l.Format.Encoding == "float", Channels: l.Format.Channels,
			DurationS: l.Format.DurationS, TimeReferenceS: l.Format.TimeReferenceS},
		Levels: Levels{PeakDBFS: n.PeakDBFS, TruePeakDBTP: n.TruePeakDBTP, RMSDBFS: n.RMSDBFS, CrestDB: n.CrestDB, LoudnessLUFS: n.LoudnessLUFS,
			LoudnessRangeLU: n.LoudnessRangeLU, FloorDBFS: n.FloorDBFS, UsualLowDBFS: n.UsualLowDBFS, UsualHighDBFS: n.UsualHighDBFS,
			HighestDBFS: n.HighestDBFS, HeadroomDB: n.HeadroomDB, DC: n.DC}}
	if out.Source == "" { // on no list: called by its file
		out.Source = l.File
		if l.Format.Channels > 1 {
			out.Source = fmt.Sprintf("%s channel %d", l.File, l.Channel)
		}
	}
	out.Envelope = make([]Hop, len(l.Envelope))
	for i, m := range l.Envelope {
		out.Envelope[i] = Hop{Peak: m.Peak, RMS: m.RMS}
	}
	return out
}

func pagePair(r desk.PairReport) Pair {
	p := Pair{A: r.A, B: r.B, On: r.On, Pass: r.Pass, Relation: r.Relation, DelayMS: r.DelayMS, DelaySamples: r.DelaySamples,
		DistanceCM: r.DistanceCM, DistanceIn: r.DistanceIn, Coherence: r.Coherence, Correlation: r.Correlation, MonoLossDB: r.MonoLossDB}
	if r.Polarity != "unclear" {
		p.Polarity = r.Polarity
	}
	for _, b := range r.MonoLossBands {
		if v, ok := b.Value.Get(); ok {
			p.LossBands = append(p.LossBands, Band{CenterHz: b.CenterHz, DB: v})
		}
	}
	return p
}
