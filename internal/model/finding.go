package model

import "tidemark/internal/unit"

// Kind names what a finding is about; each has a file of its own in judge.
type Kind string

// The kinds of findings.
const (
	KindDead          Kind = "dead"
	KindNoisy         Kind = "noisy"
	KindHum           Kind = "hum"
	KindCrackle       Kind = "crackle"
	KindDropout       Kind = "dropout"
	KindClipped       Kind = "clipped"
	KindHot           Kind = "hot"
	KindLow           Kind = "low"
	KindDCOffset      Kind = "dc_offset"
	KindFlipped       Kind = "flipped"
	KindLate          Kind = "late"
	KindSwapped       Kind = "swapped"
	KindMonoLoss      Kind = "mono_loss"
	KindMissing       Kind = "missing"
	KindUnlisted      Kind = "unlisted"
	KindDoubtfulMatch Kind = "doubtful_match"
	KindDuplicate     Kind = "duplicate"
	KindShort         Kind = "short"
	KindWrongRate     Kind = "wrong_rate"
	KindWrongDepth    Kind = "wrong_depth"
	KindTruncated     Kind = "truncated"
	KindLateStart     Kind = "late_start"
)

// Weight is how much a finding matters now.
type Weight string

// The weights, heaviest first.
const (
	Stop   Weight = "stop"   // fix it before another take
	Listen Weight = "listen" // a person must judge
	Note   Weight = "note"   // worth knowing
)

// Rank orders weights: 0 is the heaviest.
func (w Weight) Rank() int {
	switch w {
	case Stop:
		return 0
	case Listen:
		return 1
	}
	return 2
}

// Finding is one thing the measurements say. Every finding carries the measure,
// its unit, the limit it was held to, where in the sound it is, one sentence of
// evidence and one of advice.
type Finding struct {
	ID          string              `json:"id"` // stable: the same sound and list give the same id
	Kind        Kind                `json:"kind"`
	Weight      Weight              `json:"weight"`
	Pass        string              `json:"pass,omitempty"`
	Lines       []string            `json:"lines"` // names of lines, "7 Snare bottom"
	Files       []string            `json:"files"`
	StartS      unit.Maybe[float64] `json:"start_s"` // seconds from the start of the pass; null where it has no place in time
	EndS        unit.Maybe[float64] `json:"end_s"`
	Value       unit.Maybe[float64] `json:"value"`
	Unit        string              `json:"unit"`
	Limit       unit.Maybe[float64] `json:"limit"`
	LimitSource string              `json:"limit_source"` // a publication, or "common practice"
	Count       int                 `json:"count"`        // similar events gathered into this finding
	Places      []Place             `json:"places"`       // the first of them
	Evidence    string              `json:"evidence"`
	Advice      string              `json:"advice"`
}

// Place is a stretch of a line's time, in seconds from the start of the pass.
type Place struct {
	Line   string  `json:"line"`
	StartS float64 `json:"start_s"`
	EndS   float64 `json:"end_s"`
}
