package band

import "math"

// pluck is how a string is set going.
type pluck struct {
	hz     float64
	holdS  float64 // until it is damped
	ringS  float64 // to −60 dB at the fundamental, undamped
	bright float64 // corner of the excitation in Hz
	dull   float64 // 0…0.5: treble lost in each round
	place  float64 // where it is plucked, share of its length
	pickup float64 // where a pickup listens, share of its length; 0 for the bridge's force
	level  float64
	noise  float64 // share of noise in the excitation: nail and winding
}

// play sounds one pluck: a wave that runs round in a delay line of one period,
// losing a little of its treble each time (the plucked-string loop of Karplus
// and Strong, with the pluck's and the pickup's place as combs).
func (p pluck) play(d dice, fs float64) []float32 {
	const release = 0.045
	x := frames(p.holdS+4*release, fs)
	period := fs / p.hz
	// The loop's filter (1 − dull) + dull·z⁻¹ delays by about dull frames.
	whole := int(period - p.dull - 0.3)
	frac := period - p.dull - float64(whole) // 0.3 … 1.3
	ap := (1 - frac) / (1 + frac)            // allpass for the fraction
	keep := math.Pow(10, -3/(p.hz*p.ringS))

	line := make([]float64, whole)
	soft, soft2 := newOnePole(p.bright, fs), newOnePole(p.bright*1.7, fs)
	h := d.hiss()
	mean := 0.0
	for i := range line {
		// A string drawn aside at place and let go: its slope is a pulse train.
		u := float64(i) / float64(whole)
		e := -p.place
		if u < p.place {
			e = 1 - p.place
		}
		line[i] = soft2.next(soft.next((1-p.noise)*2*e + p.noise*h.next()))
		mean += line[i] / float64(whole)
	}
	for i := range line {
		line[i] -= mean
	}
	tapBack := 0
	if p.pickup > 0 {
		tapBack = max(1, int(p.pickup*float64(whole)))
	}
	at, before, apx, apy := 0, 0.0, 0.0, 0.0
	g, gs := p.level, decay(release, fs)
	hold := int(p.holdS * fs)
	for i := range x {
		v := line[at]
		out := v
		if tapBack > 0 {
			j := at - tapBack
			if j < 0 {
				j += whole
			}
			out -= line[j]
		}
		y := keep * ((1-p.dull)*v + p.dull*before)
		before = v
		z := ap*y + apx - ap*apy
		apx, apy = y, z
		line[at] = z
		if at++; at == whole {
			at = 0
		}
		if i > hold {
			g *= gs
		}
		x[i] = float32(g * out)
	}
	fadeOut(x, 0.01, fs)
	return x
}

func midiHz(n float64) float64 { return 440 * math.Pow(2, (n-69)/12) }

// bassNote is one fingered note as the pickup gives it, full scale about 1.
func bassNote(d dice, fs, midi, holdS, v float64) []float32 {
	x := pluck{hz: midiHz(midi), holdS: holdS, ringS: 5.5, bright: 450 + 900*v*v, dull: 0.22, place: 0.17,
		pickup: 0.22, level: 0.55 * v, noise: 0.12}.play(d, fs)
	// Flesh lets go slowly: the wave has no corner.
	for i := range min(len(x), int(0.003*fs)) {
		x[i] *= float32(0.5 - 0.5*math.Cos(math.Pi*float64(i)/(0.003*fs)))
	}
	// The finger lands a moment before it leaves.
	burst(x, fs, d.hiss(), bandpass(900, 1, fs), 0.0005, 0.004, 0.05*v)
	return x
}

// electricNote is one string of the electric guitar at its pickup.
func electricNote(d dice, fs, midi, holdS, v float64) []float32 {
	return pluck{hz: midiHz(midi), holdS: holdS, ringS: 4.2, bright: 1800 + 2600*v, dull: 0.16, place: 0.13,
		pickup: 0.27, level: 0.30 * v, noise: 0.18}.play(d, fs)
}

