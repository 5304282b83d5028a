package band

import "math"

// seconds between two beats of the groove.
func (s *song) span(from, to float64) float64 { return s.at(to) - s.at(from) }

// fade is when the last chord has been let ring.
func (s *song) fade() float64 { return s.at(s.end) + finalRingS }

// bassLine walks roots and fifths, a little behind the kick.
func (s *song) bassLine(seed uint64) {
	f := s.player(seed, "bass", 0.004, 0.0035)
	d := f.dice
	play := func(beat, beats, midi, v float64) {
		s.p.bassNote(f.hit(beat), midi, 0.90*s.span(beat, beat+beats), d.near(v, 0.04))
	}
	s.eachBar(func(sec section, bar int, b float64, c chord) {
		v, root := sec.force, c.bass
		if root < 33 {
			root += 12
		}
		fifth := root + 7
		switch {
		case sec.name == "bridge":
			play(b, 2.9, c.bass+12*float64(boolTo(c.bass < 30)), 0.8*v)
			play(b+3, 0.9, fifth, 0.6*v)
		case sec.chorus():
			for i := range 8 {
				n, a := root, 0.78
				if i%2 == 0 {
					a = 0.92
				}
				if i == 5 {
					n = fifth
				}
				if i == 7 && d.chance(0.5) {
					n = root + 12
				}
				play(b+float64(i)/2, 0.46, n, a*v)
			}
		default:
			play(b, 1.6, root, 0.95*v)
			play(b+1.75, 0.2, root, 0.55*v)
			play(b+2, 0.5, fifth, 0.75*v)
			play(b+2.5, 1.0, root, 0.85*v)
			if bar%2 == 1 {
				play(b+3.5, 0.45, root+10, 0.7*v)
			}
		}
	})
	at := f.hit(s.end)
	s.p.bassNote(at, 38, s.fade()-at-0.2, 0.95)
}

// guitars: the electric answers on two and four and rings in the choruses; the
// acoustic strums all through.
func (s *song) guitars(seed uint64) {
	e := s.player(seed, "electric", 0.002, 0.004)
	a := s.player(seed, "acoustic", -0.001, 0.0042)
	electric := func(beat float64, c chord, holdS, v float64) {
		s.p.strum(s.p.guitar, electricNote, e.hit(beat), c.electric, true, 0.009, holdS, e.dice.near(v, 0.04*v))
	}
	acoustic := func(beat, beats float64, c chord, down bool, v float64) {
		s.p.strum(s.p.acoustic, steelNote, a.hit(beat), c.acoustic, down, a.dice.between(0.006, 0.010), s.span(beat, beat+beats), a.dice.near(v, 0.06*v))
	}
	s.eachBar(func(sec section, bar int, b float64, c chord) {
		v := sec.force
		switch {
		case sec.chorus():
			electric(b, c, s.span(b, b+1.4), 0.95*v)
			electric(b+1.5, c, s.span(b, b+0.9), 0.75*v)
			electric(b+2.5, c, s.span(b, b+1.4), 0.85*v)
		case sec.name == "bridge":
			for i, k := range []int{0, 1, 2, 1} { // picked
				_, d := s.p.next("pick")
				midi, hold, level := c.electric[k], s.span(b, b+1.9), 0.62*v
				s.p.guitar.add(s.p.frame(e.hit(b+float64(i))), func() []float32 { return electricNote(d, s.p.fs, midi, hold, level) })
			}
		case sec.name == "verse":
			electric(b+1, c, 0.10, 0.62*v)
			electric(b+3, c, 0.12, 0.66*v)
			if bar%4 == 3 {
				electric(b+3.5, c, 0.25, 0.6*v)
			}
		}
		type stroke struct {
			at, long float64
			down     bool
			v        float64
		}
		way := []stroke{{0, 1, true, 0.9}, {1, 0.5, true, 0.75}, {1.5, 0.75, false, 0.55}, {2.25, 0.25, false, 0.45}, {2.5, 0.5, true, 0.7}, {3, 0.5, true, 0.85}, {3.5, 0.5, false, 0.55}}
		if sec.name == "bridge" {
			way = []stroke{{0, 2, true, 0.75}, {2, 1.5, true, 0.6}, {3.5, 0.5, false, 0.45}}
		}
		for _, k := range way {
			acoustic(b+k.at, k.long, c, k.down, k.v*v)
		}
	})
	hold := s.fade() - s.at(s.end) - 0.3
	c := chords["D"]
	s.p.strum(s.p.guitar, electricNote, e.hit(s.end), c.electric, true, 0.016, hold, 0.9)
	s.p.strum(s.p.acoustic, steelNote, a.hit(s.end), c.acoustic, true, 0.022, hold, 0.95)
}

