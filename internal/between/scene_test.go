package between

import (
	"math"
	"math/rand/v2"

	"tidemark/internal/fourier"
)

// A scene is a source hit many times and heard by two microphones: built from
// known parts, so that the delay and the polarity are known.

const (
	sceneRate  = 48000
	sceneFrame = 16800 // 0.35 s a hit
	scenePre   = 960   // 20 ms before it
	sceneSize  = 32768 // of the transforms that filter it
)

var sceneFFT = fourier.NewReal(sceneSize)

type source func(r *rand.Rand) []float64 // one hit, from its first sample

// path is how a microphone hears a source.
type path struct {
	delay   float64 // samples, any fraction
	gain    float64 // sign: polarity
	filters []func(f float64) complex128
	room    float64 // level of reverberation re direct, linear
	early   float64 // level of the first reflections
	rt      float64 // reverberation time, s
	drive   float64 // amplifier's distortion before the filters
}

func randomSign(r *rand.Rand) float64 {
	if r.IntN(2) == 0 {
		return -1
	}
	return 1
}

func uniform(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }

// tone adds a decaying sine.
func tone(x []float64, hz, phase, amp, decayS float64) {
	for i := range x {
		t := float64(i) / sceneRate
		x[i] += amp * math.Exp(-t/decayS) * math.Sin(2*math.Pi*hz*t+phase)
	}
}

// burst adds decaying noise between two frequencies (first-order slopes).
func burst(r *rand.Rand, x []float64, amp, decayS, loHz, hiHz float64) {
	var lp, hp float64
	a, b := 1-math.Exp(-2*math.Pi*hiHz/sceneRate), 1-math.Exp(-2*math.Pi*loHz/sceneRate)
	for i := range x {
		t := float64(i) / sceneRate
		lp += a * (r.NormFloat64() - lp)
		hp += b * (lp - hp)
		x[i] += amp * math.Exp(-t/decayS) * (lp - hp)
	}
}

func snareHead(r *rand.Rand) []float64 {
	x := make([]float64, sceneFrame)
	v := uniform(r, 0.5, 1)
	base := 185 * uniform(r, 0.985, 1.015)
	tone(x, base, 0, 0.6*v, 0.09)
	tone(x, base*1.6, uniform(r, 0, 1), 0.35*v, 0.06)
	tone(x, base*2.3, uniform(r, 0, 2), 0.25*v, 0.04)
	tone(x, base*3.4, uniform(r, 0, 3), 0.2*v, 0.03)
	burst(r, x, 1.2*v, 0.004, 300, 9000)
	return x
}

func snareWires(r *rand.Rand) []float64 {
	x := make([]float64, sceneFrame)
	burst(r, x[40:], uniform(r, 0.4, 0.8), 0.09, 2500, 14000)
	return x
}

func snareAll(r *rand.Rand) []float64 {
	x := snareHead(r)
	for i, v := range snareWires(r) {
		x[i] += 0.5 * v
	}
	return x
}

func kick(r *rand.Rand) []float64 {
	x := make([]float64, sceneFrame)
	v := uniform(r, 0.6, 1)
	f0 := uniform(r, 52, 62)
	phase := 0.0
	for i := range x {
		t := float64(i) / sceneRate
		phase += 2 * math.Pi * (f0 + 70*math.Exp(-t/0.02)) / sceneRate
		x[i] = v * math.Exp(-t/0.12) * math.Sin(phase)
	}
	burst(r, x, 0.6*v, 0.004, 1500, 6000)
	tone(x, 240, 0, 0.2*v, 0.03)
	return x
}

func hat(r *rand.Rand) []float64 {
	x := make([]float64, sceneFrame)
	burst(r, x, uniform(r, 0.2, 0.6), 0.05, 6000, 18000)
	return x
}

func cymbal(r *rand.Rand) []float64 {
	x := make([]float64, sceneFrame)
	burst(r, x, uniform(r, 0.2, 0.5), 0.5, 2000, 16000)
	return x
}

