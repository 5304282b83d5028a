package kernel

// passAllGo is the window and all passes of radix 4.
func (p *PowerPlan) passAllGo(a, b, window []float32, work []Lanes) {
	work = work[:p.n/8]
	first := &p.passes[0]
	q := first.quarter
	for j := range first.turns {
		v0, v1, v2, v3 := &work[j], &work[j+q], &work[j+2*q], &work[j+3*q]
		windowed(v0, a, b, window, j)
		windowed(v1, a, b, window, j+q)
		windowed(v2, a, b, window, j+2*q)
		windowed(v3, a, b, window, j+3*q)
		butterfly4(v0, v1, v2, v3, &first.turns[j])
	}
	for i := range p.passes[1:] {
		pass := &p.passes[1+i]
		q := pass.quarter
		if q == 1 {
			for at := 0; at+4 <= len(work); at += 4 {
				plain4((*[4]Lanes)(work[at:]))
			}
			continue
		}
		for at := 0; at < len(work); at += 4 * q {
			block := work[at : at+4*q]
			v0, v1, v2, v3 := block[:q], block[q:2*q], block[2*q:3*q], block[3*q:]
			turns := pass.turns
			v1, v2, v3, turns = v1[:len(v0)], v2[:len(v0)], v3[:len(v0)], turns[:len(v0)]
			for j := range v0 {
				butterfly4(&v0[j], &v1[j], &v2[j], &v3[j], &turns[j])
			}
		}
	}
}

// windowed fills a row with samples.
func windowed(v *Lanes, a, b, window []float32, row int) {
	x, y, w := (*[8]float32)(a[8*row:]), (*[8]float32)(b[8*row:]), (*[8]float32)(window[8*row:])
	for l := range w {
		v.Re[l], v.Im[l] = x[l]*w[l], y[l]*w[l]
	}
}

// butterfly4 takes four rows through four points each, and turns three of them.
func butterfly4(v0, v1, v2, v3 *Lanes, w *[6]float32) {
	w1r, w1i, w2r, w2i, w3r, w3i := w[0], w[1], w[2], w[3], w[4], w[5]
	for l := range 8 {
		ar, ai, cr, ci := v0.Re[l], v0.Im[l], v2.Re[l], v2.Im[l]
		s0r, s0i, s1r, s1i := ar+cr, ai+ci, ar-cr, ai-ci
		br, bi, dr, di := v1.Re[l], v1.Im[l], v3.Re[l], v3.Im[l]
		s2r, s2i, s3r, s3i := br+dr, bi+di, br-dr, bi-di
		v0.Re[l], v0.Im[l] = s0r+s2r, s0i+s2i
		tr, ti := s1r+s3i, s1i-s3r
		v1.Re[l], v1.Im[l] = tr*w1r-ti*w1i, tr*w1i+ti*w1r
		tr, ti = s0r-s2r, s0i-s2i
		v2.Re[l], v2.Im[l] = tr*w2r-ti*w2i, tr*w2i+ti*w2r
		tr, ti = s1r-s3i, s1i+s3r
		v3.Re[l], v3.Im[l] = tr*w3r-ti*w3i, tr*w3i+ti*w3r
	}
}

// plain4 is butterfly4 of the last pass, where nothing is turned.
func plain4(v *[4]Lanes) {
	for l := range 8 {
		ar, ai, cr, ci := v[0].Re[l], v[0].Im[l], v[2].Re[l], v[2].Im[l]
		s0r, s0i, s1r, s1i := ar+cr, ai+ci, ar-cr, ai-ci
		br, bi, dr, di := v[1].Re[l], v[1].Im[l], v[3].Re[l], v[3].Im[l]
		s2r, s2i, s3r, s3i := br+dr, bi+di, br-dr, bi-di
		v[0].Re[l], v[0].Im[l] = s0r+s2r, s0i+s2i
		v[1].Re[l], v[1].Im[l] = s1r+s3i, s1i-s3r
		v[2].Re[l], v[2].Im[l] = s0r-s2r, s0i-s2i
		v[3].Re[l], v[3].Im[l] = s1r-s3i, s1i+s3r
	}
}

// halves are the sums and differences of neighbouring rows.
func halves(work []Lanes) {
	for at := 0; at+2 <= len(work); at += 2 {
		v := (*[2]Lanes)(work[at:])
		for l := range 8 {
			ar, ai, br, bi := v[0].Re[l], v[0].Im[l], v[1].Re[l], v[1].Im[l]
			v[0].Re[l], v[0].Im[l] = ar+br, ai+bi
			v[1].Re[l], v[1].Im[l] = ar-br, ai-bi
		}
	}
}