// steelNote is one string of the acoustic guitar, before its body.
func steelNote(d dice, fs, midi, holdS, v float64) []float32 {
	x := pluck{hz: midiHz(midi), holdS: holdS, ringS: 3.4, bright: 4200 + 5200*v, dull: 0.07, place: 0.19,
		level: 0.16 * v, noise: 0.22}.play(d, fs)
	burst(x, fs, d.hiss(), bandpass(4200, 0.8, fs), 0.0003, 0.005, 0.035*v)
	return x
}

// body is a guitar's box: air and top plate ring, the rest is even.
func body(fs float64) Filter {
	return chain{highpass(75, 0.7, fs), bell(104, 3, 6, fs), bell(205, 3.5, 5, fs), bell(430, 2, 2, fs), bell(1100, 1.2, -3, fs), bell(5500, 0.7, 5, fs), lowpass(14000, 0.7, fs)}
}

// tubes is an amplifier: drive into a soft, uneven curve, and back.
type tubes struct{ drive, level, lean float64 }

func (a tubes) Filter(x []float32) {
	rest := math.Tanh(a.lean)
	for i, v := range x {
		x[i] = float32(a.level * (math.Tanh(a.drive*float64(v)+a.lean) - rest))
	}
}

// pickup is a coil: its inductance and the cable end the treble at hz.
func pickup(hz, q, fs float64) Filter { return lowpass(hz, q, fs) }

// bassAmp is the bass player's amplifier and box, from the string's signal to
// pascal at 1 m.
func bassAmp(fs float64) Filter {
	return chain{tubes{2.2, 1.5, 0.12}, highpass(38, 0.8, fs), bell(68, 0.8, 6, fs), bell(330, 0.9, -6, fs), bell(1500, 1, 3, fs), lowpass(3600, 0.8, fs), lowpass(4200, 0.6, fs)}
}

// guitarAmp is a small open amplifier with a glow.
func guitarAmp(fs float64) Filter {
	return chain{highpass(110, 0.7, fs), tubes{3.4, 1.1, 0.2}, highpass(85, 0.9, fs), bell(130, 1.2, 2, fs), bell(520, 0.8, -5, fs), bell(2700, 1.2, 6, fs), lowpass(4900, 0.9, fs), lowpass(5600, 0.7, fs)}
}

// pianoNote is one key of an upright: three strings that drift apart, partials
// stretched by stiffness, a hammer that is softer when it is slow.
func pianoNote(d dice, fs, midi, holdS, v float64) []float32 {
	f0 := midiHz(midi) * d.near(1, 0.0003)
	stiff := 0.00035 * math.Pow(2, (midi-60)/14)
	ringS := 9.0 * math.Pow(2, -(midi-48)/16)
	const release = 0.07
	x := frames(holdS+5*release, fs)
	top := 3200 + 5600*v
	var m []mode
	for k := 1; k <= 22; k++ {
		n := float64(k)
		hz := n * f0 * math.Sqrt(1+stiff*n*n)
		if hz > 9000 {
			break
		}
		// The hammer strikes at an eighth of the string.
		level := v * 0.44 * math.Abs(math.Sin(math.Pi*n/8.2)) / math.Pow(n, 0.75) * math.Exp(-hz/top) * d.between(0.7, 1.2)
		t := ringS / (1 + 0.22*n)
		m = append(m, mode{hz, t, level * 0.62}, mode{hz * (1 + d.near(0, 0.00035)), t * 0.45, level * 0.55})
	}
	ring(x, fs, m)
	burst(x, fs, d.hiss(), bandpass(420, 0.8, fs), 0.001, 0.018, 0.09*v)
	burst(x, fs, d.hiss(), bandpass(2400, 0.8, fs), 0.0004, 0.006, 0.055*v)
	return choke(x, holdS, release, fs)
}