// keys is the upright piano: octaves below, chords above, more in the choruses.
func (s *song) keys(seed uint64) {
	f := s.player(seed, "piano", 0.001, 0.004)
	d := f.dice
	play := func(beat, beats float64, notes []float64, v float64) {
		at := f.hit(beat)
		for _, n := range notes {
			s.p.key(at, n, 0.95*s.span(beat, beat+beats), d.near(v, 0.06*v))
		}
	}
	s.eachBar(func(sec section, bar int, b float64, c chord) {
		v := sec.force
		deep := c.bass + 12
		switch {
		case sec.chorus():
			play(b, 1.9, []float64{deep, deep - 12}, 0.80*v)
			play(b+2, 1.9, []float64{deep + 7}, 0.65*v)
			for i := range 4 {
				play(b+float64(i)+0.5*float64(i/2%2), 0.9, c.piano, (0.70-0.06*float64(i%2))*v)
			}
		case sec.name == "bridge":
			for i := range 8 {
				n := c.piano[[8]int{0, 1, 2, 1, 0, 1, 2, 1}[i]] + 12
				play(b+float64(i)/2, 1.2, []float64{n}, 0.52*v)
			}
			play(b, 3.8, []float64{deep}, 0.6*v)
		case sec.name == "verse" && bar >= 4:
			play(b, 3.5, []float64{deep}, 0.55*v)
			play(b+1.5, 0.5, c.piano, 0.45*v)
			play(b+2.5, 1.3, c.piano, 0.5*v)
		}
	})
	at, hold := f.hit(s.end), s.fade()-s.at(s.end)-0.4
	for _, n := range []float64{38, 50, 57, 62, 66, 74} {
		s.p.key(at, n, hold, 0.8)
	}
}

// riff is the accordion's tune: MIDI, beat, beats.
var riff = [][3]float64{{78, 0, 0.7}, {76, 0.75, 0.25}, {74, 1, 0.5}, {76, 1.5, 0.5}, {78, 2, 0.5}, {81, 2.5, 0.95}, {78, 3.5, 0.45},
	{79, 4, 0.7}, {78, 4.75, 0.25}, {76, 5, 0.9}, {73, 6, 0.45}, {74, 6.5, 0.45}, {76, 7, 0.9}}

// accordion plays the riff before the verse and in the last chorus, answers
// the singer in the verse and holds chords in the choruses.
func (s *song) accordion(seed uint64) {
	f := s.player(seed, "accordion", 0.006, 0.005)
	// The bellows breathe: a swell in each note, turned every two bars.
	air := func(v, holdS float64) func(float64) float64 {
		return func(t float64) float64 {
			return v * (0.82 + 0.18*math.Sin(math.Pi*math.Min(1, t/math.Max(0.2, holdS))))
		}
	}
	play := func(beat, beats, midi, v float64) {
		hold := 0.93 * s.span(beat, beat+beats)
		s.p.button(f.hit(beat), midi, hold, air(f.dice.near(v, 0.04*v), hold))
	}
	tune := func(beat, v float64) {
		for _, n := range riff {
			play(beat+n[1], n[2], n[0], v)
			if v > 0.85 {
				play(beat+n[1], n[2], n[0]-12, 0.6*v)
			}
		}
	}
	s.eachBar(func(sec section, bar int, b float64, c chord) {
		v := sec.force
		switch {
		case sec.name == "intro" && bar == 0:
			tune(b, 1.0)
		case sec.name == "verse" && bar%2 == 1:
			play(b+2.5, 0.5, c.squeeze[2], 0.55)
			play(b+3, 0.5, c.squeeze[1], 0.55)
			play(b+3.5, 0.5, c.squeeze[2]+2*float64(boolTo(bar%4 == 1)), 0.6)
		case sec.chorus():
			for _, n := range c.squeeze {
				play(b, 2.9, n, 0.58*v)
				play(b+3, 0.5, n, 0.50*v)
			}
			if sec.name == "last chorus" && bar%4 == 2 {
				tune(b, 0.8)
			}
		case sec.name == "bridge" && bar >= 1:
			for _, n := range c.squeeze {
				play(b, 3.9, n, 0.34+0.06*float64(bar))
			}
		}
	})
	hold := finalRingS - 0.3
	for _, n := range []float64{62, 66, 69, 74} {
		s.p.button(f.hit(s.end), n, hold, func(t float64) float64 { return 0.85 * math.Max(0.05, 1-0.75*t/hold) })
	}
}
