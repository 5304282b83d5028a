package meter

import (
	"math"
	"math/rand/v2"
)

// The made-up players that the fault meters must leave alone. Each adds to x and
// is seeded; sizes are full scale ±1.
type faultPlayer struct {
	rate int
	r    *rand.Rand
}

func newFaultPlayer(rate int, seed uint64) *faultPlayer {
	return &faultPlayer{rate, rand.New(rand.NewPCG(seed, 77))}
}

func (p *faultPlayer) seconds(s float64) int { return int(s * float64(p.rate)) }

func (p *faultPlayer) between(a, b float64) float64 { return a + (b-a)*p.r.Float64() }

// kick: a falling sine with a beater of filtered noise.
func (p *faultPlayer) kick(x []float32, at int, amp float64) {
	ph, lp := 0.0, 0.0
	low := p.between(45, 60)
	beat := p.between(0.004, 0.012)
	for i := 0; i < p.seconds(1.2) && at+i < len(x); i++ { // to −87 dB: a sample cut short would click
		t := float64(i) / float64(p.rate)
		ph += 2 * math.Pi * (low + 120*math.Exp(-t/0.02)) / float64(p.rate)
		lp += 0.35 * (p.r.NormFloat64() - lp)
		x[at+i] += float32(amp * (math.Sin(ph)*math.Exp(-t/0.12)*(1-math.Exp(-t/0.001)) + 0.5*lp*math.Exp(-t/beat)))
	}
}

// snare: two modes, and wires that ring on.
func (p *faultPlayer) snare(x []float32, at int, amp float64) {
	a, b := p.between(170, 200), p.between(300, 340)
	prev := 0.0
	for i := 0; i < p.seconds(0.8) && at+i < len(x); i++ {
		t := float64(i) / float64(p.rate)
		n := p.r.NormFloat64()
		hp := n - 0.7*prev
		prev = n
		v := 0.5*math.Sin(2*math.Pi*a*t)*math.Exp(-t/0.06) + 0.3*math.Sin(2*math.Pi*b*t)*math.Exp(-t/0.04) + 0.25*hp*math.Exp(-t/0.08)*(1-math.Exp(-t/0.0004))
		x[at+i] += float32(amp * v)
	}
}

// rim: a stick on a rim: short bright modes.
func (p *faultPlayer) rim(x []float32, at int, amp float64) {
	f := []float64{p.between(1600, 1900), p.between(3300, 4100), p.between(5200, 7000)}
	tau := p.between(0.004, 0.015)
	for i := 0; i < p.seconds(0.15) && at+i < len(x); i++ {
		t := float64(i) / float64(p.rate)
		v := 0.05 * p.r.NormFloat64() * math.Exp(-t/0.004)
		for k, hz := range f {
			v += math.Sin(2*math.Pi*hz*t) * math.Exp(-t/tau*float64(k+1)/1.5) / float64(k+2)
		}
		x[at+i] += float32(amp * v)
	}
}

// hat: high-passed noise, shut or open.
func (p *faultPlayer) hat(x []float32, at int, amp, decay float64) {
	a, b := 0.0, 0.0
	for i := 0; i < p.seconds(decay*7) && at+i < len(x); i++ {
		t := float64(i) / float64(p.rate)
		n := p.r.NormFloat64()
		d := n - 2*a + b
		a, b = n, a
		x[at+i] += float32(amp * 0.2 * d * math.Exp(-t/decay) * (1 - math.Exp(-t/0.0003)))
	}
}

func (p *faultPlayer) tom(x []float32, at int, amp, hz float64) {
	lp := 0.0
	for i := 0; i < p.seconds(2.5) && at+i < len(x); i++ {
		t := float64(i) / float64(p.rate)
		lp += 0.3 * (p.r.NormFloat64() - lp)
		v := math.Sin(2*math.Pi*hz*(1+0.3*math.Exp(-t/0.03))*t)*math.Exp(-t/0.25) + 0.4*math.Sin(2*math.Pi*hz*1.59*t)*math.Exp(-t/0.12) + 0.5*lp*math.Exp(-t/0.01)
		x[at+i] += float32(amp * 0.7 * v * (1 - math.Exp(-t/0.0008)))
	}
}

// tambourine: a burst of bursts.
func (p *faultPlayer) tambourine(x []float32, at int, amp float64) {
	for range 5 {
		p.hat(x, at+p.seconds(p.between(0, 0.03)), amp*p.between(0.2, 1), p.between(0.006, 0.03))
	}
}

// pluck: a string excited by a burst of noise that runs round a loop.
func (p *faultPlayer) pluck(x []float32, at int, hz, amp, seconds float64) {
	n := max(int(float64(p.rate)/hz), 2)
	loop := make([]float64, n)
	lp := 0.0
	for i := range loop {
		lp += 0.5 * (p.r.Float64()*2 - 1 - lp)
		loop[i] = lp
	}
	loss := math.Pow(0.001, 1/(hz*seconds))
	prev := 0.0
	for i := 0; i < p.seconds(seconds) && at+i < len(x); i++ {
		v := loop[i%n]
		loop[i%n] = loss * (0.5*v + 0.5*prev)
		prev = v
		x[at+i] += float32(amp * v)
	}
}

