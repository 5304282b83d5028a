package meter

import "math"

const (
	pitchSide  = 3               // lags on either side of the middle one
	pitchLags  = 2*pitchSide + 1 // through which the polynomial goes
	pitchSteps = 4               // times as many periods in each step
)

// refine places the period of the segment more finely. Windows lie about the
// middle of the segment, so that a glide's pitch is that of the middle.
func (m *Pitch) refine(lag float64) float64 {
	fine, share, ok := m.valley(lag)
	if !ok {
		return lag
	}
	lag = fine
	for periods := 1.0; ; {
		more := min(periods*pitchSteps, math.Floor(float64(m.long)/lag))
		if more < periods+1 {
			return lag
		}
		fine, s, ok := m.valley(more * lag)
		// What is placed to a tenth of a sample or so cannot move farther in more periods.
		if !ok || s > share+pitchWorse || math.Abs(fine-more*lag) > 0.5*more/periods+1 || math.Abs(fine-more*lag) > 0.3*lag {
			return lag
		}
		periods, lag = more, fine/more
	}
}

// valley is the lag near a given one at which the difference is least, and
// what share of the power differs there.
func (m *Pitch) valley(near float64) (lag, share float64, ok bool) {
	middle := int(math.Round(near))
	start := (len(m.low) - m.window - middle) / 2
	var d [pitchLags]float64
	for range 4 { // each moves by at most pitchSide
		lo := middle - pitchSide
		if lo < 1 || start < 0 || start+m.window+middle+pitchSide > len(m.low) {
			return 0, 0, false
		}
		differences(&d, m.x[start:start+m.window], m.x[start+lo:])
		at := 0
		for i, v := range d {
			if v < d[at] {
				at = i
			}
		}
		if at == pitchSide {
			power := 0.0
			for i, v := range m.x[start : start+m.window] {
				u := m.x[start+middle+i]
				power += v*v + u*u
			}
			if power <= 0 {
				return 0, 0, false
			}
			shift, least := bottom(&d)
			return float64(middle) + shift, max(0, least) / power, true
		}
		middle += at - pitchSide
	}
	return 0, 0, false
}

// differences are Σ(x[j] − y[j+k])² for the seven k from 0.
func differences(d *[pitchLags]float64, x, y []float64) {
	y = y[:len(x)+pitchLags-1]
	var d0, d1, d2, d3, d4, d5, d6 float64
	y0, y1, y2, y3, y4, y5 := y[0], y[1], y[2], y[3], y[4], y[5]
	y = y[6:]
	y = y[:len(x)]
	for j, v := range x {
		y6 := y[j]
		e0, e1, e2, e3, e4, e5, e6 := v-y0, v-y1, v-y2, v-y3, v-y4, v-y5, v-y6
		d0 += e0 * e0
		d1 += e1 * e1
		d2 += e2 * e2
		d3 += e3 * e3
		d4 += e4 * e4
		d5 += e5 * e5
		d6 += e6 * e6
		y0, y1, y2, y3, y4, y5 = y1, y2, y3, y4, y5, y6
	}
	*d = [pitchLags]float64{d0, d1, d2, d3, d4, d5, d6}
}

// bottom is where the polynomial through seven values is least, near the middle
// one, which is the least of them, and what it is there.
func bottom(d *[pitchLags]float64) (at, least float64) {
	// Even and odd parts about the middle: c0 + c2·t² + c4·t⁴ + c6·t⁶ and
	// c1·t + c3·t³ + c5·t⁵ through t = 1, 2, 3.
	e1, e2, e3 := (d[4]+d[2])/2-d[3], (d[5]+d[1])/2-d[3], (d[6]+d[0])/2-d[3]
	o1, o2, o3 := (d[4]-d[2])/2, (d[5]-d[1])/2, (d[6]-d[0])/2
	c2 := (270*e1 - 27*e2 + 2*e3) / 180
	c4 := (-39*e1 + 12*e2 - e3) / 72
	c6 := (15*e1 - 6*e2 + e3) / 360
	c1 := (45*o1 - 9*o2 + o3) / 30
	c3 := (-13*o1 + 8*o2 - o3) / 24
	c5 := (5*o1 - 4*o2 + o3) / 120
	value := func(t float64) float64 {
		u := t * t
		return d[3] + t*(c1+u*(c3+u*c5)) + u*(c2+u*(c4+u*c6))
	}
	// The parabola's bottom, then Newton's steps as long as they stay near.
	if bend := d[2] - 2*d[3] + d[4]; bend > 0 {
		at = 0.5 * (d[2] - d[4]) / bend
	}
	for range 6 {
		u := at * at
		slope := c1 + u*(3*c3+u*5*c5) + at*(2*c2+u*(4*c4+u*6*c6))
		bend := 2*c2 + at*(6*c3+u*20*c5) + u*(12*c4+u*30*c6)
		if !(bend > 0) {
			break
		}
		to := at - slope/bend
		if math.Abs(to) > 1 {
			break
		}
		if math.Abs(to-at) < 1e-9 {
			at = to
			break
		}
		at = to
	}
	return at, value(at)
}
