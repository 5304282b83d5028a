package band

import "math"

// mode is one way in which a body rings: a sine that starts at zero and dies.
type mode struct{ hz, decayS, level float64 } // decayS to −60 dB

// ring adds modes to dst. Each is a resonator hit once,
// y[n] = 2ρ·cos ω·y[n−1] − ρ²·y[n−2], four of them side by side.
func ring(dst []float32, fs float64, modes []mode) {
	live := make([]mode, 0, len(modes))
	for _, m := range modes {
		if m.hz > 0 && m.hz < 0.45*fs && m.level != 0 {
			live = append(live, m)
		}
	}
	for len(live) > 0 {
		var a, b, y1, y2 [4]float64
		long := 0.0
		for k := 0; k < 4 && k < len(live); k++ {
			m := live[k]
			w := 2 * math.Pi * m.hz / fs
			rho := math.Pow(10, -3/(m.decayS*fs))
			a[k], b[k] = 2*rho*math.Cos(w), -rho*rho
			y1[k], y2[k] = 0, -m.level*math.Sin(w)/rho
			long = max(long, m.decayS)
		}
		n := min(len(dst), int(1.4*long*fs)) // −84 dB
		p0, p1, p2, p3 := y1[0], y1[1], y1[2], y1[3]
		q0, q1, q2, q3 := y2[0], y2[1], y2[2], y2[3]
		for i := range dst[:n] {
			n0, n1 := a[0]*p0+b[0]*q0, a[1]*p1+b[1]*q1
			n2, n3 := a[2]*p2+b[2]*q2, a[3]*p3+b[3]*q3
			q0, q1, q2, q3 = p0, p1, p2, p3
			p0, p1, p2, p3 = n0, n1, n2, n3
			dst[i] += float32((n0 + n1) + (n2 + n3))
		}
		live = live[min(4, len(live)):]
	}
}

// decay is e^(−t/τ) sample by sample: multiply by step each time.
func decay(tau, fs float64) (step float64) { return math.Exp(-1 / (tau * fs)) }

// fadeOut brings the last seconds of x to zero.
func fadeOut(x []float32, seconds, fs float64) {
	n := min(len(x), int(seconds*fs))
	for i := range n {
		x[len(x)-1-i] *= float32(i) / float32(n)
	}
}

// choke damps x from the second at on, as a hand on a cymbal does.
func choke(x []float32, at, tau, fs float64) []float32 {
	i := max(0, int(at*fs))
	g, step := 1.0, decay(tau, fs)
	for ; i < len(x); i++ {
		g *= step
		if g < 1e-5 {
			return x[:i]
		}
		x[i] *= float32(g)
	}
	return x
}