// bass: a few partials with a finger's noise at the start.
func (p *faultPlayer) bass(x []float32, at int, hz, amp, seconds float64) {
	for i := 0; i < p.seconds(seconds) && at+i < len(x); i++ {
		t := float64(i) / float64(p.rate)
		env := (1 - math.Exp(-t/0.004)) * math.Exp(-t/1.2)
		if left := seconds - t; left < 0.03 {
			env *= left / 0.03
		}
		v := 0.0
		for k := 1; k <= 8; k++ {
			v += math.Sin(2*math.Pi*hz*float64(k)*t*(1+0.0001*float64(k*k))) * math.Exp(-t*float64(k)*1.5) / math.Pow(float64(k), 1.2)
		}
		x[at+i] += float32(amp * (0.6*v*env + 0.01*p.r.NormFloat64()*math.Exp(-t/0.02)))
	}
}

// synth: a saw or a square, naive (its edges alias), or with its edges rounded
// over two samples, with vibrato.
func (p *faultPlayer) synth(x []float32, at int, hz, amp, seconds float64, square, naive bool) {
	ph := p.r.Float64()
	for i := 0; i < p.seconds(seconds) && at+i < len(x); i++ {
		t := float64(i) / float64(p.rate)
		f := hz * (1 + 0.004*math.Sin(2*math.Pi*5.3*t))
		dt := f / float64(p.rate)
		ph += dt
		ph -= math.Floor(ph)
		env := min(t/0.01, 1) * min((seconds-t)/0.02, 1)
		blep := func(q float64) float64 {
			switch {
			case naive:
				return 0
			case q < dt:
				q /= dt
				return q + q - q*q - 1
			case q > 1-dt:
				q = (q - 1) / dt
				return q*q + q + q + 1
			}
			return 0
		}
		var v float64
		if square {
			v = 1.0
			if ph >= 0.5 {
				v = -1
			}
			v += blep(ph) - blep(math.Mod(ph+0.5, 1))
		} else {
			v = 2*ph - 1 - blep(ph)
		}
		x[at+i] += float32(amp * v * env)
	}
}

// voice: glottal pulses through three formants, with breath, gaps and plosives.
func (p *faultPlayer) voice(x []float32, amp float64) {
	vowels := [][3]float64{{730, 1090, 2440}, {270, 2290, 3010}, {570, 840, 2410}, {530, 1840, 2480}, {300, 870, 2240}}
	at := p.seconds(0.1)
	for at < len(x) {
		length := p.seconds(p.between(0.12, 0.35))
		f := vowels[p.r.IntN(len(vowels))]
		hz := p.between(95, 210)
		if p.r.IntN(3) == 0 { // a plosive: stop, burst, breath
			at += p.seconds(p.between(0.03, 0.08))
			hp, prev := 0.0, 0.0
			tau := p.between(0.004, 0.015)
			for i := 0; i < p.seconds(0.06) && at+i < len(x); i++ {
				t := float64(i) / float64(p.rate)
				n := p.r.NormFloat64()
				hp = n - 0.5*prev
				prev = n
				x[at+i] += float32(amp * 0.35 * hp * (math.Exp(-t/tau) + 0.1*math.Exp(-t/0.025)) * (1 - math.Exp(-t/0.0005)))
			}
			at += p.seconds(p.between(0.01, 0.04))
		}
		var s [3][2]float64
		ph, glottis, prev := 0.0, 0.0, 0.0
		for i := 0; i < length && at+i < len(x); i++ {
			t := float64(i) / float64(length)
			env := min(t/0.15, 1) * min((1-t)/0.2, 1)
			ph += hz * (1 + 0.05*math.Sin(3*t) + 0.004*p.r.NormFloat64()) / float64(p.rate)
			if ph >= 1 {
				ph--
			}
			// A pulse that opens slowly and shuts fast.
			g := 0.0
			if ph < 0.6 {
				g = math.Sin(math.Pi * math.Pow(ph/0.6, 1.8))
			}
			glottis = g - prev
			prev = g
			exc := 12*glottis + 0.02*p.r.NormFloat64()
			v := 0.0
			for k := range f {
				rad := math.Exp(-math.Pi * (60 + 40*float64(k)) / float64(p.rate))
				c := 2 * rad * math.Cos(2*math.Pi*f[k]/float64(p.rate))
				y := exc*(1-rad) + c*s[k][0] - rad*rad*s[k][1]
				s[k][1], s[k][0] = s[k][0], y
				v += y / float64(k+1)
			}
			x[at+i] += float32(amp * v * env)
		}
		at += length
		switch p.r.IntN(4) {
		case 0: // an s
			for i := 0; i < p.seconds(0.1) && at+i < len(x); i++ {
				t := float64(i) / float64(p.seconds(0.1))
				n := p.r.NormFloat64()
				x[at+i] += float32(amp * 0.15 * (n - prev) * math.Sin(math.Pi*t))
				prev = n
			}
			at += p.seconds(0.1)
		case 1: // a rest
			at += p.seconds(p.between(0.1, 0.6))
		}
	}
}

