package band

// soloS is one source's turn, the gap behind it included.
const soloS = 3.6

// lineCheck lets each source play by itself, in the order of the list, and
// returns the turns and the length.
func lineCheck(p *parts, seed uint64) ([]Solo, float64) {
	var solos []Solo
	at := 2.2 // room tone first
	d := newDice(seed, "line check")
	turn := func(source string, lines []int, play func(t float64)) {
		play(at + 0.25)
		solos = append(solos, Solo{Source: source, Lines: lines, StartS: at, EndS: at + soloS})
		at += soloS
	}
	// Four even strokes, half a second apart, none like the other.
	strokes := func(t float64, hit func(at, v float64)) {
		for i := range 5 {
			hit(d.near(t+0.5*float64(i), 0.012), d.near(0.82, 0.05))
		}
	}
	turn("kick", []int{lineKickIn, lineKickOut}, func(t float64) { strokes(t, p.kick) })
	turn("snare", []int{lineSnareTop, lineSnareLow}, func(t float64) { strokes(t, func(at, v float64) { p.snare(at, v, 0.3) }) })
	turn("hi-hat", []int{lineHat}, func(t float64) {
		for i := range 9 {
			p.hat(d.near(t+0.25*float64(i), 0.006), d.near(0.6, 0.08), 0.06+0.5*float64(boolTo(i == 8)))
		}
	})
	turn("rack tom", []int{lineRack}, func(t float64) { strokes(t, p.rackTom) })
	turn("floor tom", []int{lineFloor}, func(t float64) { strokes(t, p.floorTom) })
	turn("cymbals", []int{lineOverL, lineOverR}, func(t float64) {
		for i := range 4 {
			p.rideHit(t+0.3*float64(i), 0.8)
		}
		p.crashHit(t+1.2, 0.7, 1.5)
	})
	turn("tambourine", []int{linePerc}, func(t float64) {
		for i := range 8 {
			p.tambourine(d.near(t+0.28*float64(i), 0.01), d.near(0.6, 0.1))
		}
	})
	turn("bass", []int{lineBassDI, lineBassAmp}, func(t float64) {
		for i, n := range []float64{33, 38, 40, 45, 43, 38} {
			p.bassNote(t+0.42*float64(i), n, 0.36, d.near(0.85, 0.04))
		}
	})
	turn("electric guitar", []int{lineGuitar}, func(t float64) {
		for i, c := range []string{"D", "G", "A", "D"} {
			p.strum(p.guitar, electricNote, t+0.65*float64(i), chords[c].electric, true, 0.01, 0.5, 0.8)
		}
	})
	turn("acoustic guitar", []int{lineAcoustic}, func(t float64) {
		for i := range 6 {
			p.strum(p.acoustic, steelNote, t+0.42*float64(i), chords[[]string{"D", "G", "A"}[i/2]].acoustic, i%2 == 0, 0.009, 0.45, 0.8)
		}
	})
	turn("accordion", []int{lineSqueeze}, func(t float64) {
		for _, n := range riff[:7] {
			p.button(t+0.62*n[1], n[0], 0.58*n[2], func(float64) float64 { return 0.95 })
		}
	})
	turn("piano", []int{linePianoL, linePianoR}, func(t float64) {
		for i, n := range []float64{38, 50, 57, 62, 66, 69, 74, 78, 81, 86} {
			p.key(t+0.24*float64(i), n, 0.5, 0.7)
		}
	})
	sing := func(s *score, name string, th throat, line string) func(float64) {
		return func(t float64) {
			p.sing(s, name, th, words(line, 0), func(b float64) float64 { return t + 0.4 + 0.52*b })
		}
	}
	turn("lead voice", []int{lineLead}, sing(p.lead, "lead", leadThroat, "f.E:71:0:0.75 r.I:71:0.75:0.25 m.I:73:1:0.5 t.U:71:1.5:0.5 w.E.n:71:2:0.6 d.V:69:2.6:0.5 l.OU:69:3.1:1.2"))
	turn("low backing voice", []int{lineLow}, sing(p.low, "low", lowThroat, "w.E.n:62:0:0.7 d.V:62:0.7:0.5 l.OU:62:1.2:1.2 w.E.n:59:2.6:0.5 d.V:59:3.1:0.4 l.OU:57:3.5:0.9"))
	turn("high backing voice", []int{lineHigh}, sing(p.high, "high", highThroat, "a:74:0:1.2 a:73:1.2:1.2 l.OU:74:2.5:1.8"))
	turn("engineer", []int{lineTalk}, func(t float64) {
		p.sing(p.talk, "talk", talker, words("w.V.n:47:0:0.3 t.U:46:0.5:0.3 T.r.I:46:1:0.4", 0), func(b float64) float64 { return t + 0.5 + b })
	})
	return solos, at + 2.2
}