const halfRoot = 0.70710678118654752440 // √½: the turn by an eighth

// across8 turns the lanes of row j of eight and takes them through eight points,
// in place: the lanes become the elements 0 … 7. Even elements come from sums of
// opposite lanes, odd ones from differences.
func across8(v *Lanes, w *[7]Lanes, j int) {
	j &= 7
	z0r, z0i := v.Re[0], v.Im[0]
	z4r, z4i := turned(v.Re[4], v.Im[4], w[3].Re[j], w[3].Im[j])
	u0r, u0i, d0r, d0i := z0r+z4r, z0i+z4i, z0r-z4r, z0i-z4i
	z2r, z2i := turned(v.Re[2], v.Im[2], w[1].Re[j], w[1].Im[j])
	z6r, z6i := turned(v.Re[6], v.Im[6], w[5].Re[j], w[5].Im[j])
	u2r, u2i, d2r, d2i := z2r+z6r, z2i+z6i, z2r-z6r, z2i-z6i
	p0r, p0i, p1r, p1i := u0r+u2r, u0i+u2i, u0r-u2r, u0i-u2i
	q0r, q0i, q1r, q1i := d0r+d2i, d0i-d2r, d0r-d2i, d0i+d2r

	z1r, z1i := turned(v.Re[1], v.Im[1], w[0].Re[j], w[0].Im[j])
	z5r, z5i := turned(v.Re[5], v.Im[5], w[4].Re[j], w[4].Im[j])
	u1r, u1i, d1r, d1i := z1r+z5r, z1i+z5i, z1r-z5r, z1i-z5i
	z3r, z3i := turned(v.Re[3], v.Im[3], w[2].Re[j], w[2].Im[j])
	z7r, z7i := turned(v.Re[7], v.Im[7], w[6].Re[j], w[6].Im[j])
	u3r, u3i, d3r, d3i := z3r+z7r, z3i+z7i, z3r-z7r, z3i-z7i

	p2r, p2i, p3r, p3i := u1r+u3r, u1i+u3i, u1r-u3r, u1i-u3i
	v.Re[0], v.Im[0] = p0r+p2r, p0i+p2i
	v.Re[4], v.Im[4] = p0r-p2r, p0i-p2i
	v.Re[2], v.Im[2] = p1r+p3i, p1i-p3r
	v.Re[6], v.Im[6] = p1r-p3i, p1i+p3r

	f1r, f1i := (d1r+d1i)*halfRoot, (d1i-d1r)*halfRoot
	f3r, f3i := (d3i-d3r)*halfRoot, (d3r+d3i)*halfRoot
	q2r, q2i, q3r, q3i := f1r+f3r, f1i-f3i, f1r-f3r, f1i+f3i
	v.Re[1], v.Im[1] = q0r+q2r, q0i+q2i
	v.Re[5], v.Im[5] = q0r-q2r, q0i-q2i
	v.Re[3], v.Im[3] = q1r+q3i, q1i-q3r
	v.Re[7], v.Im[7] = q1r-q3i, q1i+q3r
}

// turned is z·w.
func turned(zr, zi, wr, wi float32) (re, im float32) { return zr*wr - zi*wi, zr*wi + zi*wr }

// addPowersGo joins the lanes and adds their powers.
func (p *PowerPlan) addPowersGo(power []float64, work []Lanes) {
	work = work[:p.n/8]
	if p.paired {
		halves(work)
	}
	for at := 0; at+8 <= len(work); at += 8 {
		v, w, sum := (*[8]Lanes)(work[at:]), (*[7]Lanes)(p.twist[at/8*7:]), (*[64]float64)(power[8*at:])
		for j := range v {
			across8(&v[j], w, j)
			for q := range 8 {
				re, im := v[j].Re[q], v[j].Im[q]
				sum[8*q+j] += float64(capped(re*re + im*im))
			}
		}
	}
}

// finishGo joins the lanes and leaves place i in row i/8, lane i mod 8.
func (p *PowerPlan) finishGo(work []Lanes) {
	work = work[:p.n/8]
	if p.paired {
		halves(work)
	}
	for at := 0; at+8 <= len(work); at += 8 {
		v, w := (*[8]Lanes)(work[at:]), (*[7]Lanes)(p.twist[at/8*7:])
		for j := range v {
			across8(&v[j], w, j)
		}
		for j := range v {
			for q := range j {
				v[j].Re[q], v[q].Re[j] = v[q].Re[j], v[j].Re[q]
				v[j].Im[q], v[q].Im[j] = v[q].Im[j], v[j].Im[q]
			}
		}
	}
}
