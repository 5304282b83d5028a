// Package web draws the result of a check as one page for a browser on the
// same machine: what to stop for, the tidemarks of all lines side by side, the
// time bars with the findings in place, the pairs with their arrival times, and
// the numbers beside every picture.
//
// The way of a result: the caller fills a Page (plain data, this file) and
// hands it to a Board; Handler serves what the Board holds. While the check is
// running the Board holds the progress of each file, and an open page follows
// it and swaps to the result by itself.
//
// Everything is rendered here and embedded: templates, one style sheet, one
// small script. The page works without the script (filters are links, the theme
// is a form); nothing is fetched from elsewhere, and the policy sent with every
// answer forbids it.
//
// Start reading at Handler.
package web

import (
	"strconv"
	"time"

	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// Page is the whole result of one check, as the page needs it. Levels are in
// the units their names say; what was not measured is undefined.
type Page struct {
	Folder    string    // what was checked, as the person named it
	Job       string    // name of the job, empty without one
	Version   string    // of the program
	CheckedAt time.Time // local time of the check; zero leaves it out
	TookS     float64
	LineCount int     // lines with sound, each once; 0 counts Lines
	MusicS    float64 // of all passes together; 0 adds up Passes
	// Verdict is the sentence at the top; empty lets the page compose it from
	// the findings, lines and passes (see Sentence).
	Verdict     string
	NominalDBFS unit.Maybe[float64] // average level aimed at
	MainsHz     unit.Maybe[float64] // 50 or 60, as assumed or heard
	Files       Files
	Passes      []Pass
	Lines       []Line
	Pairs       []Pair
	Findings    []model.Finding // shown heaviest first; order is kept inside a weight
	List        List
	LineCheck   LineCheck
	Doubtful    []Doubtful
}

// Files counts what was found in the folder.
type Files struct {
	Sound   int // sound files found
	Read    int // of these, read to the end
	Other   int // files that are no sound files, left alone
	Refused []Refused
}

// Refused is a file that could not be read, and why.
type Refused struct {
	Name   string
	Reason string
}

// Pass is one run of the recorder.
type Pass struct {
	Name      string
	StartS    unit.Maybe[float64] // seconds since midnight
	DurationS float64
	Files     int
}

// Line is one line of the list as recorded in one pass. A line that has no file
// has an empty File and no envelope.
type Line struct {
	Number   int // 0 where the list gives none
	Source   string
	Mic      string
	File     string
	Channel  int // from 1; 0 or 1 of a mono file is not shown
	Pass     string
	OffsetS  float64 // start of the file after the start of the pass
	Format   Format
	Levels   Levels
	HopS     float64 // length of a hop of the envelope; 0 means 0.1 s
	Envelope []Hop
}

// Name is how a line is called, the same as model.Line.Name: "7 Snare bottom".
func (l Line) Name() string {
	if l.Number == 0 {
		return l.Source
	}
	return strconv.Itoa(l.Number) + " " + l.Source // also with an empty source, as findings name it
}

func (l Line) hopS() float64 {
	if l.HopS > 0 {
		return l.HopS
	}
	return 0.1
}

// Hop is one step of the envelope, linear re full scale, 0 to 1.
type Hop struct {
	Peak, RMS float32
}

// Format is what the header of the line's file says.
type Format struct {
	RateHz         int
	Bits           int
	Float          bool
	Channels       int
	DurationS      float64
	TimeReferenceS unit.Maybe[float64]
}

// Levels are the line's readings over its file.
type Levels struct {
	PeakDBFS        unit.Maybe[float64]
	TruePeakDBTP    unit.Maybe[float64]
	RMSDBFS         unit.Maybe[float64] // AES17: a full-scale sine reads 0
	CrestDB         unit.Maybe[float64]
	LoudnessLUFS    unit.Maybe[float64]
	LoudnessRangeLU unit.Maybe[float64]
	FloorDBFS       unit.Maybe[float64] // the tidemark: floor, usual range, highest mark
	UsualLowDBFS    unit.Maybe[float64]
	UsualHighDBFS   unit.Maybe[float64]
	HighestDBFS     unit.Maybe[float64]
	HeadroomDB      unit.Maybe[float64]
	DC              unit.Maybe[float64] // mean sample, re full scale
}

// Pair is what was measured between two lines that hear the same source. The
// delay is positive where B hears it later than A.
type Pair struct {
	A, B         string // names of lines
	On           string // line on whose hits the pair was measured
	Pass         string
	Relation     string // model.RelationKind
	DelayMS      unit.Maybe[float64]
	DelaySamples unit.Maybe[float64]
	DistanceCM   unit.Maybe[float64]
	DistanceIn   unit.Maybe[float64]
	Polarity     string // "same", "opposite", or empty where not sure
	Coherence    unit.Maybe[float64]
	Correlation  unit.Maybe[float64]
	MonoLossDB   unit.Maybe[float64] // power of (A+B)/2 re the mean of both: negative is a loss
	LossBands    []Band
	Judgement    string // empty lets the page take it from the findings
}

// Band is a value in a band of frequencies.
type Band struct {
	CenterHz float64
	DB       float64
}

// List is what was understood of the input list.
type List struct {
	File       string // empty: no list was given
	Sheet      string
	Columns    []Column
	Rows       int      // lines understood
	Skipped    int      // rows taken for titles, groups, blanks, totals
	Understood string   // one sentence, where the reader of the list gives one
	Problems   []string // one sentence each
}

// Column is a column of the list and what it was taken for.
type Column struct {
	Heading string
	Means   string // empty: not used
}

// LineCheck is what was heard in the line-check recording.
type LineCheck struct {
	Folder string // empty: there was none
	Form   string // "one pass", "one folder a source"
	Why    string // why nothing could be told from it; empty where something was
	Turns  []Turn
}

// Turn is one source sounding by itself.
type Turn struct {
	Sounded string              // the source whose turn it was; empty where not known
	Heard   string              // the line that answered
	StartS  unit.Maybe[float64] // in the recording
}

// When is the turn's place in the recording, "0:13.4"; empty where it has none.
func (t Turn) When() string {
	s, ok := t.StartS.Get()
	if !ok {
		return ""
	}
	return clock(s)
}

// Doubtful is a file whose line is not certain.
type Doubtful struct {
	File     string
	Line     string // the line it was taken for, empty when none
	By       string // what spoke for it
	RunnerUp string // the next best line, empty when none
}
