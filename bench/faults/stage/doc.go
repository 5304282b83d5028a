// Package stage casts an invented band from recorded sound, lets it play an
// invented song and records it: every source reaches every microphone with its
// delay, level, colour and the room, and each line has its own noise and gain.
// What comes out is a folder as a recorder leaves it and the input list beside it.
//
// The mixer here is on purpose not the one that the program's own tests use, so
// that what was tuned there is judged on something else.
//
// Everything follows from a seed: the same seed and store give the same bytes.
package stage

// Line is one row of the input list with what the bench knows about it.
type Line struct {
	Number  int
	Source  string // as the list has it
	Mic     string
	Role    string // kick, snare, bass, voice …
	Feed    Feed
	File    string // name in the folder
	Channel int    // channel of that file
	Partner int    // index of the other line of a pair, −1 without
	Pair    string // "stereo", "room", "top bottom", "in out", "di amp" or ""
	Plays   bool   // its own source is heard in the take

	own       int // index of its source
	at        place
	noiseDBFS float64
	roomNoise float64
	humDBFS   float64 // 0: none
	peakDBFS  float64
	reverb    float64
	cut       float64 // Hz, low-pass of the line
	low       float64 // Hz, high-pass
	wires     float64 // share of rattle, for the lower head of a snare
	drive     float64 // soft saturation, for amplifiers
	signs     uint8
}

// Feed is how a line is fed.
type Feed string

// The feeds.
const (
	Air     Feed = "air"     // a microphone in the room
	Direct  Feed = "direct"  // a DI: no room, its own noise
	Digital Feed = "digital" // a machine: exact zeros where it is silent
)

type place struct{ x, y, z float64 }

// Session is one recorded take and its line check.
type Session struct {
	Seed    uint64
	Style   string
	RateHz  int
	Bits    int
	Frames  int
	Lines   []Line
	sources []source
	gains   []float64 // per line, found while rendering the take
	names   naming
}

// Seconds is the length of the take.
func (s *Session) Seconds() float64 { return float64(s.Frames) / float64(s.RateHz) }

// source is one thing that sounds, as heard at one metre, peak loud.
type source struct {
	name  string
	role  string
	at    place
	loud  float64
	space int // 0 the live room; others are booths
	x     []float32
}
