package stage

import (
	"math"
	"math/rand/v2"

	"tidemark/bench/faults/material"
)

// section is a stretch of the song.
type section struct {
	fromBar, bars int
	energy        float64 // 0 to 1
}

// song holds time and harmony; the players read it.
type song struct {
	r       *rand.Rand
	rateHz  int
	frames  int
	beats   int       // in a bar
	bars    []float64 // seconds at which each bar begins, one more than there are bars
	chords  [][]int   // keys of each bar's chord, root first, in the octave of 48
	parts   []section
	density float64
	swing   float64
}

// newSong invents one. The recorder starts a few seconds before the band and
// runs on into the ring-out.
func newSong(r *rand.Rand, rateHz int, seconds, density float64, slow bool) *song {
	s := &song{r: r, rateHz: rateHz, frames: int(seconds * float64(rateHz)), beats: 4, density: density}
	if r.Float64() < 0.25 {
		s.beats = 3
	}
	bpm := 84 + 76*r.Float64()
	if slow {
		bpm = 54 + 28*r.Float64()
	}
	if r.Float64() < 0.3 {
		s.swing = 0.12 * r.Float64()
	}
	t := 1.5 + 3.5*r.Float64()
	end := seconds - 3 - 4*r.Float64()
	for t < end {
		s.bars = append(s.bars, t)
		t += float64(s.beats) * 60 / bpm
		bpm *= 1 + 0.006*r.NormFloat64() // nobody plays to a click here
	}
	s.bars = append(s.bars, t)
	scale := []int{0, 2, 4, 5, 7, 9}
	tonic := 48 + r.IntN(12)
	var loop [][]int
	for range 4 {
		root := tonic + scale[r.IntN(len(scale))]
		third := 4
		if d := (root - tonic + 120) % 12; d == 2 || d == 4 || d == 9 {
			third = 3
		}
		loop = append(loop, []int{root, root + third, root + 7})
	}
	for b := range s.bars {
		s.chords = append(s.chords, loop[b%4])
	}
	for b := 0; b < len(s.bars)-1; {
		n := min(4+4*r.IntN(2), len(s.bars)-1-b)
		s.parts = append(s.parts, section{b, n, 0.25 + 0.75*r.Float64()})
		b += n
	}
	return s
}

// each calls f for every bar that a player takes part in. share is how many of
// the sections they play; a player who plays at all plays in one at least.
func (s *song) each(share float64, f func(bar int, from, length, energy float64, last bool)) {
	keep := s.r.IntN(max(len(s.parts), 1))
	for i, p := range s.parts {
		if i != keep && s.r.Float64() > share {
			continue
		}
		for b := p.fromBar; b < p.fromBar+p.bars; b++ {
			f(b, s.bars[b], s.bars[b+1]-s.bars[b], p.energy, b == p.fromBar+p.bars-1)
		}
	}
}

// put adds sound at a time, give or take a player's few milliseconds.
func (s *song) put(dst, x []float32, atS, gain float64) {
	at := int((atS + 0.006*s.r.NormFloat64()) * float64(s.rateHz))
	g := float32(gain)
	for i, v := range x {
		if k := at + i; k >= 0 && k < len(dst) {
			dst[k] += v * g
		}
	}
}

func (s *song) velocity(energy float64) int {
	return min(max(int(38+75*energy+7*s.r.NormFloat64()), 8), 127)
}

// note plays one note into dst.
func (s *song) note(dst []float32, p material.Player, key, velocity int, atS, held float64) {
	s.put(dst, p.Note(key, velocity, held, s.rateHz, s.r), atS, 1)
}

// fit moves a key by octaves into the compass.
func fit(key, low, high int) int {
	for key < low {
		key += 12
	}
	for key > high {
		key -= 12
	}
	return key
}

// swung delays the off-beat eighths.
func (s *song) swung(step, steps int, length float64) float64 {
	t := length * float64(step) / float64(steps)
	if steps == 2*s.beats && step%2 == 1 {
		t += s.swing * length / float64(s.beats)
	}
	return t
}

