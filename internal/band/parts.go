package band

// parts is the band's instruments with what they are to play. Every method
// adds one sound at a second.
type parts struct {
	seed uint64
	fs   float64
	made int // sounds so far: each has dice of its own

	beater, front, snareTop, snareLow, hats, rack, floor, crash, ride, stick,
	perc, bass, guitar, acoustic, squeeze, piano, lead, low, high, talk *score

	hatPlate, crashPlate, ridePlate []float64
}

func newParts(seed uint64, rateHz int) *parts {
	p := &parts{seed: seed, fs: float64(rateHz)}
	for _, s := range []**score{&p.beater, &p.front, &p.snareTop, &p.snareLow, &p.hats, &p.rack, &p.floor, &p.crash, &p.ride, &p.stick,
		&p.perc, &p.bass, &p.guitar, &p.acoustic, &p.squeeze, &p.piano, &p.lead, &p.low, &p.high, &p.talk} {
		*s = &score{}
	}
	// The cymbals are the same every day.
	p.hatPlate = plate(newDice(1, "hat"), 32, 900, 13500)
	p.crashPlate = plate(newDice(1, "crash"), 64, 330, 12500)
	p.ridePlate = plate(newDice(1, "ride"), 44, 420, 11500)
	return p
}

func (p *parts) frame(at float64) int64 { return int64(at*p.fs + 0.5) }

// next gives the number and dice of a new sound.
func (p *parts) next(name string) (int, dice) {
	p.made++
	return p.made, newDice(p.seed, name, p.made)
}

func (p *parts) kick(at, v float64) {
	_, d := p.next("kick")
	_, e := p.next("kick front")
	p.beater.add(p.frame(at), func() []float32 { return kickBeater(d, p.fs, v) })
	p.front.add(p.frame(at), func() []float32 { return kickFront(e, p.fs, v) })
}

func (p *parts) snare(at, v, rim float64) {
	no, _ := p.next("snare")
	top, bottom := snare(p.seed, no, p.fs, v, rim)
	p.snareTop.add(p.frame(at), top)
	p.snareLow.add(p.frame(at), bottom)
}

func (p *parts) hat(at, v, open float64) {
	_, d := p.next("hat")
	p.hats.add(p.frame(at), func() []float32 { return hat(d, p.fs, p.hatPlate, v, open) })
}

// Pitches of the two toms in Hz.
const rackHz, floorHz = 138, 84

func (p *parts) rackTom(at, v float64) {
	_, d := p.next("rack")
	p.rack.add(p.frame(at), func() []float32 { return tom(d, p.fs, rackHz, v) })
}

func (p *parts) floorTom(at, v float64) {
	_, d := p.next("floor")
	p.floor.add(p.frame(at), func() []float32 { return tom(d, p.fs, floorHz, v) })
}

// crashHit rings until a hand takes the plate chokeS later; 0 lets it ring.
func (p *parts) crashHit(at, v, chokeS float64) {
	_, d := p.next("crash")
	p.crash.add(p.frame(at), func() []float32 {
		x := cymbal(d, p.fs, p.crashPlate, v, 4.2, 0.9)
		if chokeS > 0 {
			x = choke(x, chokeS, 0.04, p.fs)
		}
		return x
	})
}

func (p *parts) rideHit(at, v float64) {
	_, d := p.next("ride")
	p.ride.add(p.frame(at), func() []float32 { return cymbal(d, p.fs, p.ridePlate, 0.5*v, 1.6, 3.0) })
}

func (p *parts) sticks(at, v float64) {
	_, d := p.next("sticks")
	p.stick.add(p.frame(at), func() []float32 { return sticks(d, p.fs, v) })
}

func (p *parts) tambourine(at, v float64) {
	_, d := p.next("tambourine")
	p.perc.add(p.frame(at)-int64(0.01*p.fs), func() []float32 { return tambourine(d, p.fs, v) })
}

func (p *parts) shaker(at, v float64) {
	_, d := p.next("shaker")
	p.perc.add(p.frame(at)-int64(0.02*p.fs), func() []float32 { return shaker(d, p.fs, v) })
}

func (p *parts) bassNote(at, midi, holdS, v float64) {
	_, d := p.next("bass")
	p.bass.add(p.frame(at), func() []float32 { return bassNote(d, p.fs, midi, holdS, v) })
}

// strum runs across strings, downwards first string first, stepS apart.
func (p *parts) strum(s *score, one func(dice, float64, float64, float64, float64) []float32, at float64, strings []float64, down bool, stepS, holdS, v float64) {
	for i := range strings {
		k := i
		if !down {
			k = len(strings) - 1 - i
		}
		_, d := p.next("strum")
		midi, level := strings[k], v*d.between(0.85, 1.1)
		if !down && i > 2 {
			break // an upstroke catches the thin strings only
		}
		s.add(p.frame(at+float64(i)*stepS), func() []float32 { return one(d, p.fs, midi, holdS, level) })
	}
}

func (p *parts) key(at, midi, holdS, v float64) {
	_, d := p.next("piano")
	p.piano.add(p.frame(at+d.near(0, 0.003)), func() []float32 { return pianoNote(d, p.fs, midi, holdS, v) })
}

func (p *parts) button(at, midi, holdS float64, air func(s float64) float64) {
	_, d := p.next("squeeze")
	p.squeeze.add(p.frame(at+d.near(0, 0.004)), func() []float32 {
		return reeds(d, p.fs, midi, holdS, 2.6, air)
	})
}

// leadInS is how long before its first beat a sung phrase begins: the breath.
const leadInS = 0.55

// sing adds a phrase; at gives the second of a beat.
func (p *parts) sing(s *score, name string, th throat, words []syllable, at func(beat float64) float64) {
	_, d := p.next(name)
	start := at(words[0].beat) - leadInS
	rel := func(beat float64) float64 { return at(beat) - start - leadInS }
	spans := lay(words, rel, d, th.spoken)
	s.add(p.frame(start), func() []float32 { return th.phrase(d, p.fs, spans, leadInS, !th.spoken) })
}
