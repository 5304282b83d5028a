package kernel

import "unsafe"

// passAllGo is the window and all passes of radix 4.
func (p *PowerPlan) passAllGo(a, b, window []float32, work []Lanes) {
	work = work[:p.n/8]
	first := &p.passes[0]
	q := first.quarter
	v0, v1, v2, v3 := work[:q], work[q:][:q], work[2*q:][:q], work[3*q:][:q]
	for j := range first.turns[:q] {
		windowed4(&v0[j], &v1[j], &v2[j], &v3[j], &a[8*j], &b[8*j], &window[8*j], 8*q, &first.turns[j])
	}
	// A quarter goes through all other passes before the next: it is small enough to
	// stay in the nearest cache meanwhile.
	for ; len(work) > 0; work = work[q:] {
		for i := range p.passes[1:] {
			p.passes[1+i].run(work[:q])
		}
	}
}

// run does a pass on some blocks of it.
func (pass *turnPass) run(work []Lanes) {
	q := pass.quarter
	if q == 1 {
		for ; len(work) >= 4; work = work[4:] {
			plain4((*[4]Lanes)(work))
		}
		return
	}
	for ; len(work) >= 4*q; work = work[4*q:] {
		v0, v1, v2, v3, turns := work[:q], work[q:][:q], work[2*q:][:q], work[3*q:][:q], pass.turns[:q]
		for j := range turns {
			butterfly4(&v0[j], &v1[j], &v2[j], &v3[j], &turns[j])
		}
	}
}

// butterfly4 takes four rows through four points each, and turns three of them.
func butterfly4(v0, v1, v2, v3 *Lanes, w *[6]float32) {
	r0, i0, r1, i1, r2, i2, r3, i3 := v0.Re[:], v0.Im[:], v1.Re[:], v1.Im[:], v2.Re[:], v2.Im[:], v3.Re[:], v3.Im[:]
	w1r, w1i, w2r, w2i, w3r, w3i := w[0], w[1], w[2], w[3], w[4], w[5]
	for l := range 8 { // in an order that needs few registers
		br, dr, bi, di := r1[l], r3[l], i1[l], i3[l]
		s2r, s3r, s2i, s3i := br+dr, br-dr, bi+di, bi-di
		ar, cr := r0[l], r2[l]
		s0r, s1r := ar+cr, ar-cr
		r0[l] = s0r + s2r
		t2r, t1r, t3r := s0r-s2r, s1r+s3i, s1r-s3i
		ai, ci := i0[l], i2[l]
		s0i, s1i := ai+ci, ai-ci
		i0[l] = s0i + s2i
		t2i, t1i, t3i := s0i-s2i, s1i-s3r, s1i+s3r
		r2[l], i2[l] = t2r*w2r-t2i*w2i, t2r*w2i+t2i*w2r
		r1[l], i1[l] = t1r*w1r-t1i*w1i, t1r*w1i+t1i*w1r
		r3[l], i3[l] = t3r*w3r-t3i*w3i, t3r*w3i+t3i*w3r
	}
}

// windowed4 is butterfly4 of four rows of windowed samples, a quarter apart, to which
// a, b and window point. It hands pointers on like the assembly: slices for all
// quarters, or their bounds, would not stay in the registers.
func windowed4(v0, v1, v2, v3 *Lanes, a, b, window *float32, quarter int, w *[6]float32) {
	w1r, w1i, w2r, w2i, w3r, w3i := w[0], w[1], w[2], w[3], w[4], w[5]
	for l := range 8 {
		l1, l2, l3 := l+quarter, l+2*quarter, l+3*quarter
		u1, u3 := after(window, l1), after(window, l3)
		br, dr := float32(after(a, l1)*u1), float32(after(a, l3)*u3)
		s2r, s3r := br+dr, br-dr
		bi, di := float32(after(b, l1)*u1), float32(after(b, l3)*u3)
		s2i, s3i := bi+di, bi-di
		u0, u2 := after(window, l), after(window, l2)
		ar, cr := float32(after(a, l)*u0), float32(after(a, l2)*u2)
		s0r, s1r := ar+cr, ar-cr
		v0.Re[l] = s0r + s2r
		t2r, t1r, t3r := s0r-s2r, s1r+s3i, s1r-s3i
		ai, ci := float32(after(b, l)*u0), float32(after(b, l2)*u2)
		s0i, s1i := ai+ci, ai-ci
		v0.Im[l] = s0i + s2i
		t2i, t1i, t3i := s0i-s2i, s1i-s3r, s1i+s3r
		v2.Re[l], v2.Im[l] = t2r*w2r-t2i*w2i, t2r*w2i+t2i*w2r
		v1.Re[l], v1.Im[l] = t1r*w1r-t1i*w1i, t1r*w1i+t1i*w1r
		v3.Re[l], v3.Im[l] = t3r*w3r-t3i*w3i, t3r*w3i+t3i*w3r
	}
}