// playDrums fills the parts of a kit, all at once since they answer each other.
func (s *song) playDrums(kit material.Kit, parts map[string][]float32) {
	hit := func(part string, velocity int, at float64) {
		dst := parts[channelOf(part)]
		if p := kit[part]; p != nil && dst != nil {
			s.note(dst, p, 60, velocity, at, 1)
		}
	}
	if len(s.bars) > 1 && s.r.Float64() < 0.5 { // sticks count the band in
		beat := (s.bars[1] - s.bars[0]) / float64(s.beats)
		for i := range s.beats {
			hit("rim", 60, s.bars[0]-beat*float64(s.beats-i))
		}
	}
	eighths := 2 * s.beats
	busy := s.r.Float64() < 0.4
	s.each(0.9*s.density+0.1, func(bar int, from, length, energy float64, last bool) {
		v := func(accent int) int { return min(max(s.velocity(energy)+accent, 5), 127) }
		for e := range eighths {
			at := from + s.swung(e, eighths, length)
			if e == 0 || e == s.beats && s.r.Float64() < 0.8 || s.r.Float64() < 0.13*energy {
				hit("kick", v(12), at)
			}
			if e%4 == 2 {
				if energy < 0.35 {
					hit("rim", v(0), at)
				} else {
					hit("snare", v(14), at)
				}
			} else if s.r.Float64() < 0.08 {
				hit("snare", v(-35), at) // a ghost note
			}
			switch {
			case energy > 0.75:
				hit("ride", v(-10+10*(1-e%2)), at)
			case s.r.Float64() < 0.93:
				if e == eighths-1 && s.r.Float64() < 0.25 {
					hit("hat open", v(0), at)
				} else {
					hit("hat", v(-14+12*(1-e%2)), at)
				}
				if busy {
					hit("hat", v(-25), at+length/float64(2*eighths))
				}
			}
		}
		if bar == 0 || last && s.r.Float64() < 0.5 {
			hit("crash", v(8), from)
		}
		if last && s.r.Float64() < 0.75 { // a fill over the last beats
			n := 4 + s.r.IntN(8)
			for i := range n {
				tom := []string{"snare", "tom 1", "tom 2", "tom 3"}[min(i*4/n, 3)]
				hit(tom, v(8), from+length*(0.5+0.5*float64(i)/float64(n)))
			}
		}
	})
}

// channelOf names the source that a part of the kit sounds from.
func channelOf(part string) string {
	switch part {
	case "rim":
		return "snare"
	case "hat open":
		return "hat"
	case "crash", "ride":
		return "cymbals"
	}
	return part
}

func (s *song) playPercussion(dst []float32, p material.Player) {
	steps := 2 * s.beats * (1 + s.r.IntN(2))
	on := make([]float64, steps)
	for i := range on {
		on[i] = s.r.Float64()
	}
	s.each(0.7*s.density+0.1, func(_ int, from, length, energy float64, _ bool) {
		for i := range steps {
			if on[i] < 0.2+0.6*energy {
				s.note(dst, p, 60, s.velocity(energy*0.8), from+s.swung(i, steps, length), 1)
			}
		}
	})
}

func (s *song) playBass(dst []float32, t material.Tuned) {
	long := s.r.Float64() < 0.4
	s.each(0.8*s.density+0.15, func(bar int, from, length, energy float64, _ bool) {
		root := fit(s.chords[bar][0]-12, t.Low, t.High)
		steps := 2 * s.beats
		if long {
			s.note(dst, t.Player, root, s.velocity(energy), from, length*0.95)
			return
		}
		for e := range steps {
			if e == 0 || s.r.Float64() < 0.3+0.6*energy {
				key := root
				if s.r.Float64() < 0.2 {
					key = fit(root+[]int{7, 12, 5}[s.r.IntN(3)], t.Low, t.High)
				}
				s.note(dst, t.Player, key, s.velocity(energy), from+s.swung(e, steps, length), length/float64(steps)*(0.6+0.35*s.r.Float64()))
			}
		}
	})
}

