package main

import (
	"github.com/mmcloughlin/avo/build"
	op "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

var _ = family("kweight", kweight)

// kweight needs fused multiply-add besides AVX2.
func kweight(c *build.Context) {
	m := &maker{Context: c}
	m.begin("kweightLanes", "func(s *[6]float64, x *float32, lane int, ramp *[6][4]float64, k0, k1, k2, k3 *float64, wide *[6][4]float64) float64",
		"kweightLanes runs the filter over four lanes side by side, lane a multiple of 4, and returns the energy; the parts of K begin at K[L−1].")
	lanes := kLanes{maker: m, x: m.GP64(), stride: m.GP64(), stride3: m.GP64()}
	m.Load(m.Param("x"), lanes.x)
	m.Load(m.Param("lane"), lanes.stride)
	m.SHLQ(op.Imm(2), lanes.stride)
	m.LEAQ(op.Mem{Base: lanes.stride, Index: lanes.stride, Scale: 2}, lanes.stride3)
	memory, e := lanes.begin(lanes.ends())
	sum := lanes.run(&memory, e)
	// The last lane's memory is that of all.
	s := m.GP64()
	m.Load(m.Param("s"), s)
	for i, v := range memory {
		hi := m.XMM()
		m.VEXTRACTF128(op.Imm(1), v, hi)
		m.VMOVHPD(hi, disp(s, 8*i))
	}
	hi := m.XMM()
	m.VHADDPD(sum, sum, sum)
	m.VEXTRACTF128(op.Imm(1), sum, hi)
	m.VADDSD(hi, sum.AsX(), hi)
	m.VMOVSD(hi, m.at(m.ReturnIndex(0)))
	m.end()
}

// kLanes are four lanes: stride bytes from one to the next.
type kLanes struct {
	*maker
	x, stride, stride3 reg.GPVirtual
}

// count is a new register with the number of samples of a lane.
func (m *kLanes) count() reg.GPVirtual {
	n := m.GP64()
	m.Load(m.Param("lane"), n)
	return n
}

// ends sums K[L−1−t]·x[t], t = 0 … L−1, for the first three lanes, a register of
// v1, v2, y1, d each. Three lanes by four rows of K are twelve sums in four parts.
func (m *kLanes) ends() (ends [3]reg.VecVirtual) {
	var k [4]reg.GPVirtual
	for i, name := range []string{"k0", "k1", "k2", "k3"} {
		k[i] = m.GP64()
		m.Load(m.Param(name), k[i])
	}
	var sums [3][4]reg.VecVirtual
	for l := range sums {
		for i := range sums[l] {
			sums[l][i] = m.zero()
		}
	}
	at := m.GP64() // bytes of samples behind x, half those of numbers behind k
	m.XORQ(at, at)
	x1, x2 := m.GP64(), m.GP64()
	m.LEAQ(op.Mem{Base: m.x, Index: m.stride, Scale: 1}, x1)
	m.LEAQ(op.Mem{Base: m.x, Index: m.stride, Scale: 2}, x2)
	m.while(m.count(), 4, func() {
		var v [3]reg.VecVirtual
		for l, base := range []reg.GPVirtual{m.x, x1, x2} {
			v[l] = m.YMM()
			m.VCVTPS2PD(op.Mem{Base: base, Index: at, Scale: 1}, v[l])
		}
		for i := range k {
			w := m.YMM()
			m.VMOVUPD(op.Mem{Base: k[i], Index: at, Scale: 2}, w)
			for l := range v {
				m.VFMADD231PD(w, v[l], sums[l][i])
			}
		}
		m.ADDQ(op.Imm(16), at)
	})
	for l, s := range sums {
		// (0+1 | 2+3) of each row, then both halves together.
		b, t := m.YMM(), m.YMM()
		ends[l] = m.YMM()
		m.VHADDPD(s[1], s[0], ends[l])
		m.VHADDPD(s[3], s[2], b)
		m.VPERM2F128(op.Imm(0x21), b, ends[l], t)
		m.VBLENDPD(op.Imm(0xc), b, ends[l], ends[l])
		m.VADDPD(t, ends[l], ends[l])
	}
	return ends
}

// before are the samples so many before each lane, a lane each; the first lane's
// is in the memory.
func (m *kLanes) before(back int, memory op.Mem) reg.VecVirtual {
	near, all, first := m.XMM(), m.YMM(), m.YMM()
	at := quarters(m.x, m.stride, m.stride3)
	m.VBROADCASTSS(at[1].Offset(-4*back), near)
	m.VINSERTPS(op.Imm(2<<4), at[2].Offset(-4*back), near, near)
	m.VINSERTPS(op.Imm(3<<4), at[3].Offset(-4*back), near, near)
	m.VCVTPS2PD(near, all)
	m.VBROADCASTSD(memory, first)
	m.VBLENDPD(op.Imm(1), first, all, all)
	return all
}

// begin finds the memories x1, x2, v1, v2, y1, y2 with which the lanes begin, and
// v1 − v2.
func (m *kLanes) begin(ends [3]reg.VecVirtual) (memory [6]reg.VecVirtual, e reg.VecVirtual) {
	s, ramp := m.GP64(), m.GP64()
	m.Load(m.Param("s"), s)
	m.Load(m.Param("ramp"), ramp)
	x1, x2 := m.before(1, disp(s, 0)), m.before(2, disp(s, 8))
	var starts [4]reg.VecVirtual // v1, v2, y1, d
	starts[0] = m.YMM()
	d := m.YMM()
	m.VMOVUPD(disp(s, 16), starts[0])
	m.VHSUBPD(starts[0], starts[0], d)
	m.VBLENDPD(op.Imm(8), d, starts[0], starts[0])
	part := func(of reg.VecVirtual, i int) reg.VecVirtual {
		y := m.YMM()
		m.VPERMPD(op.Imm(uint64(0x55*i)), of, y)
		return y
	}
	for l, end := range ends {
		m.VFMADD231PD(disp(ramp, 4*32), part(x1, l), end)
		m.VFMADD231PD(disp(ramp, 5*32), part(x2, l), end)
		other := m.YMM()
		m.VFMADD231PD(disp(ramp, 0), part(starts[l], 0), end)
		m.VMULPD(disp(ramp, 2*32), part(starts[l], 2), other)
		m.VFMADD231PD(disp(ramp, 32), part(starts[l], 1), end)
		m.VFMADD231PD(disp(ramp, 3*32), part(starts[l], 3), other)
		m.VADDPD(other, end, end)
		starts[l+1] = end
	}
	a, b, c := m.YMM(), m.YMM(), m.YMM()
	m.VUNPCKLPD(starts[1], starts[0], a) // v1, y1 of lanes 0 and 1
	m.VUNPCKHPD(starts[1], starts[0], b) // v2, d
	m.VUNPCKLPD(starts[3], starts[2], c)
	v1, y1 := m.YMM(), m.YMM()
	m.VPERM2F128(op.Imm(0x20), c, a, v1)
	m.VPERM2F128(op.Imm(0x31), c, a, y1)
	f := m.YMM()
	m.VUNPCKHPD(starts[3], starts[2], f)
	v2, y2 := m.YMM(), m.YMM()
	m.VPERM2F128(op.Imm(0x20), f, b, v2)
	m.VPERM2F128(op.Imm(0x31), f, b, y2)
	m.VSUBPD(y2, y1, y2)
	e = m.YMM()
	m.VSUBPD(v2, v1, e)
	return [6]reg.VecVirtual{x1, x2, v1, v2, y1, y2}, e
}

// run is the filter, four steps at a time, whose samples are turned over in
// registers. It returns the energies of the lanes.
func (m *kLanes) run(memory *[6]reg.VecVirtual, e reg.VecVirtual) (sum reg.VecVirtual) {
	wide := m.GP64()
	m.Load(m.Param("wide"), wide)
	b1, b2, a2, c2 := disp(wide, 0), disp(wide, 32), disp(wide, 96), disp(wide, 160)
	a1, c1 := m.YMM(), m.YMM()
	m.VMOVUPD(disp(wide, 64), a1)
	m.VMOVUPD(disp(wide, 128), c1)
	sum = m.zero()
	m.while(m.count(), 4, func() {
		var r, t [4]reg.VecVirtual
		for i, at := range quarters(m.x, m.stride, m.stride3) {
			r[i] = m.XMM()
			m.VMOVUPS(at, r[i])
		}
		for i := range t {
			t[i] = m.XMM()
		}
		m.VUNPCKLPS(r[1], r[0], t[0])
		m.VUNPCKHPS(r[1], r[0], t[1])
		m.VUNPCKLPS(r[3], r[2], t[2])
		m.VUNPCKHPS(r[3], r[2], t[3])
		x1, x2, v1, v2, y1, y2, e1 := memory[0], memory[1], memory[2], memory[3], memory[4], memory[5], e
		for step := range 4 {
			s, x0 := m.XMM(), m.YMM()
			if step%2 == 0 {
				m.VUNPCKLPD(t[2+step/2], t[step/2], s)
			} else {
				m.VUNPCKHPD(t[2+step/2], t[step/2], s)
			}
			m.VCVTPS2PD(s, x0)
			// v0 = x0 + b2·x2 + b1·x1 − a2·v2 − a1·v1, in the register of x2
			v0 := x2
			m.VFMADD132PD(b2, x0, v0)
			m.VFMADD231PD(b1, x1, v0)
			m.VFNMADD231PD(a2, v2, v0)
			m.VFNMADD231PD(a1, v1, v0)
			// y0 = (v0 − v1) − e1 − c2·y2 − c1·y1, in the register of e1; that of v2 is free
			e0 := v2
			m.VSUBPD(v1, v0, e0)
			y0 := e1
			m.VSUBPD(e1, e0, y0)
			m.VFNMADD231PD(c2, y2, y0)
			m.VFNMADD231PD(c1, y1, y0)
			m.VFMADD231PD(y0, y0, sum)
			x1, x2 = x0, x1
			v1, v2 = v0, v1
			y1, y2, e1 = y0, y1, e0
		}
		// Back to the registers of the beginning, which are not all free: via others.
		var moved [7]reg.VecVirtual
		now := [7]reg.VecVirtual{x1, x2, v1, v2, y1, y2, e1}
		for i, v := range now {
			moved[i] = m.YMM()
			m.VMOVAPD(v, moved[i])
		}
		for i, v := range moved[:6] {
			m.VMOVAPD(v, memory[i])
		}
		m.VMOVAPD(moved[6], e)
		m.ADDQ(op.Imm(16), m.x)
	})
	return sum
}
