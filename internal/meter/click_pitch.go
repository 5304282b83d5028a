package meter

import "math"

// pulses is a pitch that is being followed: where its next edge is due.
type pulses struct {
	at, period int64
	size       float32
}

// pitched says whether the peak at buf[at] is one of a row at one distance, of
// one sign and alike: the edges of a sounding pitch.
func (m *Clicks) pitched(at int, peak float32) bool {
	frame := m.win.start + int64(at)
	p := &m.pulse
	alike := func(v float32) bool { return v > peak*clickSame } // a note dies away: earlier edges may be larger
	if p.period > 0 && alike(p.size) {
		due := p.at + p.period
		if off := frame - due; float64(max(off, -off)) <= clickPitch*float64(p.period)+2 {
			p.period, p.at, p.size = frame-p.at, frame, peak
			return true
		}
	}
	// The neighbours on either side, nearest first.
	c := at / m.cell
	sign := m.difference(at) > 0
	var row [2][24]edgeNear
	var n [2]int
	for side, step := range [2]int{-1, 1} {
		lastAt := at
		for k := c; k >= 1 && k < m.known && n[side] < len(row[side]); k += step {
			if !alike(m.most[k]) {
				continue
			}
			lo, hi := max(k*m.cell, 2*m.m), (k+1)*m.cell
			for i := lo; i < hi && n[side] < len(row[side]); i++ {
				j := i
				if step < 0 {
					j = hi - 1 - (i - lo)
				}
				d := m.difference(j)
				if d < 0 {
					if sign {
						continue
					}
					d = -d
				} else if !sign {
					continue
				}
				if (j-lastAt)*step > m.cell/2 && alike(d) {
					row[side][n[side]] = edgeNear{(j - at) * step, d}
					n[side]++
					lastAt = j
				}
			}
		}
	}
	left, right := row[0][:n[0]], row[1][:n[1]]
	tol := 1.5 * float64(m.m)
	off := func(got, want int) bool {
		return math.Abs(float64(got-want)) > clickPitch*float64(want)+tol
	}
	if len(left) > 0 && len(right) > 0 {
		a := left[0].far
		reach := min(at, m.win.n-at, clickAround*m.cell)
		if !off(right[0].far, a) && (2*a > reach || len(left) > 1 && !off(left[1].far, 2*a) || len(right) > 1 && !off(right[1].far, 2*a)) {
			p.at, p.period, p.size = frame, int64(right[0].far), peak
			return true
		}
	}
	for _, r := range [2][]edgeNear{left, right} { // the first or last edge of a note
		if len(r) > 2 && !off(r[1].far, 2*r[0].far) && !off(r[2].far, 3*r[0].far) {
			return true
		}
	}
	// In a mix other sounds lie between: three at one distance that are nearly equal.
	equal := func(e edgeNear) bool { return e.size > 0.75*peak && e.size < peak/0.75 }
	for _, l := range left {
		for _, r := range right {
			if !equal(l) || !equal(r) || off(2*l.far, 2*r.far) {
				continue
			}
			for _, q := range [2][]edgeNear{left, right} {
				for _, e := range q {
					if equal(e) && !off(e.far, l.far+r.far) {
						return true
					}
				}
			}
		}
	}
	return false
}

// edgeNear is a peak of the second difference beside another.
type edgeNear struct {
	far  int // samples away
	size float32
}

// voiced says whether the model misses other places about as much at one
// distance before and after: the pulses of a voice, a reed, or a saw in a mix.
// others says whether it misses any.
func (m *Clicks) voiced(place int, peak float64) (others, steady bool) {
	var near [2][]int
	var room [2][24]int
	for side, step := range [2]int{-1, 1} {
		near[side] = room[side][:0]
		for i := place + step*clickCell; i >= 0 && i < len(m.both) && len(near[side]) < cap(near[side]); i += step {
			v := m.both[i]
			if v <= clickVoice*peak {
				continue
			}
			for k := 1; k < clickCell/2 && i+step >= 0 && i+step < len(m.both); k++ { // its crest
				if i += step; m.both[i] > v {
					v = m.both[i]
				}
			}
			if v < peak/clickVoice {
				near[side] = append(near[side], (i-place)*step-clickCell/4)
			}
		}
	}
	others = len(near[0])+len(near[1]) > 0
	off := func(got, want int) bool {
		return math.Abs(float64(got-want)) > clickWaver*float64(want)+clickCell/4
	}
	for i, a := range near[0] {
		for j, b := range near[1] {
			if off(b, a) {
				continue
			}
			if i == 0 && j == 0 {
				return true, true
			}
			for side := range near {
				for _, c := range near[side] {
					if !off(c, a+b) {
						return true, true
					}
				}
			}
		}
	}
	return others, false
}
