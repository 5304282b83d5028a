package band

import "math"

// plate is the set of modes of one cymbal: many, without harmony, crowding
// towards the top. It is drawn once for a cymbal and kept from hit to hit.
func plate(d dice, n int, lowHz, highHz float64) []float64 {
	hz := make([]float64, n)
	for i := range hz {
		u := (float64(i) + d.Float64()) / float64(n)
		hz[i] = lowHz * math.Pow(highHz/lowHz, math.Pow(u, 0.75))
	}
	return hz
}

// cymbal is one stroke on a plate that rings for ringS at its lowest mode.
// Treble is fed from the low modes within some 10 ms, so it swells.
func cymbal(d dice, fs float64, hz []float64, v, ringS, tipLevel float64) []float32 {
	x := frames(ringS*1.05, fs)
	m := make([]mode, 0, len(hz))
	for _, f := range hz {
		t := ringS * math.Pow(hz[0]/f, 0.55) * d.between(0.7, 1.2)
		// Harder strokes are brighter.
		level := v * 0.28 * d.between(0.4, 1.3) * math.Pow(f/3000, 0.55*(v-0.6))
		if d.chance(0.5) {
			level = -level
		}
		m = append(m, mode{f, t, level})
	}
	ring(x, fs, m)
	burst(x, fs, d.hiss(), bandpass(7400, 0.5, fs), 0.008, ringS*0.11, 1.3*v*v)
	burst(x, fs, d.hiss(), bandpass(4300, 0.6, fs), 0.004, ringS*0.05, 0.9*v)
	// The stick's tip.
	burst(x, fs, d.hiss(), bandpass(5200, 0.9, fs), 0.0001, 0.003, tipLevel*v)
	fadeOut(x, 0.05*ringS, fs)
	return x
}

// hat is a stroke on the hi-hat; open 0 is shut tight, 1 rings free.
func hat(d dice, fs float64, hz []float64, v, open float64) []float32 {
	ringS := 0.09 + 0.75*open*open
	x := frames(ringS+0.04, fs)
	m := make([]mode, 0, len(hz))
	for _, f := range hz {
		level := v * 0.16 * d.between(0.4, 1.3)
		if d.chance(0.5) {
			level = -level
		}
		m = append(m, mode{f, ringS * d.between(0.5, 1.1) * math.Sqrt(3000/f), level})
	}
	ring(x, fs, m)
	burst(x, fs, d.hiss(), highpass(6200, 0.8, fs), 0.0006, ringS*0.17, (1.15+0.6*open)*v)
	burst(x, fs, d.hiss(), bandpass(3400, 0.8, fs), 0.0001, 0.004, 1.2*v)
	fadeOut(x, 0.02, fs)
	return x
}

// tambourine: pairs of jingles that strike each other a few times a stroke.
func tambourine(d dice, fs, v float64) []float32 {
	x := frames(0.28, fs)
	for range 16 + int(8*v) {
		at := int(math.Abs(d.near(0, 0.022)) * fs)
		level := v * d.between(0.05, 0.17) * math.Exp(-float64(at)/(0.05*fs))
		f := d.between(5200, 6400)
		ring(x[at:], fs, []mode{{f, 0.16, level}, {f * 1.47, 0.13, -0.9 * level}, {f * 1.93, 0.10, 0.7 * level}})
	}
	burst(x, fs, d.hiss(), bandpass(900, 1, fs), 0.0005, 0.008, 0.30*v)
	fadeOut(x, 0.03, fs)
	return x
}

// shaker: grains thrown against the wall, soft at first.
func shaker(d dice, fs, v float64) []float32 {
	x := frames(0.11, fs)
	f := bandpass(6800, 0.9, fs)
	h := d.hiss()
	top := d.between(0.022, 0.030)
	for i := range x {
		t := float64(i) / fs
		e := (t / top) * math.Exp(1-t/top)
		x[i] = float32(0.20 * v * e * e * f.next(h.next()))
	}
	fadeOut(x, 0.02, fs)
	return x
}