// bass is a plucked note of an electric bass.
func bass(r *rand.Rand) []float64 {
	x := make([]float64, sceneFrame)
	f := 41.2 * math.Pow(2, float64(r.IntN(20))/12)
	v := uniform(r, 0.5, 1)
	pick := uniform(r, 0.12, 0.3)
	for k := 1; k <= 40; k++ {
		h := float64(k) * f * (1 + 0.00005*float64(k*k))
		if h > 6000 {
			break
		}
		amp := math.Sin(math.Pi*float64(k)*pick) / math.Pow(float64(k), 1.4)
		tone(x, h, 0, 0.6*v*amp, 0.8/(1+0.12*float64(k)))
	}
	burst(r, x, 0.08*v, 0.006, 300, 4000)
	return x
}

func voice(r *rand.Rand) []float64 {
	x := make([]float64, sceneFrame)
	f := uniform(r, 110, 320)
	phase := 0.0
	for i := range x {
		t := float64(i) / sceneRate
		phase += 2 * math.Pi * f * (1 + 0.01*math.Sin(2*math.Pi*5*t)) / sceneRate
		e := min(1, t/0.03)
		for k := 1; k <= 20; k++ {
			x[i] += 0.3 * e * math.Sin(float64(k)*phase) / float64(k)
		}
	}
	burst(r, x, 0.1, 0.3, 2000, 9000)
	return x
}

// Filters, as responses of first- and second-order analogue prototypes (minimum phase).
func lowPass(fc float64) func(float64) complex128 {
	return func(f float64) complex128 {
		s := complex(0, f/fc)
		return 1 / (1 + s*complex(math.Sqrt2, 0) + s*s)
	}
}

func highPass(fc float64) func(float64) complex128 {
	return func(f float64) complex128 {
		s := complex(0, f/fc)
		return s * s / (1 + s*complex(math.Sqrt2, 0) + s*s)
	}
}

func bell(fc, q, db float64) func(float64) complex128 {
	g := math.Pow(10, db/40)
	return func(f float64) complex128 {
		s := complex(0, f/fc)
		return (s*s + s*complex(g/q, 0) + 1) / (s*s + s*complex(1/(g*q), 0) + 1)
	}
}

// micColour is a random microphone and equaliser.
func micColour(r *rand.Rand) []func(float64) complex128 {
	return []func(float64) complex128{
		highPass(uniform(r, 20, 70)), lowPass(uniform(r, 14000, 22000)),
		bell(uniform(r, 150, 900), uniform(r, 0.7, 2), uniform(r, -5, 5)),
		bell(uniform(r, 2000, 9000), uniform(r, 0.7, 2), uniform(r, -6, 8)),
	}
}

// impulse is the response of a room: early reflections and a tail, no direct sound.
func (p path) impulse(r *rand.Rand) []float64 {
	h := make([]float64, sceneSize/2)
	if p.early > 0 {
		for range 7 {
			at := uniform(r, 0.0015, 0.022)
			h[int(at*sceneRate)] += randomSign(r) * p.early * uniform(r, 0.3, 1) * 0.01 / (0.006 + at)
		}
	}
	if p.room > 0 {
		n := int(p.rt * sceneRate)
		sum := 0.0
		tail := make([]float64, min(n, len(h)))
		lp := 0.0
		for i := 400; i < len(tail); i++ {
			lp += 0.5 * (r.NormFloat64() - lp)
			tail[i] = lp * math.Pow(10, -3*float64(i)/float64(n))
			sum += tail[i] * tail[i]
		}
		for i, v := range tail {
			h[i] += p.room * v / math.Sqrt(sum)
		}
	}
	return h
}

// mic is a path with its room drawn once: the same for every hit.
type mic struct {
	path
	response []complex128
}

