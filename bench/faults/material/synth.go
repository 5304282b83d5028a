package material

import (
	"math"
	"math/rand/v2"
)

// Synthetic is a store made of plain synthesis: it needs no fetched sound, and is
// what the bench's own tests run on.
func Synthetic() *Store {
	s := &Store{Tuned: map[string][]Tuned{}, From: []string{"plain synthesis, no recorded sound"}}
	kit := Kit{
		"kick":     drum{hz: 52, drop: 3, decay: 0.28, noise: 0.12, noiseDecay: 0.01},
		"snare":    drum{hz: 190, drop: 0.4, decay: 0.12, noise: 0.7, noiseDecay: 0.14},
		"rim":      drum{hz: 420, drop: 0.1, decay: 0.03, noise: 0.5, noiseDecay: 0.02},
		"hat":      drum{hz: 6200, decay: 0.02, noise: 1, noiseDecay: 0.05, bright: true},
		"hat open": drum{hz: 6000, decay: 0.02, noise: 1, noiseDecay: 0.4, bright: true},
		"tom 1":    drum{hz: 150, drop: 0.5, decay: 0.35, noise: 0.1, noiseDecay: 0.02},
		"tom 2":    drum{hz: 112, drop: 0.5, decay: 0.4, noise: 0.1, noiseDecay: 0.02},
		"tom 3":    drum{hz: 82, drop: 0.5, decay: 0.5, noise: 0.1, noiseDecay: 0.02},
		"crash":    drum{hz: 4100, decay: 0.1, noise: 1, noiseDecay: 1.6, bright: true},
		"ride":     drum{hz: 3300, decay: 0.7, noise: 0.5, noiseDecay: 0.7, bright: true},
	}
	s.Kits = []Kit{kit}
	s.Percussion = []Hit{
		{"Conga", drum{hz: 230, drop: 0.2, decay: 0.18, noise: 0.15, noiseDecay: 0.01}},
		{"Shaker", drum{hz: 7000, decay: 0.01, noise: 1, noiseDecay: 0.06, bright: true}},
		{"Wood block", drum{hz: 900, decay: 0.06, noise: 0.2, noiseDecay: 0.005}},
	}
	add := func(role, name string, low, high int, p Player) {
		s.Tuned[role] = append(s.Tuned[role], Tuned{name, p, low, high})
	}
	add("bass", "Bass", 28, 48, pluck{bright: 0.35})
	add("electric", "Guitar", 40, 76, pluck{bright: 0.6, drive: 2.5})
	add("acoustic", "Acoustic", 40, 76, pluck{bright: 0.85})
	add("piano", "Piano", 33, 90, pluck{bright: 0.7})
	add("epiano", "Electric piano", 36, 84, tone{partials: []float64{1, 0.1, 0.3}, decay: 1.8})
	add("organ", "Organ", 36, 84, tone{partials: []float64{1, 0.8, 0.5, 0.4, 0, 0.3, 0, 0.2}})
	add("accordion", "Accordion", 48, 84, tone{partials: []float64{1, 0.7, 0.6, 0.5, 0.4, 0.3, 0.3, 0.2, 0.2, 0.1}, attack: 0.05, detune: 0.0025})
	add("winds", "Horn", 46, 80, tone{partials: []float64{0.7, 1, 0.8, 0.6, 0.4, 0.3, 0.2, 0.1}, attack: 0.06, breath: 0.02})
	add("strings", "Fiddle", 55, 88, tone{partials: []float64{1, 0.8, 0.6, 0.5, 0.5, 0.3, 0.3, 0.2}, attack: 0.1, vibrato: 0.006})
	add("choir", "Voices", 48, 80, tone{partials: []float64{1, 0.5, 0.3, 0.1, 0.05}, attack: 0.12, vibrato: 0.008, breath: 0.03})
	add("mallets", "Vibes", 53, 88, tone{partials: []float64{1, 0, 0, 0.4}, decay: 1.5})
	s.Voices = []Speaker{talker{110}, talker{190}}
	return s
}

// drum is a falling sine and a burst of noise.
type drum struct {
	hz, drop, decay, noise, noiseDecay float64
	bright                             bool
}

