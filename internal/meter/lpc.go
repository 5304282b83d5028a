package meter

import "math"

// arOrder is the order of the model that tells a click from the sound around it.
// Published: 20 to 50 at 44.1 kHz (Godsill & Rayner, Digital Audio Restoration, 1998).
const arOrder = 32

// autoregression models a sound by its past and finds what the model cannot say.
//
//	e[n] = x[n] + Σ a[k]·x[n−k],  k = 1 … arOrder      (forward)
//	b[n] = x[n] + Σ a[k]·x[n+k]                        (backward: the same a, since a
//	                                                    spectrum knows no direction of time)
type autoregression struct {
	r, a, t  [arOrder + 1]float64
	windowed []float64
}

// fit finds the model of the sounds in parts, each under a Hann window, by the
// autocorrelation method and Levinson's recursion. Silence gives e[n] = x[n].
func (m *autoregression) fit(parts ...[]float64) {
	m.r, m.a = [arOrder + 1]float64{}, [arOrder + 1]float64{1}
	for _, x := range parts {
		w := m.windowed[:len(x)]
		step := 2 * math.Pi / float64(len(x))
		for i, v := range x {
			w[i] = v * (0.5 - 0.5*math.Cos(step*(float64(i)+0.5)))
		}
		for k := range m.r {
			var s float64
			y := w[k:]
			for i, v := range y {
				s += v * w[i]
			}
			m.r[k] += s
		}
	}
	if !(m.r[0] > 0) {
		return
	}
	// A little white noise keeps the recursion sound on pure tones.
	err := m.r[0] * (1 + 1e-9)
	m.r[0] = err
	for i := 1; i <= arOrder; i++ {
		s := m.r[i]
		for k := 1; k < i; k++ {
			s += m.a[k] * m.r[i-k]
		}
		c := -s / err
		m.t = m.a
		for k := 1; k < i; k++ {
			m.a[k] = m.t[k] + c*m.t[i-k]
		}
		m.a[i] = c
		if err *= 1 - c*c; !(err > 0) {
			return
		}
	}
}

// residual writes the forward residual of x[arOrder:len(x)−arOrder] to e and the
// size of the backward one to back, and then to back the smaller of both: after
// an impulse the forward one rings on, before it the backward one. A step lies
// between two samples, so a neighbour's backward residual will do. e and back are
// as long as x; their first and last arOrder values are 0.
func (m *autoregression) residual(e, back, x []float64) {
	clear(e)
	clear(back)
	for n := arOrder; n < len(x)-arOrder; n++ {
		past, next := x[n-arOrder:n], x[n+1:n+1+arOrder]
		f, b := x[n], x[n]
		for k := 1; k <= arOrder; k++ {
			f += m.a[k] * past[arOrder-k]
			b += m.a[k] * next[k-1]
		}
		e[n], back[n] = f, math.Abs(b)
	}
	last := 0.0
	for n := 1; n < len(x)-1; n++ {
		here := back[n]
		back[n] = min(math.Abs(e[n]), max(last, here, back[n+1]))
		last = here
	}
}
