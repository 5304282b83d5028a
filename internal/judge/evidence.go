package judge

import (
	"fmt"
	"math"
	"strings"

	"tidemark/internal/between"
	"tidemark/internal/meter"
	"tidemark/internal/model"
	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

// Evidence is all that the rules look at: the plan, and what was measured.
type Evidence struct {
	Lines      []model.Line
	Recordings []model.Recording
	Passes     []model.Pass
	Tracks     []Track
	Pairs      []Pair
	Twins      []Twin
	Swaps      []Swap
	Refused    []Refused
	// Listed says whether Lines came from an input list, and not from the names
	// of the files: without a list nothing can be missing or unlisted.
	Listed      bool
	NominalDBFS float64
}

// Refused is a file that could not be read as sound at all.
type Refused struct{ File, Reason string }

// Track is one channel of a recording, in its pass, as the line it was matched to.
type Track struct {
	Line      int // index into Lines; −1 when no line claims it
	Match     model.Match
	Pass      int // index into Passes
	Recording int
	Channel   int
	OffsetS   float64 // start of the recording after the start of its pass
	Punch     bool
	Copy      bool // a copy or bounce of another recording of the pass
	Header    sound.Header
	Damage    []sound.Damage // all that reading found
	M         meter.Channel
}

// Pair is what was measured between two tracks of one pass.
type Pair struct {
	Relation model.Relation
	A, B, On int // indexes into Tracks
	Reading  between.PairReading
}

// Twin is two tracks with the same sound.
type Twin struct {
	A, B      int // indexes into Tracks
	Identical bool
	GainDB    float64 // of B over A where they are the same but for gain
	Flipped   bool    // B is A turned over
}

// Swap is a ring of lines that carry each other's sound.
type Swap struct {
	Ring    []int // indexes into Lines: Ring[i] carries the sound of Ring[i+1], the last that of the first
	Open    bool  // the ring does not close: the last of Ring only lends its source, and what it carries itself is not known
	Certain bool
	Margin  float64 // by how much the other source fits better than its own
	Unit    string  // of Margin
	By      string  // "line check" or "sound in the take"
	Pass    int     // −1 when it is about the line check alone
	StartS  unit.Maybe[float64]
	Text    string // what was heard, one clause
}

// At is the time of a frame of the track, in seconds from the start of its pass.
func (t *Track) At(frame int64) float64 {
	return t.OffsetS + float64(frame)/float64(t.Header.Format.RateHz)
}

// DurationS is the length of the track's recording in seconds.
func (t *Track) DurationS() float64 {
	return float64(t.M.Level.Frames) / float64(t.Header.Format.RateHz)
}

// HopS is the length of a hop of the level meter in seconds.
func (t *Track) HopS() float64 {
	if t.M.Level.HopFrames == 0 {
		return 0.1
	}
	return float64(t.M.Level.HopFrames) / float64(t.Header.Format.RateHz)
}

// name is what the track is called in findings: its line, or its file.
func (e *Evidence) name(t *Track) string {
	if t.Line >= 0 {
		return e.Lines[t.Line].Name()
	}
	r := e.Recordings[t.Recording]
	if r.Channels > 1 {
		return fmt.Sprintf("%s channel %d", r.Name, t.Channel+1)
	}
	return r.Name
}

func (e *Evidence) line(t *Track) model.Line {
	if t.Line >= 0 {
		return e.Lines[t.Line]
	}
	return model.Line{Partner: -1}
}

// finding begins a finding about a track; the weight falls to listen where the
// match is doubtful, since nobody should stop a band for the wrong line.
func (e *Evidence) finding(kind model.Kind, w model.Weight, t *Track) model.Finding {
	if w == model.Stop && t.Line >= 0 && !t.Match.Certain {
		w = model.Listen
	}
	pass := ""
	if t.Pass >= 0 && t.Pass < len(e.Passes) {
		pass = e.Passes[t.Pass].Name
	}
	name := e.name(t)
	return model.Finding{
		ID:   strings.Join([]string{string(kind), pass, name}, "/"),
		Kind: kind, Weight: w, Pass: pass,
		Lines: []string{name}, Files: []string{e.Recordings[t.Recording].Name},
		Count: 1,
	}
}

// findingOfTwo begins a finding about two tracks, the first the one that it is
// about, from the start of the first to its end.
func (e *Evidence) findingOfTwo(kind model.Kind, w model.Weight, a, b *Track) model.Finding {
	f := e.finding(kind, w, a)
	f.ID += "/" + e.name(b)
	f.Lines = append(f.Lines, e.name(b))
	f.Files = appendNew(f.Files, e.Recordings[b.Recording].Name)
	at(&f, a.OffsetS, a.OffsetS+a.DurationS())
	return f
}

func appendNew(list []string, s string) []string {
	for _, x := range list {
		if x == s {
			return list
		}
	}
	return append(list, s)
}

// at gives a finding its place in time.
func at(f *model.Finding, startS, endS float64) {
	f.StartS, f.EndS = unit.Some(round3(startS)), unit.Some(round3(endS))
	f.Places = []model.Place{{Line: f.Lines[0], StartS: round3(startS), EndS: round3(endS)}}
}

// runs gives a finding the places of gathered events.
func runs(f *model.Finding, t *Track, ev meter.Events) {
	if len(ev.Kept) == 0 {
		return
	}
	f.Count = ev.Count
	for _, r := range ev.Kept {
		addPlace(f, t.At(r.Frame), t.At(r.Frame+r.Frames))
	}
	f.StartS = unit.Some(round3(t.At(ev.Kept[0].Frame)))
	f.EndS = unit.Some(round3(t.At(ev.Last.Frame + ev.Last.Frames)))
}

// onePlaceS is how close events follow each other to be one place: a clipped
// word has many flat tops, and a person looks for the word.
const onePlaceS = 0.25

// addPlace adds an event to a finding's places, in order of time: to the last
// place where it follows closely, or as a new one while there is room.
func addPlace(f *model.Finding, startS, endS float64) {
	startS, endS = round3(startS), round3(endS)
	if n := len(f.Places); n > 0 && startS-f.Places[n-1].EndS < onePlaceS {
		f.Places[n-1].EndS = max(f.Places[n-1].EndS, endS)
		return
	}
	if len(f.Places) < maxPlaces {
		f.Places = append(f.Places, model.Place{Line: f.Lines[0], StartS: startS, EndS: endS})
	}
}

// maxPlaces is how many places a finding lists.
const maxPlaces = 24

// measured sets value, unit and limit.
func measured(f *model.Finding, value float64, l Limit) {
	f.Value, f.Unit = unit.Some(round3(value)), l.Unit
	f.Limit, f.LimitSource = unit.Some(l.Value), l.Source
}

func round3(x float64) float64 { return math.Round(x*1000) / 1000 }

// clock writes seconds as m:ss.s, the way a take is talked about.
func clock(s float64) string {
	sign := ""
	if s < 0 {
		sign, s = "-", -s
	}
	t := int64(math.Round(s * 10))
	return fmt.Sprintf("%s%d:%02d.%d", sign, t/600, t/10%60, t%10)
}

// count writes "1 place", "3 places".
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// hopDB is a hop's RMS level, AES17, with digital zero as −200 so that it compares.
func hopDB(h meter.Hop) float64 {
	if h.MeanSquare <= 0 {
		return -200
	}
	return 10*math.Log10(float64(h.MeanSquare)) + unit.SineOffsetDB
}

// MayBeSilent says whether the line may well be silent in a take without anything
// being wrong: nobody talked back, no click was sent, no machine ran.
func MayBeSilent(f model.Family) bool {
	switch f {
	case model.Talkback, model.Click, model.Playback:
		return true
	}
	return false
}

// electric says whether the line hears no air, so that silence between its
// notes is true silence: direct lines and electronic keyboards.
func electric(l model.Line) bool {
	if l.Part == model.DI || MayBeSilent(l.Family) || l.Family == model.Keys {
		return true
	}
	mic := strings.ToLower(l.Mic)
	return mic == "di" || strings.HasPrefix(mic, "di ") || strings.Contains(mic, " di") || mic == "line"
}

// fileKey is how a person names a track to --match: its file, and the channel of
// a file that has several.
func (e *Evidence) fileKey(t *Track) string {
	r := e.Recordings[t.Recording]
	if r.Channels > 1 {
		return fmt.Sprintf("%s:%d", r.Name, t.Channel+1)
	}
	return r.Name
}

// lineKey is how a person names a line to --match: its number, or its source.
func lineKey(l model.Line) string {
	if l.Number > 0 {
		return fmt.Sprint(l.Number)
	}
	return l.Source
}