// room is the noise that lies under every microphone.
func (p *faultPlayer) room(x []float32, sigma float64) {
	lp := 0.0
	for i := range x {
		n := p.r.NormFloat64()
		lp += 0.02 * (n - lp)
		x[i] += float32(sigma * (0.5*n + 3*lp))
	}
}

// faultBand is what each player plays alone, by name, and the mix of all.
func faultBand(rate int, seconds float64, seed uint64) map[string][]float32 {
	n := int(seconds * float64(rate))
	band := map[string][]float32{}
	part := func(name string, noise float64, play func(p *faultPlayer, x []float32)) {
		x := make([]float32, n)
		p := newFaultPlayer(rate, seed+uint64(len(name))*31+uint64(name[0]))
		play(p, x)
		p.room(x, noise)
		band[name] = x
	}
	step := func(p *faultPlayer, s float64, hit func(at, k int)) {
		for k, t := 0, 0.5; t < seconds; k, t = k+1, t+s*p.between(0.985, 1.015) {
			hit(p.seconds(t), k)
		}
	}
	part("kick", 2e-4, func(p *faultPlayer, x []float32) {
		step(p, 0.5, func(at, k int) { p.kick(x, at, p.between(0.3, 0.8)) })
	})
	part("snare", 2e-4, func(p *faultPlayer, x []float32) {
		step(p, 0.25, func(at, k int) {
			if k%4 == 2 {
				p.snare(x, at, p.between(0.5, 0.8))
			} else if k%3 == 1 {
				p.snare(x, at, p.between(0.03, 0.1))
			}
		})
	})
	part("rim", 1e-4, func(p *faultPlayer, x []float32) {
		step(p, 0.37, func(at, k int) { p.rim(x, at, p.between(0.1, 0.6)) })
	})
	part("hat", 1e-4, func(p *faultPlayer, x []float32) {
		step(p, 0.125, func(at, k int) { p.hat(x, at, p.between(0.05, 0.3), []float64{0.012, 0.02, 0.09, 0.015}[k%4]) })
	})
	part("toms", 2e-4, func(p *faultPlayer, x []float32) {
		step(p, 0.4, func(at, k int) { p.tom(x, at, p.between(0.2, 0.7), []float64{90, 120, 160}[k%3]) })
	})
	part("tambourine", 1e-4, func(p *faultPlayer, x []float32) {
		step(p, 0.22, func(at, k int) { p.tambourine(x, at, p.between(0.1, 0.5)) })
	})
	part("bass", 1e-4, func(p *faultPlayer, x []float32) {
		notes := []float64{41.203, 48.999, 55, 61.735, 65.406, 73.416, 82.407, 97.999}
		step(p, 0.3, func(at, k int) { p.bass(x, at, notes[p.r.IntN(len(notes))], 0.35, 0.29) })
	})
	part("guitar", 1e-4, func(p *faultPlayer, x []float32) {
		step(p, 0.28, func(at, k int) {
			for j := range 1 + p.r.IntN(4) {
				p.pluck(x, at+j*p.seconds(0.012), 82.407*math.Pow(2, float64(p.r.IntN(30))/12), 0.25, p.between(0.6, 2))
			}
		})
	})
	part("harp", 3e-5, func(p *faultPlayer, x []float32) {
		step(p, 0.2, func(at, k int) { p.pluck(x, at, 220*math.Pow(2, float64(p.r.IntN(36))/12), 0.3, 1.5) })
	})
	part("saw", 0, func(p *faultPlayer, x []float32) {
		step(p, 0.5, func(at, k int) { p.synth(x, at, 55*math.Pow(2, float64(p.r.IntN(48))/12), 0.3, 0.45, false, k%2 == 0) })
	})
	part("square", 3e-5, func(p *faultPlayer, x []float32) {
		step(p, 0.5, func(at, k int) { p.synth(x, at, 41.2*math.Pow(2, float64(p.r.IntN(36))/12), 0.2, 0.45, true, k%2 == 0) })
	})
	part("voice", 1e-4, func(p *faultPlayer, x []float32) { p.voice(x, 0.5) })
	part("whisper", 1e-3, func(p *faultPlayer, x []float32) { p.voice(x, 0.05) })
	mix := make([]float32, n)
	for _, name := range []string{"kick", "snare", "hat", "toms", "bass", "guitar", "saw", "voice"} {
		for i, v := range band[name] {
			mix[i] += 0.4 * v
		}
	}
	band["mix"] = mix
	return band
}
