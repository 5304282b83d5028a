package band

import "math"

// Ratios of a circular membrane's modes (0,1) (1,1) (2,1) (0,2) (3,1) (1,2)
// (4,1) (2,2) (0,3): zeros of the Bessel functions over the first, 2.4048.
var headRatios = [...]float64{1, 1.594, 2.136, 2.296, 2.653, 2.918, 3.156, 3.500, 3.600}

// frames of a sound of the given seconds.
func frames(seconds, fs float64) []float32 { return make([]float32, max(1, int(seconds*fs))) }

// sweep adds a sine whose frequency falls from hz·(1 + rise) to hz with the
// time constant bend, while its level dies with tau: a head that is stretched
// by the stroke and comes back.
func sweep(dst []float32, fs, hz, rise, bend, tau, level float64) {
	phase, g, gs := 0.0, level, decay(tau, fs)
	up, us := rise, decay(bend, fs)
	for i := range dst {
		dst[i] += float32(g * math.Sin(phase))
		phase += 2 * math.Pi * hz * (1 + up) / fs
		if phase > 2*math.Pi {
			phase -= 2 * math.Pi
		}
		g *= gs
		up *= us
	}
}

// burst adds filtered noise that rises in rise seconds and dies with tau.
func burst(dst []float32, fs float64, h hiss, f interface{ next(float64) float64 }, rise, tau, level float64) {
	g, gs := level, decay(tau, fs)
	up := 1.0
	us := decay(max(rise, 1e-5), fs)
	for i := range dst {
		up *= us
		dst[i] += float32(g * (1 - up) * f.next(h.next()))
		g *= gs
		if math.Abs(g) < 1e-5*math.Abs(level) {
			return
		}
	}
}

// kickBeater is what the felt and the near head do inside the shell.
func kickBeater(d dice, fs, v float64) []float32 {
	x := frames(0.35, fs)
	sweep(x, fs, d.near(53, 0.15), 1.4*v, 0.018, 0.075, 3.4*v)
	sweep(x, fs, 171, 0.3, 0.02, 0.022, 0.6*v)
	burst(x, fs, d.hiss(), bandpass(3100, 0.9, fs), 0.0002, 0.0035, 5.5*v*v)
	burst(x, fs, d.hiss(), lowpass(900, 0.7, fs), 0.0004, 0.012, 1.0*v)
	fadeOut(x, 0.03, fs)
	return x
}

// kickFront is what the far head gives, 1.2 ms behind the near one: round, low.
func kickFront(d dice, fs, v float64) []float32 {
	x := frames(0.5, fs)
	y := x[int(0.0012*fs):]
	// Rise times bend is that of the near head: the two end up in step.
	sweep(y, fs, d.near(53, 0.15), 0.9*v, 0.028, 0.085, 3.2*v)
	sweep(y, fs, 96, 0.1, 0.03, 0.05, 0.8*v)
	burst(y, fs, d.hiss(), lowpass(1600, 0.6, fs), 0.0006, 0.006, 0.7*v)
	fadeOut(x, 0.05, fs)
	return x
}

// snare gives the two heads of one stroke. The stick drives both downwards, so
// they press the air on their sides the opposite way; the wires rattle against the
// lower one and shake both together.
// rim is the share of a rim shot.
func snare(seed uint64, no int, fs, v, rim float64) (top, bottom func() []float32) {
	heads := func(x []float32, d dice, bright float64) {
		var m []mode
		f := d.near(188, 0.8) * (1 + 0.03*v)
		for k, r := range headRatios {
			m = append(m, mode{f * r * d.near(1, 0.002), (0.19 - 0.012*float64(k)) * d.between(0.9, 1.1),
				2.3 * v * math.Pow(bright, float64(k)) * d.between(0.8, 1.2)})
		}
		// A rim shot rings the shell.
		m = append(m, mode{1480, 0.07, 0.5 * rim * v}, mode{2310, 0.05, 0.4 * rim * v})
		ring(x, fs, m)
	}
	wires := func(x []float32, d dice, level float64) {
		tau := 0.030 + 0.022*v
		burst(x, fs, d.hiss(), bandpass(5200, 0.45, fs), 0.002, tau, level)
		burst(x, fs, d.hiss(), bandpass(2300, 0.7, fs), 0.001, tau*0.8, 0.6*level)
	}
	top = func() []float32 {
		x := frames(0.38, fs)
		d := newDice(seed, "snare", no)
		heads(x, d, 0.80)
		burst(x, fs, d.hiss(), bandpass(3600, 0.6, fs), 0.0001, 0.004, (2.8+1.8*rim)*v)
		wires(x, newDice(seed, "wires", no), -0.9*math.Pow(v, 0.85))
		fadeOut(x, 0.04, fs)
		return x
	}
	bottom = func() []float32 {
		x := frames(0.38, fs)
		heads(x, newDice(seed, "snare", no), 0.70)
		for i := range x {
			x[i] *= -0.75
		}
		wires(x, newDice(seed, "wires", no), 3.3*math.Pow(v, 0.85))
		fadeOut(x, 0.04, fs)
		return x
	}
	return top, bottom
}

// tom is a two-headed drum without wires, of the pitch hz.
func tom(d dice, fs, hz, v float64) []float32 {
	x := frames(0.9, fs)
	tau := 0.105 * math.Sqrt(110/hz)
	sweep(x, fs, hz*d.near(1, 0.002), 0.10*v, 0.06, tau, 2.3*v)
	sweep(x, fs, hz*1.594, 0.10*v, 0.05, tau*0.6, 1.0*v)
	var m []mode
	for k, r := range headRatios[2:] {
		m = append(m, mode{hz * r * d.near(1, 0.004), 0.35 * tau / 0.12 * math.Pow(0.85, float64(k)), 0.8 * v * math.Pow(0.8, float64(k))})
	}
	ring(x, fs, m)
	burst(x, fs, d.hiss(), bandpass(2600, 0.6, fs), 0.0002, 0.005, 1.6*v)
	fadeOut(x, 0.1, fs)
	return x
}

// sticks is a click of two sticks on each other.
func sticks(d dice, fs, v float64) []float32 {
	x := frames(0.09, fs)
	ring(x, fs, []mode{{d.near(2150, 15), 0.035, 0.5 * v}, {3480, 0.025, 0.35 * v}, {5290, 0.018, 0.25 * v}, {7900, 0.01, 0.12 * v}})
	burst(x, fs, d.hiss(), highpass(2500, 0.7, fs), 0.0001, 0.002, 0.4*v)
	return x
}
