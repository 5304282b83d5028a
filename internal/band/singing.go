package band

import (
	"strconv"
	"strings"
)

// The singers. Levels: RMS in pascal at 1 m of a plain phrase.
var (
	leadThroat = throat{scale: 1, breathy: 0.10, vibrato: 34, rateHz: 5.4, ring: 7, level: 0.16}
	lowThroat  = throat{scale: 0.86, breathy: 0.12, vibrato: 20, rateHz: 5.0, ring: 8, level: 0.11}
	highThroat = throat{scale: 1.04, breathy: 0.16, vibrato: 26, rateHz: 5.8, ring: 6, level: 0.09}
	talker     = throat{scale: 0.88, breathy: 0.12, ring: 2, level: 0.08, spoken: true}
)

// words reads a line of song, "syllable:midi:beat:beats" each, beats from the
// beat base on.
func words(line string, base float64) []syllable {
	var out []syllable
	for _, w := range strings.Fields(line) {
		f := strings.Split(w, ":")
		s := readSyllable(f[0])
		n := [3]float64{}
		for i := range n {
			v, err := strconv.ParseFloat(f[i+1], 64)
			if err != nil {
				panic(err) // lyrics are part of the program
			}
			n[i] = v
		}
		s.midi, s.beat, s.beats = n[0], base+n[1], n[2]
		out = append(out, s)
	}
	return out
}

// "Tie the rope and count the lanterns, one for every year we stayed. Salt is
// drying on the railing, all the harbour bills are paid."
var verseLines = []string{
	"t.AI:66:0:0.75 T.V:66:0.75:0.25 r.OU.p:69:1:1 A.n:69:2:0.5 k.AU.n.t:69:2.5:0.5 T.V:67:3:0.5 l.A.n:66:3.5:0.75 t.R.n.z:64:4.25:1.6",
	"w.V.n:62:0:0.75 f.O.r:62:0.75:0.25 E.v:66:1:0.5 r.I:66:1.5:0.5 y.i.r:67:2:0.75 w.I:66:2.75:0.25 s.t.EI.d:62:3:2.2",
	"s.O.l.t:66:0:1 i.z:66:1:0.5 d.r.AI:69:1.5:0.75 i.N:71:2.25:0.25 O.n:69:2.5:0.5 T.V:67:3:0.5 r.EI:69:3.5:0.75 l.i.N:64:4.25:1.7",
	"O.l:67:0:0.75 T.V:67:0.75:0.25 h.a.r:71:1:0.75 b.R:69:1.75:0.25 b.i.l.z:67:2:0.5 a.r:69:2.5:0.5 p.EI.d:69:3:2.5",
}

// "Oh, ferry me to Wendelow, over where the slow lights go, ferry me to
// Wendelow, leave the rest below."
var chorusLines = []string{
	"OU:71:0:1 f.E:74:1:0.5 r.I:73:1.5:0.5 m.I:71:2:0.5 t.U:69:2.5:0.5 w.E.n:69:3:0.5 d.V:66:3.5:0.5 l.OU:69:4:2.5",
	"OU:69:0:0.5 v.R:69:0.5:0.5 w.E.r:71:1:0.5 T.V:69:1.5:0.5 s.l.OU:73:2:0.75 l.AI.t.s:71:2.75:0.75 g.OU:71:4:2.3",
	"f.E:74:0:0.75 r.I:74:0.75:0.25 m.I:76:1:0.5 t.U:74:1.5:0.5 w.E.n:74:2:0.75 d.V:71:2.75:0.5 l.OU:69:3.5:2.8",
	"l.I.v:69:0:0.75 T.V:69:0.75:0.25 r.E.s.t:73:1:1 b.I:71:2:0.5 l.OU:69:2.5:3.4",
}

var bridgeLines = []string{
	"h.OU.l.d:71:0:1 T.V:71:1:0.5 l.AI.n:67:1.5:2.2",
	"h.OU.l.d:74:0:1 T.V:73:1:0.5 l.AI.n:71:1.5:2.4",
}