// playChords strums, picks or holds; squeak adds the noise of fingers on wound
// strings when the hand moves.
func (s *song) playChords(dst []float32, t material.Tuned, how string, squeak bool) {
	s.each(0.7*s.density+0.1, func(bar int, from, length, energy float64, _ bool) {
		c := s.chords[bar]
		keys := []int{c[0], c[1], c[2], c[0] + 12, c[1] + 12}
		if squeak && s.r.Float64() < 0.5 {
			s.put(dst, squeakSound(s.r, s.rateHz), from-0.12, 0.05+0.15*s.r.Float64())
		}
		switch how {
		case "hold":
			for _, k := range keys[:4] {
				s.note(dst, t.Player, fit(k, t.Low, t.High), s.velocity(energy*0.7), from, length*1.02)
			}
		case "pick":
			steps := 2 * s.beats
			for e := range steps {
				s.note(dst, t.Player, fit(keys[s.r.IntN(len(keys))], t.Low, t.High), s.velocity(energy*0.7), from+s.swung(e, steps, length), length/2.5)
			}
		case "stab":
			for e := 1; e < 2*s.beats; e += 2 {
				if s.r.Float64() < 0.7 {
					for _, k := range keys[1:4] {
						s.note(dst, t.Player, fit(k, t.Low, t.High), s.velocity(energy), from+s.swung(e, 2*s.beats, length), 0.09)
					}
				}
			}
		default: // strum
			for e := 0; e < 2*s.beats; e++ {
				if e%2 == 0 || s.r.Float64() < 0.5 {
					at := from + s.swung(e, 2*s.beats, length)
					for i, k := range keys {
						s.note(dst, t.Player, fit(k, t.Low, t.High), s.velocity(energy*0.75), at+0.009*float64(i), length/float64(s.beats)*0.9)
					}
				}
			}
		}
	})
}

func (s *song) playMelody(dst []float32, t material.Tuned) {
	at := 0
	s.each(0.5*s.density+0.05, func(bar int, from, length, energy float64, _ bool) {
		c := s.chords[bar]
		t0 := 0.0
		for t0 < length*0.9 {
			d := length / float64(s.beats) * []float64{0.5, 1, 1, 2, 3}[s.r.IntN(5)]
			d = math.Min(d, length-t0)
			if s.r.Float64() < 0.78 {
				key := fit(c[(at+s.r.IntN(2))%3]+12, t.Low, t.High)
				at++
				s.note(dst, t.Player, key, s.velocity(energy), from+t0, d*0.92)
			}
			t0 += d
		}
	})
}

// playVoice sings or talks in phrases with gaps between; gap is the usual one.
func (s *song) playVoice(dst []float32, v material.Speaker, share, gap float64) {
	const shortestS = 1.5
	for _, p := range s.parts {
		if s.r.Float64() > share {
			continue
		}
		t, end := s.bars[p.fromBar], s.bars[p.fromBar+p.bars]
		for t < end-shortestS {
			x := v.Phrase(s.rateHz, s.r)
			if len(x) == 0 {
				return
			}
			s.put(dst, x, t, 0.35+0.65*p.energy*(0.7+0.3*s.r.Float64()))
			t += float64(len(x))/float64(s.rateHz) + gap*s.r.ExpFloat64()
		}
	}
}

// squeakSound is a short band of noise that slides upward.
func squeakSound(r *rand.Rand, rateHz int) []float32 {
	out := make([]float32, int(float64(rateHz)*(0.05+0.1*r.Float64())))
	hz, up := 1500+1500*r.Float64(), 1+0.8*r.Float64()
	var a, b float64
	for i := range out {
		f := float64(i) / float64(len(out))
		w := 2 * math.Pi * hz * (1 + (up-1)*f) / float64(rateHz)
		y := 0.05*r.NormFloat64() + 2*0.99*math.Cos(w)*a - 0.99*0.99*b
		b, a = a, y
		out[i] = float32(y * math.Sin(math.Pi*f))
	}
	return out
}
