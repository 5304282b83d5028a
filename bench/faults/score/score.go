// Package score holds what a check said against what was really done, and adds
// up hits, misses and false alarms.
//
// A wound is hit when a finding of its kind names the right line and, where the
// fault has a place in time, points within half a second of it. A severe wound
// must be hit with the weight stop. In a sound folder every finding is a false
// alarm of its weight, and only stops and listens are held against the judge.
package score

import (
	"math"
	"slices"

	"tidemark/bench/faults/harm"
	"tidemark/internal/model"
)

// NearS is how close in time a finding must point.
const NearS = 0.5

// Verdict is how one wound fared.
type Verdict struct {
	Wound  harm.Wound   `json:"wound"`
	Line   bool         `json:"right_line"` // a finding of the kind names the line
	Time   bool         `json:"right_time"` // and points at the place
	Weight model.Weight `json:"weight"`     // heaviest of those that are right; empty for a miss
	Said   []string     `json:"said"`       // what findings on the line said
}

// Hit says whether the wound was found where it is.
func (v Verdict) Hit() bool { return v.Line && v.Time }

// Judge holds findings against a wound.
func Judge(w harm.Wound, findings []model.Finding) Verdict {
	v := Verdict{Wound: w}
	for _, f := range findings {
		if !names(w, f) {
			continue
		}
		v.Said = append(v.Said, string(f.Weight)+" "+string(f.Kind)+": "+f.Evidence)
		if f.Kind != w.Kind && !slices.Contains(w.Accept, f.Kind) {
			continue
		}
		if w.All && !namesAll(w, f) {
			continue
		}
		v.Line = true
		if w.Timed && !near(w.Starts, f) {
			continue
		}
		v.Time = true
		if v.Weight == "" || f.Weight.Rank() < v.Weight.Rank() {
			v.Weight = f.Weight
		}
	}
	return v
}

// aboutFiles are the kinds that are true of a whole file: where two lines share
// one, naming either is right.
var aboutFiles = []model.Kind{model.KindLateStart, model.KindShort, model.KindTruncated, model.KindWrongRate, model.KindWrongDepth}

func names(w harm.Wound, f model.Finding) bool {
	if len(w.Lines) == 0 || f.Kind == w.Kind && slices.Contains(aboutFiles, w.Kind) {
		return slices.ContainsFunc(f.Files, func(n string) bool { return slices.Contains(w.Files, n) })
	}
	if len(f.Lines) == 0 { // a finding about a file
		return slices.ContainsFunc(f.Files, func(n string) bool { return slices.Contains(w.Files, n) })
	}
	return slices.ContainsFunc(f.Lines, func(n string) bool { return slices.Contains(w.Lines, n) })
}

func namesAll(w harm.Wound, f model.Finding) bool {
	for _, n := range w.Lines {
		if !slices.Contains(f.Lines, n) {
			return false
		}
	}
	return true
}

// near says whether the finding's start or one of its places lies close to one
// of the true places.
func near(starts []float64, f model.Finding) bool {
	said := []float64{}
	if s, ok := f.StartS.Get(); ok {
		said = append(said, s)
	}
	for _, p := range f.Places {
		said = append(said, p.StartS)
	}
	for _, s := range said {
		for _, t := range starts {
			if math.Abs(s-t) <= NearS {
				return true
			}
		}
	}
	return false
}

// Strays are stop findings on lines that no wound touched and that the sound
// folder did not have either.
func Strays(findings []model.Finding, wounds []harm.Wound, clean []model.Finding) []model.Finding {
	var out []model.Finding
	for _, f := range findings {
		if f.Weight != model.Stop {
			continue
		}
		own := slices.ContainsFunc(wounds, func(w harm.Wound) bool { return names(w, f) })
		old := slices.ContainsFunc(clean, func(c model.Finding) bool {
			return c.Kind == f.Kind && c.Weight == f.Weight && slices.Equal(c.Lines, f.Lines)
		})
		if !own && !old {
			out = append(out, f)
		}
	}
	return out
}