// What the two behind sing in the choruses, by phrase.
var lowLines = []string{
	"a:59:0:2.5 w.E.n:62:3:0.5 d.V:62:3.5:0.5 l.OU:62:4:2.5",
	"a:57:0:2.5 a:59:4:2.5",
	"a:59:0:1.8 w.E.n:62:2:0.75 d.V:62:2.75:0.5 l.OU:62:3.5:2.8",
	"a:57:0:2.2 l.OU:61:2.5:3.2",
}

var highLines = []string{
	"a:74:0:2.5 w.E.n:74:3:0.5 d.V:69:3.5:0.5 l.OU:74:4:2.5",
	"a:73:0:2.5 a:74:4:2.5",
	"a:79:0:1.8 w.E.n:78:2:0.75 d.V:74:2.75:0.5 l.OU:74:3.5:2.8",
	"a:73:0:2.2 l.OU:73:2.5:3.2",
}

// shoutPhrase and shoutWord are where the singer of the last chorus lets go:
// the third line, "ferry", two syllables.
const shoutPhrase = 2

// voices sings. shout is the factor on one word of the last chorus; 1 for none.
func (s *song) voices(seed uint64, shout float64) {
	lead := s.player(seed, "lead", 0.012, 0.008)
	low := s.player(seed, "low", 0.015, 0.010)
	high := s.player(seed, "high", 0.013, 0.010)
	sing := func(sc *score, f feel, name string, th throat, force float64, line string, base float64, emphasis float64) {
		w := words(line, base)
		if emphasis > 1 {
			w[0].shout, w[1].shout = emphasis, emphasis
		}
		th.level *= force
		// One slip a syllable, the same however often it is asked for.
		slip := map[float64]float64{}
		for _, x := range w {
			slip[x.beat] = f.lag + f.dice.near(0, f.slip)
		}
		s.p.sing(sc, name, th, w, func(beat float64) float64 { return f.at(beat) + slip[beat] })
	}
	s.eachBar(func(sec section, bar int, b float64, _ chord) {
		if bar%2 == 1 {
			return
		}
		i := bar / 2
		switch {
		case sec.name == "verse":
			sing(s.p.lead, lead, "lead", leadThroat, 0.75, verseLines[i], b, 1)
		case sec.chorus():
			emphasis := 1.0
			if sec.name == "last chorus" && i == shoutPhrase {
				emphasis = shout
			}
			sing(s.p.lead, lead, "lead", leadThroat, sec.force*1.05, chorusLines[i], b, emphasis)
			sing(s.p.low, low, "low", lowThroat, sec.force, lowLines[i], b, 1)
			sing(s.p.high, high, "high", highThroat, sec.force, highLines[i], b, 1)
		case sec.name == "bridge":
			sing(s.p.lead, lead, "lead", leadThroat, 0.7+0.1*float64(i), bridgeLines[i], b, 1)
			if i == 1 {
				sing(s.p.low, low, "low", lowThroat, 0.5, "U:59:0:3.6 U:57:4:3.2", b, 1)
				sing(s.p.high, high, "high", highThroat, 0.5, "U:74:0:3.6 U:73:4:3.2", b, 1)
			}
		}
	})
	sing(s.p.lead, lead, "lead", leadThroat, 0.8, "OU:69:0:4.2", s.end, 1)
	sing(s.p.low, low, "low", lowThroat, 0.75, "OU:62:0:4", s.end, 1)
	sing(s.p.high, high, "high", highThroat, 0.75, "OU:74:0:4", s.end, 1)
	// The slate and a word after the end, from the control room.
	say := func(at float64, line string) {
		s.p.sing(s.p.talk, "talk", talker, words(line, 0), func(beat float64) float64 { return at + beat })
	}
	say(0.75, "t.EI.k:48:0:0.28 t.U:47:0.30:0.30")
	say(s.fade()+1.0, "l.V:47:0:0.16 v.l.I:45:0.18:0.30")
}