func (d drum) Note(_, velocity int, _ float64, rateHz int, r *rand.Rand) []float32 {
	v := float64(velocity) / 127
	fs := float64(rateHz)
	out := make([]float32, int(fs*7*math.Max(d.decay, d.noiseDecay)))
	phase, last := 0.0, 0.0
	hz := d.hz * (1 + 0.01*r.NormFloat64())
	for i := range out {
		t := float64(i) / fs
		phase += 2 * math.Pi * hz * (1 + d.drop*math.Exp(-t/0.02)) / fs
		white := r.NormFloat64() * 0.4
		n := white
		if d.bright {
			n = white - last
		}
		last = white
		s := (1-d.noise)*math.Sin(phase)*math.Exp(-t/d.decay) + d.noise*n*math.Exp(-t/d.noiseDecay)
		out[i] = float32(s * v * v * math.Min(1, t*2000))
	}
	return out
}

// pluck is a string: a delay line closed through an averaging filter.
type pluck struct{ bright, drive float64 }

func (p pluck) Note(key, velocity int, held float64, rateHz int, r *rand.Rand) []float32 {
	fs := float64(rateHz)
	hz := 440 * math.Exp2(float64(key-69)/12)
	line := make([]float64, max(int(fs/hz), 4))
	v := float64(velocity) / 127
	last := 0.0
	for i := range line {
		last += (0.15 + 0.8*p.bright*v) * (r.NormFloat64() - last)
		line[i] = last
	}
	out := make([]float32, int(fs*(held+0.15)))
	pos, prev := 0, 0.0
	loss := math.Exp(-1 / (fs * 1.2) * float64(len(line)))
	for i := range out {
		x := line[pos]
		line[pos] = loss * (0.5*x + 0.5*prev)
		prev = x
		pos = (pos + 1) % len(line)
		if p.drive > 0 {
			x = math.Tanh(p.drive * x)
		}
		if t := float64(i)/fs - held; t > 0 {
			x *= math.Exp(-t / 0.03)
		}
		out[i] = float32(0.4 * v * x)
	}
	return out
}

// tone is a sum of partials with an envelope.
type tone struct {
	partials                               []float64
	attack, decay, vibrato, breath, detune float64
}

func (o tone) Note(key, velocity int, held float64, rateHz int, r *rand.Rand) []float32 {
	fs := float64(rateHz)
	hz := 440 * math.Exp2(float64(key-69)/12)
	v := float64(velocity) / 127
	out := make([]float32, int(fs*(held+0.3)))
	phase, second := r.Float64()*6, r.Float64()*6
	for i := range out {
		t := float64(i) / fs
		phase += 2 * math.Pi * hz * (1 + o.vibrato*math.Sin(2*math.Pi*5.3*t)) / fs
		second += 2 * math.Pi * hz * (1 + o.detune) / fs
		x := o.breath * r.NormFloat64()
		for k, a := range o.partials {
			n := float64(k + 1)
			if n*hz > fs/2.2 {
				break
			}
			x += 0.3 * a * math.Sin(n*phase)
			if o.detune > 0 {
				x += 0.3 * a * math.Sin(n*second)
			}
		}
		e := math.Min(1, t/math.Max(o.attack, 0.005))
		if o.decay > 0 {
			e *= math.Exp(-t / o.decay)
		}
		if t > held {
			e *= math.Exp(-(t - held) / 0.05)
		}
		out[i] = float32(v * e * x)
	}
	return out
}

// talker babbles: pulses and breath through two wandering resonances.
type talker struct{ hz float64 }

func (k talker) Phrase(rateHz int, r *rand.Rand) []float32 {
	fs := float64(rateHz)
	var out []float32
	phase := 0.0
	for range 3 + r.IntN(8) {
		n := int(fs * (0.1 + 0.25*r.Float64()))
		f1, f2 := 300+500*r.Float64(), 900+1400*r.Float64()
		hz := k.hz * (0.85 + 0.3*r.Float64())
		voiced := r.Float64() < 0.8
		var a, b [2]float64
		for i := range n {
			phase += hz / fs
			x := 0.02 * r.NormFloat64()
			if phase >= 1 {
				phase--
				if voiced {
					x++
				}
			}
			if !voiced {
				x = 0.1 * r.NormFloat64()
			}
			e := math.Sin(math.Pi * float64(i) / float64(n))
			y := resonate(&a, x, f1, 80, fs) + 0.6*resonate(&b, x, f2, 120, fs)
			out = append(out, float32(y*e))
		}
		out = append(out, make([]float32, int(fs*0.05*r.Float64()))...)
	}
	return scaled(out, 1)
}

func resonate(s *[2]float64, x, hz, width, fs float64) float64 {
	p := math.Exp(-math.Pi * width / fs)
	y := x + 2*p*math.Cos(2*math.Pi*hz/fs)*s[0] - p*p*s[1]
	s[1], s[0] = s[0], y
	return y
}