// after is p[i]. The caller has checked that it is there.
func after(p *float32, i int) float32 {
	return *(*float32)(unsafe.Add(unsafe.Pointer(p), 4*i))
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
			powers8((*[57]float64)(sum[j:]), &v[j], w, j)
		}
	}
}

// powers8 is across8, but adds the powers to every eighth place of a sum.
func powers8(sum *[57]float64, v *Lanes, w *[7]Lanes, j int) {
	j &= 7
	z1r, z1i := turned(v.Re[1], v.Im[1], w[0].Re[j], w[0].Im[j])
	z5r, z5i := turned(v.Re[5], v.Im[5], w[4].Re[j], w[4].Im[j])
	u1r, u1i, d1r, d1i := z1r+z5r, z1i+z5i, z1r-z5r, z1i-z5i
	z3r, z3i := turned(v.Re[3], v.Im[3], w[2].Re[j], w[2].Im[j])
	z7r, z7i := turned(v.Re[7], v.Im[7], w[6].Re[j], w[6].Im[j])
	u3r, u3i, d3r, d3i := z3r+z7r, z3i+z7i, z3r-z7r, z3i-z7i
	p2r, p2i, p3r, p3i := u1r+u3r, u1i+u3i, u1r-u3r, u1i-u3i
	f1r, f1i := (d1r+d1i)*halfRoot, (d1i-d1r)*halfRoot
	f3r, f3i := (d3i-d3r)*halfRoot, (d3r+d3i)*halfRoot
	q2r, q2i, q3r, q3i := f1r+f3r, f1i-f3i, f1r-f3r, f1i+f3i

	z0r, z0i := v.Re[0], v.Im[0]
	z4r, z4i := turned(v.Re[4], v.Im[4], w[3].Re[j], w[3].Im[j])
	u0r, u0i, d0r, d0i := z0r+z4r, z0i+z4i, z0r-z4r, z0i-z4i
	z2r, z2i := turned(v.Re[2], v.Im[2], w[1].Re[j], w[1].Im[j])
	z6r, z6i := turned(v.Re[6], v.Im[6], w[5].Re[j], w[5].Im[j])
	u2r, u2i, d2r, d2i := z2r+z6r, z2i+z6i, z2r-z6r, z2i-z6i

	p0r, p0i, p1r, p1i := u0r+u2r, u0i+u2i, u0r-u2r, u0i-u2i
	a0, a4 := squared(p0r+p2r, p0i+p2i), squared(p0r-p2r, p0i-p2i)
	a2, a6 := squared(p1r+p3i, p1i-p3r), squared(p1r-p3i, p1i+p3r)
	q0r, q0i, q1r, q1i := d0r+d2i, d0i-d2r, d0r-d2i, d0i+d2r
	a1, a5 := squared(q0r+q2r, q0i+q2i), squared(q0r-q2r, q0i-q2i)
	a3, a7 := squared(q1r+q3i, q1i-q3r), squared(q1r-q3i, q1i+q3r)
	if !((a0+a1)+(a2+a3)+(a4+a5)+(a6+a7) < powerTop) { // one of them may be past the cap
		a0, a1, a2, a3 = capped(a0), capped(a1), capped(a2), capped(a3)
		a4, a5, a6, a7 = capped(a4), capped(a5), capped(a6), capped(a7)
	}
	sum[0] += float64(a0)
	sum[8] += float64(a1)
	sum[16] += float64(a2)
	sum[24] += float64(a3)
	sum[32] += float64(a4)
	sum[40] += float64(a5)
	sum[48] += float64(a6)
	sum[56] += float64(a7)
}

// squared is the power of a complex number.
func squared(re, im float32) float32 { return re*re + im*im }

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