func newMic(r *rand.Rand, p path) *mic {
	m := &mic{path: p, response: make([]complex128, sceneSize/2+1)}
	h := p.impulse(r)
	h[0] += 1
	full := make([]float64, sceneSize)
	copy(full, h)
	sceneFFT.Forward(m.response, full)
	for k := range m.response {
		f := float64(k) * sceneRate / sceneSize
		w := -2 * math.Pi * float64(k) / sceneSize * (p.delay + 1000) // room before it
		s, c := math.Sincos(w)
		v := m.response[k] * complex(p.gain*c, p.gain*s)
		for _, g := range p.filters {
			v *= g(f)
		}
		m.response[k] = v
	}
	m.response[sceneSize/2] = 0
	return m
}

// hear adds what both microphones make of a hit to a and b, the hit at frame at.
func (h heard) hear(a, b, hit []float64, at int) {
	x := make([]float64, sceneSize)
	plain, s := make([]complex128, sceneSize/2+1), make([]complex128, sceneSize/2+1)
	copy(x, hit)
	sceneFFT.Forward(plain, x)
	for i, m := range [2]*mic{h.a, h.b} {
		copy(s, plain)
		if m.drive > 0 {
			for i, v := range hit {
				x[i] = math.Tanh(m.drive*v+0.1) / m.drive
			}
			clear(x[len(hit):])
			sceneFFT.Forward(s, x)
		}
		for k := range s {
			s[k] *= m.response[k]
		}
		sceneFFT.Inverse(x, s)
		dst := [2][]float64{a, b}[i]
		for i := range dst {
			if j := i - at + 1000; j >= 0 && j < sceneSize {
				dst[i] += x[j]
			}
		}
	}
}

// heard is a source and its way to both lines.
type heard struct {
	play   source
	a, b   *mic
	level  float64
	chance float64 // of sounding in a window; at a random time unless always
	onHit  bool    // sounds with the hit (the source itself, its wires)
}

// scene is what both lines hear, and what is true of it.
type scene struct {
	parts    []heard
	floor    float64 // noise of each line
	hum      float64
	delay    float64
	polarity Polarity
}

// windows renders n hits and hands each to add.
func (s *scene) windows(r *rand.Rand, n int, add func(a, b []float32)) {
	for range n {
		a, b := make([]float64, sceneFrame), make([]float64, sceneFrame)
		jitter := r.IntN(96)
		humPhase := uniform(r, 0, 6)
		for _, h := range s.parts {
			at := scenePre - jitter
			if !h.onHit {
				if r.Float64() > h.chance {
					continue
				}
				at = r.IntN(sceneFrame) - sceneFrame/2
			}
			x := h.play(r)
			for i := range x {
				x[i] *= h.level
			}
			h.hear(a, b, x, at)
		}
		fa, fb := make([]float32, sceneFrame), make([]float32, sceneFrame)
		for i := range a {
			hum := s.hum * math.Sin(2*math.Pi*50*float64(i)/sceneRate+humPhase)
			fa[i] = float32(a[i] + hum + s.floor*r.NormFloat64())
			fb[i] = float32(b[i] + 0.7*hum + s.floor*r.NormFloat64())
		}
		add(fa, fb)
	}
}

func polarityOf(gain float64) Polarity {
	if gain < 0 {
		return Opposite
	}
	return Same
}

// bleedPart is another instrument of the room, at a random place.
func bleedPart(r *rand.Rand, play source, level, chance float64) heard {
	d := uniform(r, 40, 300)
	return heard{play: play, level: level, chance: chance,
		a: newMic(r, path{delay: d, gain: 1, filters: micColour(r), room: 0.3, rt: 0.4}),
		b: newMic(r, path{delay: d + uniform(r, -90, 90), gain: uniform(r, 0.5, 1.5), filters: micColour(r), room: 0.3, rt: 0.4}),
	}
}

func withBleed(r *rand.Rand, s *scene, level float64) {
	for _, p := range []source{kick, hat, cymbal, bass, voice} {
		s.parts = append(s.parts, bleedPart(r, p, level*uniform(r, 0.4, 1), 0.7))
	}
}

