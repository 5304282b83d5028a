package band

// chord is a harmony as this band's players finger it, MIDI numbers.
type chord struct {
	bass     float64
	acoustic []float64
	electric []float64
	squeeze  []float64
	piano    []float64
}

var chords = map[string]chord{
	"D":  {38, []float64{50, 57, 62, 66}, []float64{57, 62, 66}, []float64{66, 69, 74}, []float64{57, 62, 66}},
	"A":  {33, []float64{45, 52, 57, 61, 64}, []float64{57, 61, 64}, []float64{64, 69, 73}, []float64{57, 61, 64}},
	"A/": {37, []float64{49, 52, 57, 61, 64}, []float64{57, 61, 64}, []float64{64, 69, 73}, []float64{57, 61, 64}},
	"Bm": {35, []float64{47, 54, 59, 62, 66}, []float64{59, 62, 66}, []float64{66, 71, 74}, []float64{59, 62, 66}},
	"G":  {31, []float64{43, 47, 50, 55, 59, 67}, []float64{59, 62, 67}, []float64{67, 71, 74}, []float64{59, 62, 67}},
	"Em": {28, []float64{40, 47, 52, 55, 59, 64}, []float64{59, 64, 67}, []float64{64, 67, 71}, []float64{59, 64, 67}},
}

// section is a part of the song.
type section struct {
	name  string
	bars  []string // a chord a bar
	force float64  // how hard the band plays
}

// The song: four in a bar, key of D, a bar of sticks before it.
var form = []section{
	{"intro", []string{"D", "G"}, 0.80},
	{"verse", []string{"D", "A/", "Bm", "G", "D", "A/", "G", "A"}, 0.74},
	{"chorus", []string{"G", "D", "A", "Bm", "G", "D", "A", "A"}, 0.92},
	{"bridge", []string{"Em", "G", "Bm", "A"}, 0.64},
	{"last chorus", []string{"G", "D", "A", "Bm", "G", "D", "A", "A"}, 1.0},
}

const (
	barBeats   = 4
	firstBeatS = 2.75 // room tone before the sticks
	finalRingS = 3.1  // how long the last chord is let ring
)

// song is one performance: the form laid on a groove.
type song struct {
	*groove
	p    *parts
	dice dice
	end  float64 // beat of the last chord
}

// newSong counts in and plays everything into p. A seed is a performance: its
// tempo, its slips, its fills.
func newSong(p *parts, seed uint64, bpm float64, shout float64) *song {
	d := newDice(seed, "song")
	if bpm == 0 {
		bpm = d.between(110.5, 115)
	}
	bars := 0
	force := []float64{}
	for _, s := range form {
		bars += len(s.bars)
		for range s.bars {
			force = append(force, s.force)
		}
	}
	g := newGroove(d, firstBeatS, bpm, d.between(0.55, 0.58), (bars+3)*barBeats, func(beat int) float64 {
		bar := beat/barBeats - 1
		if bar < 0 || bar >= bars {
			return 1
		}
		return 1 + 0.03*(force[bar]-0.85) // the chorus leans forward by some tenths of a percent
	})
	s := &song{groove: g, p: p, dice: d, end: float64((bars + 1) * barBeats)}
	for i := range 4 {
		p.sticks(g.at(float64(i)), 0.9+0.1*float64(i%2))
	}
	s.drums(seed)
	s.percussion(seed)
	s.bassLine(seed)
	s.guitars(seed)
	s.keys(seed)
	s.accordion(seed)
	s.voices(seed, shout)
	return s
}

// player is the feel of one player of this performance.
func (s *song) player(seed uint64, name string, lag, slip float64) feel {
	return feel{groove: s.groove, lag: lag, slip: slip, dice: newDice(seed, "feel", name)}
}

// eachBar calls do with each bar's section, its number in the section, the
// beat it begins at and its chord.
func (s *song) eachBar(do func(sec section, bar int, beat float64, c chord)) {
	beat := float64(barBeats)
	for _, sec := range form {
		for i, name := range sec.bars {
			do(sec, i, beat, chords[name])
			beat += barBeats
		}
	}
}

// last says whether the bar is the last of its section.
func (sec section) last(bar int) bool { return bar == len(sec.bars)-1 }

func (sec section) chorus() bool { return sec.name == "chorus" || sec.name == "last chorus" }
