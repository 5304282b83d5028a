package band

// drums plays the kit: eighths on the hat, backbeats, ghosts, fills into every
// section, toms in the bridge.
func (s *song) drums(seed uint64) {
	f := s.player(seed, "drums", 0, 0.0028)
	d, p := f.dice, s.p
	hard := func(v float64) float64 { return min(1.15, max(0.08, d.near(v, 0.045*v))) }
	s.eachBar(func(sec section, bar int, b float64, _ chord) {
		v := sec.force
		if bar == 0 && sec.name != "verse" && sec.name != "bridge" {
			p.crashHit(f.hit(b), hard(0.95*v), 0)
		}
		if sec.name == "last chorus" && bar == 4 {
			p.crashHit(f.hit(b), hard(0.9*v), 0)
		}
		if sec.name == "bridge" {
			s.tomBar(f, bar, b, v)
			return
		}
		fill := sec.last(bar)
		until := 4.0
		if fill {
			until = 2
			if sec.name == "last chorus" {
				until = 1
			}
		}
		kicks := []float64{0, 2, 2.5}
		switch {
		case sec.chorus():
			kicks = []float64{0, 0.75, 2, 2.75}
		case bar%4 == 3:
			kicks = []float64{0, 1.75, 2.5}
		}
		for _, k := range kicks {
			if k < until {
				p.kick(f.hit(b+k), hard((0.86+0.1*float64(boolTo(k == 0)))*v))
			}
		}
		for _, k := range []float64{1, 3} {
			if k < until {
				p.snare(f.hit(b+k), hard(0.92*v), rimOf(sec))
			}
		}
		for _, k := range []float64{0.75, 1.75, 2.25, 3.75} {
			if k < until && d.chance(0.28) {
				p.snare(f.hit(b+k), hard(0.17), 0)
			}
		}
		for i := range 8 {
			k := float64(i) / 2
			if k >= until {
				break
			}
			accent := 0.50
			if i%2 == 0 {
				accent = 0.72
			}
			if sec.chorus() {
				p.rideHit(f.hit(b+k), hard(accent*v))
				if i%4 == 2 {
					p.hat(f.hit(b+k), hard(0.35), 0) // the foot
				}
				continue
			}
			open := 0.06
			if i == 7 && bar%2 == 1 {
				open = 0.62
			}
			p.hat(f.hit(b+k), hard(accent*v), open)
			if d.chance(0.16) {
				p.hat(f.hit(b+k+0.25), hard(0.28*v), 0.03)
			}
		}
		if fill {
			s.fill(f, b, until, v, sec.name)
		}
	})
	// The last chord.
	at := f.hit(s.end)
	p.kick(at, 1)
	p.crashHit(at, 1, finalRingS)
	p.rideHit(at+0.004, 0.8)
	p.floorTom(at, 0.7)
}

func rimOf(sec section) float64 {
	if sec.chorus() {
		return 0.8
	}
	return 0.25
}

func boolTo(b bool) int {
	if b {
		return 1
	}
	return 0
}

// fill plays sixteenths from the beat from to the bar's end: one of four
// ways round the kit, louder towards the end.
func (s *song) fill(f feel, b, from, v float64, _ string) {
	ways := []string{"SSRRRRFF", "SSSSRRFF", "SRRFSRRF", "SSRFSSFF"}
	way := ways[f.dice.IntN(len(ways))]
	n := int((4 - from) * 4)
	for i := range n {
		at := f.hit(b + from + float64(i)/4)
		force := v * (0.62 + 0.36*float64(i)/float64(n)) * (1 + 0.08*float64(boolTo(i%2 == 0)))
		force = min(1.1, f.dice.near(force, 0.04))
		switch way[i*len(way)/n] {
		case 'S':
			s.p.snare(at, force, 0.4)
		case 'R':
			s.p.rackTom(at, force)
		default:
			s.p.floorTom(at, force)
		}
		if i%4 == 0 {
			s.p.kick(at, 0.7*v)
		}
	}
}

// tomBar is the bridge: a slow figure on the toms that grows.
func (s *song) tomBar(f feel, bar int, b, v float64) {
	p, d := s.p, f.dice
	grow := 0.72 + 0.14*float64(bar)
	for _, k := range []float64{0, 1.5, 2, 3.5} {
		p.floorTom(f.hit(b+k), d.near(0.62*v*grow, 0.03))
	}
	for _, k := range []float64{1, 3} {
		p.rackTom(f.hit(b+k), d.near(0.70*v*grow, 0.03))
	}
	p.kick(f.hit(b), 0.75*v)
	p.kick(f.hit(b+2), 0.7*v)
	for i := range 4 {
		p.hat(f.hit(b+float64(i)), 0.30, 0)
	}
	if bar == 3 {
		for i := range 8 {
			p.snare(f.hit(b+2+float64(i)/4), 0.30+0.085*float64(i), 0.2)
		}
	}
}

// percussion shakes the verses and strikes the tambourine in the choruses.
func (s *song) percussion(seed uint64) {
	f := s.player(seed, "percussion", 0.003, 0.0038)
	d, p := f.dice, s.p
	s.eachBar(func(sec section, bar int, b float64, _ chord) {
		switch {
		case sec.chorus():
			for i := range 8 {
				v := 0.34
				if i%4 == 2 {
					v = 0.85
				}
				p.tambourine(f.hit(b+float64(i)/2), d.near(v*sec.force, 0.05))
			}
		case sec.name == "verse" || sec.name == "bridge" && bar >= 2:
			for i := range 16 {
				v := [4]float64{0.9, 0.45, 0.75, 0.5}[i%4]
				p.shaker(f.hit(b+float64(i)/4), d.near(v, 0.07))
			}
		}
	})
	for i := range 9 { // a roll on the last chord
		p.tambourine(f.at(s.end)+0.075*float64(i), 0.75-0.07*float64(i))
	}
}
