package band

import (
	"fmt"
	"math"
)

// Options say which session is wanted. The zero value is the demo's: the song
// as it is written, whole, clean.
type Options struct {
	// Seed is the performance: 0 is the demo's, others change tempo, slips,
	// fills, hits, and move microphones by a centimetre or two.
	Seed      uint64
	Faults    bool    // put the six faults in
	RateHz    int     // 0: 48000
	DurationS float64 // 0: 75; less cuts the song, more adds room tone
	// LineCheck plays the sources one after another instead of the song.
	LineCheck bool
}

// DefaultDurationS is the length of the whole song with its pauses.
const DefaultDurationS = 75

// Session is a scene with what a check should find in it.
type Session struct {
	Scene Scene
	// Patch says which line's sound lies at a line's input: Patch[i] = i where
	// nobody crossed anything. Scene.Mics are already in the order of the
	// inputs: Mics[i] is what is recorded as line i.
	Patch  []int
	Faults []Fault
	// Solos is set for a line check: when each source sounds.
	Solos []Solo
	Lines []LineInfo
}

// Solo is a source's turn in a line check.
type Solo struct {
	Source       string
	Lines        []int // the lines that are for it
	StartS, EndS float64
}

// NewSession builds a session. It refuses rates and lengths it cannot make.
func NewSession(o Options) (*Session, error) {
	if o.RateHz == 0 {
		o.RateHz = 48000
	}
	if o.RateHz < 32000 || o.RateHz > 192000 {
		return nil, fmt.Errorf("rate of %d Hz asked of the band, it plays at 32000 to 192000", o.RateHz)
	}
	p := newParts(o.Seed, o.RateHz)
	s := &Session{Lines: studioLines()}
	shout := 1.0
	if o.Faults {
		shout = shoutFactor
	}
	length := float64(DefaultDurationS)
	var played *song
	if o.LineCheck {
		s.Solos, length = lineCheck(p, o.Seed)
	} else {
		bpm := 0.0
		if o.Seed == 0 {
			bpm = 112
		}
		played = newSong(p, o.Seed, bpm, shout)
	}
	if o.DurationS != 0 {
		length = o.DurationS
	}
	if length < 0 || length > 24*3600 {
		return nil, fmt.Errorf("length of %g s asked of the band, it plays up to a day", length)
	}
	s.Scene = Scene{
		RateHz: o.RateHz, Frames: int64(math.Round(length * float64(o.RateHz))), Seed: o.Seed,
		Rooms: studioRooms(), Screens: studioScreens(), Sources: studioSources(p), Mics: studioMics(),
	}
	if o.LineCheck {
		s.Scene.Seed = o.Seed ^ 0x11ec // other noise than the song's
	}
	s.move(o.Seed)
	for i := range s.Scene.Mics {
		s.Patch = append(s.Patch, i)
	}
	if o.Faults {
		s.addFaults(o, length, played)
	}
	return s, nil
}

// move shifts close microphones by a centimetre or so, as another day would:
// stereo pairs stay as they were measured out.
func (s *Session) move(seed uint64) {
	if seed == 0 {
		return
	}
	d := newDice(seed, "places")
	for i := range s.Scene.Mics {
		by := Point{d.near(0, 0.008), d.near(0, 0.008), d.near(0, 0.006)}
		switch i {
		case lineOverL, lineOverR, lineRoomL, lineRoomR, linePianoL, linePianoR:
			continue
		}
		m := &s.Scene.Mics[i]
		m.Pos = m.Pos.Add(by)
	}
}

// The strength of the demo's faults.
const (
	shoutFactor = 5.5   // on the singer's level: a word far too near and too loud
	lateByM     = 0.18  // 0.52 ms
	humHz       = 50.04 // the mains is never quite on its number
	humDBFS     = -55.0
)

func (s *Session) addFaults(o Options, length float64, played *song) {
	mics := s.Scene.Mics
	fs := float64(o.RateHz)

	mics[lineSnareLow].Flip = false
	s.Faults = append(s.Faults, Fault{Kind: Flipped, Line: lineSnareLow, Other: lineSnareTop, EndS: length,
		Text: "polarity switch not set: opposes the top microphone"})

	r := &mics[lineOverR]
	r.Pos = overhead(true, overheadM+lateByM)
	c := SoundSpeed(s.Scene.Rooms[roomBig].TempC)
	s.Faults = append(s.Faults, Fault{Kind: Late, Line: lineOverR, Other: lineOverL, EndS: length,
		Amount: lateByM / c * fs, Unit: "frames", Text: fmt.Sprintf("%.0f cm farther from the snare than its partner, %.2f ms", 100*lateByM, 1000*lateByM/c)})

	g := &mics[lineGuitar]
	g.After = append(g.After, HumFault(o.RateHz, humHz, humDBFS))
	s.Faults = append(s.Faults, Fault{Kind: Hum, Line: lineGuitar, Other: -1, EndS: length, Amount: humDBFS, Unit: "dBFS",
		Text: fmt.Sprintf("%.2f Hz and ten harmonics, %.0f dBFS RMS together", humHz, humDBFS)})

	mics[lineRack], mics[lineFloor] = mics[lineFloor], mics[lineRack]
	s.Patch[lineRack], s.Patch[lineFloor] = lineFloor, lineRack
	s.Faults = append(s.Faults, Fault{Kind: Crossed, Line: lineRack, Other: lineFloor, EndS: length,
		Text: "each records the other's microphone"})

	if played == nil {
		return // the microphone still lives and nobody shouts during a line check
	}
	first, dead := 0.49*length, 0.673*length // 36.8 s and 50.5 s of 75
	a := &mics[lineAcoustic]
	a.After = append(a.After, DyingFault(o.RateHz, o.Seed, int64(first*fs), int64(dead*fs)))
	s.Faults = append(s.Faults, Fault{Kind: Dying, Line: lineAcoustic, Other: -1, StartS: first, EndS: length, Amount: dead, Unit: "s",
		Text: fmt.Sprintf("crackle from %.1f s, dead from %.1f s", first, dead)})

	from, till := played.shoutAt()
	if till < length {
		s.Faults = append(s.Faults, Fault{Kind: Clipped, Line: lineLead, Other: -1, StartS: from, EndS: till,
			Text: "the first word of the last chorus's third line meets the converter's full scale"})
	}
}

// shoutAt is when the shouted word is sung, with a margin for the singer's slip.
func (s *song) shoutAt() (from, till float64) {
	b := s.end - 4*barBeats // third of the last chorus's four lines
	return s.at(b) - 0.15, s.at(b+1) + 0.1
}
