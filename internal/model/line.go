package model

import "strconv"

// Line is one path from a source to a track, as the input list has it. Fields
// hold what the sheet says, trimmed; an empty field was not given.
//
// A row that stands for a pair ("1/2 Overheads") becomes two lines, with Side
// Left and Right and each other's index in the list as Partner.
type Line struct {
	Number int // number on the list; 0 where the list gives none
	// ByOrder says that the list has no numbers at all and Number was counted
	// from the order of the rows: it names the line, and proves nothing.
	ByOrder bool
	Source  string // as typed, with " L" or " R" added where a row was split
	Typed   string // the source cell as typed
	Mic     string
	Stand, TieLine, Preamp, Gain, Phantom, Pad, Filter, Polarity, Insert,
	Desk, Return, Converter, Track, Space, Performer, Notes string

	Group   string // the group row above it ("DRUMS"), if any
	Family  Family // recognised from the source, Unknown where it was not
	Part    Part   // which of the family's microphones it is
	Index   int    // "Tom 2" → 2; 0 where there is no number
	Stem    string // the source without part, side and index, normalised: "snare", "gtr dave"
	Side    Side
	Partner int // index in the list of the other half of a row split in two; −1 without
	Row     int // row of the sheet, from 1
}

// Name is how a line is called on screens, sheets and in findings: "7 Snare bottom".
func (l Line) Name() string {
	if l.Number == 0 {
		return l.Source
	}
	return strconv.Itoa(l.Number) + " " + l.Source
}

// Side tells the halves of a stereo pair apart.
type Side string

// The sides of a pair.
const (
	NoSide Side = ""
	Left   Side = "left"
	Right  Side = "right"
)

// Part says where on its source a microphone listens, or how a line is fed.
type Part string

// The parts that the input list's words are read as.
const (
	NoPart  Part = ""
	In      Part = "in"     // inside the shell
	Out     Part = "out"    // in front of the hole
	Top     Part = "top"    // batter side
	Bottom  Part = "bottom" // wires, resonant head
	DI      Part = "di"     // direct
	Amp     Part = "amp"    // a microphone at the cabinet
	MidPart Part = "mid"    // of a mid-side pair
	SidePt  Part = "side"   // of a mid-side pair
	Close   Part = "close"
	Far     Part = "far"
	Sub     Part = "sub" // a large diaphragm for the lowest octave of a kick
)

// Family is the kind of source, as far as rules care.
type Family string

// The families of sources.
const (
	Unknown    Family = ""
	Kick       Family = "kick"
	Snare      Family = "snare"
	HiHat      Family = "hi-hat"
	Tom        Family = "tom"
	Cymbal     Family = "cymbal" // ride, crash, splash: one close microphone
	Overhead   Family = "overhead"
	Room       Family = "room"
	Percussion Family = "percussion"
	Bass       Family = "bass"
	Guitar     Family = "guitar"
	Acoustic   Family = "acoustic guitar"
	Piano      Family = "piano"
	Organ      Family = "organ"
	Accordion  Family = "accordion"
	Keys       Family = "keys" // electric and electronic keyboards
	Strings    Family = "strings"
	Winds      Family = "winds" // brass, reeds, flutes
	Voice      Family = "voice"
	Backing    Family = "backing voice"
	Talkback   Family = "talkback"
	Click      Family = "click"
	Playback   Family = "playback" // tracks, samples, a machine
)

// Kit says whether the family belongs to the drum kit, whose microphones all
// hear each other.
func (f Family) Kit() bool {
	switch f {
	case Kick, Snare, HiHat, Tom, Cymbal, Overhead:
		return true
	}
	return false
}