// sceneKinds are the pairs that a session has, each drawn at random from r.
var sceneKinds = []struct {
	name   string
	maxLag int
	within float64 // samples: nearly every scene
	make   func(r *rand.Rand) *scene
}{
	{"two microphones on a drum", 480, 0.5, func(r *rand.Rand) *scene {
		d, g := uniform(r, -60, 60), randomSign(r)*uniform(r, 0.3, 3)
		s := &scene{delay: d, polarity: polarityOf(g), floor: 1e-4}
		s.parts = []heard{{play: snareAll, level: 1, onHit: true,
			a: newMic(r, path{delay: 20, gain: 1, filters: micColour(r), room: 0.05, early: 0.1, rt: 0.4}),
			b: newMic(r, path{delay: 20 + d, gain: g, filters: micColour(r), room: 0.05, early: 0.1, rt: 0.4})}}
		withBleed(r, s, 0.05)
		return s
	}},
	{"snare top and bottom", 240, 2, func(r *rand.Rand) *scene {
		// The head goes away from one microphone and towards the other; the wires
		// sound at the bottom first and leak to the top. The bottom is right way up
		// on the recording where it was flipped at the preamp.
		d := uniform(r, -6, 18)
		flip := randomSign(r)
		// The low-pass below is the drum's own and makes the sound later by √2/(2π·4 kHz).
		s := &scene{delay: d + math.Sqrt2/(2*math.Pi*4000)*sceneRate, polarity: polarityOf(flip), floor: 1e-4}
		eqA, eqB := micColour(r), micColour(r)
		s.parts = []heard{
			{play: snareHead, level: 1, onHit: true,
				a: newMic(r, path{delay: 8, gain: 1, filters: eqA, room: 0.05, early: 0.08, rt: 0.4}),
				b: newMic(r, path{delay: 8 + d, gain: flip * uniform(r, 0.3, 0.8), filters: append(append([]func(float64) complex128{}, eqB...), lowPass(4000)), room: 0.05, early: 0.08, rt: 0.4})},
			{play: snareWires, level: 0.5, onHit: true,
				a: newMic(r, path{delay: 20, gain: 0.25, filters: eqA, room: 0.05, rt: 0.4}),
				b: newMic(r, path{delay: 6, gain: math.Abs(flip) * randomSign(r), filters: eqB, room: 0.05, rt: 0.4})},
		}
		withBleed(r, s, 0.06)
		return s
	}},
	{"kick in and out", 240, 3, func(r *rand.Rand) *scene {
		// The low-pass of the outer microphone, 3 to 8 kHz, makes it up to 3.6 samples
		// later than built: that is allowed for.
		d, g := uniform(r, 28, 84), randomSign(r)*uniform(r, 0.2, 1)
		s := &scene{delay: d, polarity: polarityOf(g), floor: 1e-4}
		s.parts = []heard{{play: kick, level: 1, onHit: true,
			a: newMic(r, path{delay: 5, gain: 1, filters: micColour(r), room: 0.02, early: 0.15, rt: 0.2}),
			b: newMic(r, path{delay: 5 + d, gain: g, filters: append(micColour(r), lowPass(uniform(r, 3000, 8000))), room: 0.1, early: 0.12, rt: 0.4})}}
		withBleed(r, s, 0.06)
		return s
	}},
	{"bass direct and amplifier", 240, 2, func(r *rand.Rand) *scene {
		d, g := uniform(r, 14, 144), randomSign(r)*uniform(r, 0.2, 2)
		s := &scene{delay: d, polarity: polarityOf(g), floor: 1e-4}
		s.parts = []heard{{play: bass, level: 1, onHit: true,
			a: newMic(r, path{delay: 0, gain: 1, filters: []func(float64) complex128{highPass(10), lowPass(18000)}}),
			b: newMic(r, path{delay: d, gain: g, drive: uniform(r, 0.3, 3), room: 0.05, early: 0.1, rt: 0.3,
				filters: []func(float64) complex128{highPass(uniform(r, 35, 70)), lowPass(uniform(r, 3000, 6000)), bell(uniform(r, 100, 800), 1, uniform(r, -6, 6))}})}}
		withBleed(r, s, 0.01)
		return s
	}},
	{"overheads on snare hits", 480, 0.5, func(r *rand.Rand) *scene {
		d, g := uniform(r, -70, 70), randomSign(r)*uniform(r, 0.6, 1.6)
		s := &scene{delay: d, polarity: polarityOf(g), floor: 1e-4}
		s.parts = []heard{{play: snareAll, level: 1, onHit: true,
			a: newMic(r, path{delay: 150, gain: 1, filters: micColour(r), room: 0.25, early: 0.3, rt: 0.5}),
			b: newMic(r, path{delay: 150 + d, gain: g, filters: micColour(r), room: 0.25, early: 0.3, rt: 0.5})}}
		withBleed(r, s, 0.3)
		return s
	}},
	{"snare close to overhead, 20 dB apart", 720, 0.5, func(r *rand.Rand) *scene {
		d, g := uniform(r, 120, 450), randomSign(r)*0.1
		s := &scene{delay: d, polarity: polarityOf(g), floor: 1e-4}
		s.parts = []heard{{play: snareAll, level: 1, onHit: true,
			a: newMic(r, path{delay: 8, gain: 1, filters: micColour(r), room: 0.03, early: 0.05, rt: 0.5}),
			b: newMic(r, path{delay: 8 + d, gain: g, filters: micColour(r), room: 0.3, early: 0.3, rt: 0.5})}}
		withBleed(r, s, 0.05)
		return s
	}},
	{"kick below 150 Hz only", 240, 5, func(r *rand.Rand) *scene {
		d, g := uniform(r, 20, 80), randomSign(r)*uniform(r, 0.3, 1)
		s := &scene{delay: d, polarity: polarityOf(g), floor: 1e-3}
		s.parts = []heard{{play: kick, level: 1, onHit: true,
			a: newMic(r, path{delay: 5, gain: 1, filters: []func(float64) complex128{lowPass(150), lowPass(150)}}),
			b: newMic(r, path{delay: 5 + d, gain: g, filters: []func(float64) complex128{lowPass(150), lowPass(150)}})}}
		return s
	}},
	{"bass direct and amplifier, legato, with hum", 240, 3, func(r *rand.Rand) *scene {
		d, g := uniform(r, 14, 144), randomSign(r)*uniform(r, 0.2, 2)
		s := &scene{delay: d, polarity: polarityOf(g), floor: 1e-4, hum: 0.002}
		a := newMic(r, path{gain: 1, filters: []func(float64) complex128{highPass(10), lowPass(18000)}})
		b := newMic(r, path{delay: d, gain: g, drive: uniform(r, 0.3, 3), room: 0.05, early: 0.1, rt: 0.3,
			filters: []func(float64) complex128{highPass(uniform(r, 35, 70)), lowPass(uniform(r, 3000, 6000)), bell(uniform(r, 100, 800), 1, uniform(r, -6, 6))}})
		s.parts = []heard{{play: bass, level: 1, onHit: true, a: a, b: b},
			{play: bass, level: 0.7, chance: 1, a: a, b: b}} // the note before still sounds, or the next begins
		withBleed(r, s, 0.02)
		return s
	}},
	{"overheads on snare hits among cymbals", 480, 2, func(r *rand.Rand) *scene {
		d, g := uniform(r, -70, 70), randomSign(r)*uniform(r, 0.6, 1.6)
		s := &scene{delay: d, polarity: polarityOf(g), floor: 1e-4, hum: 0.0005}
		s.parts = []heard{{play: snareAll, level: 1, onHit: true,
			a: newMic(r, path{delay: 150, gain: 1, filters: micColour(r), room: 0.35, early: 0.4, rt: 0.5}),
			b: newMic(r, path{delay: 150 + d, gain: g, filters: micColour(r), room: 0.35, early: 0.4, rt: 0.5})}}
		withBleed(r, s, 1)
		return s
	}},
}
