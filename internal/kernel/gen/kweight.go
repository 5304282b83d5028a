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
	m.kweightEnds()
	m.kweightLanes()
}

// kweightEnds: three lanes by four rows of K are twelve sums of four parts each.
func (m *maker) kweightEnds() {
	m.begin("kweightEnds", "func(ends *[3][4]float64, x *float32, lane int, k0, k1, k2, k3 *float64)",
		"kweightEnds sums x[t]·K[L−1−t] for the first three of four lanes, lane = L a multiple of 4; the parts of K begin at K[L−1].")
	x, n := m.GP64(), m.GP64()
	m.Load(m.Param("x"), x)
	m.Load(m.Param("lane"), n)
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
	stride := m.GP64()
	m.MOVQ(n, stride)
	m.SHLQ(op.Imm(2), stride)
	x1, x2 := m.GP64(), m.GP64()
	m.LEAQ(op.Mem{Base: x, Index: stride, Scale: 1}, x1)
	m.LEAQ(op.Mem{Base: x, Index: stride, Scale: 2}, x2)
	m.while(n, 4, func() {
		var v [3]reg.VecVirtual
		for l, base := range []reg.GPVirtual{x, x1, x2} {
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
	ends := m.GP64()
	m.Load(m.Param("ends"), ends)
	for l, s := range sums {
		// (0+1 | 2+3) of each part, then both halves together.
		a, b, t := m.YMM(), m.YMM(), m.YMM()
		m.VHADDPD(s[1], s[0], a)
		m.VHADDPD(s[3], s[2], b)
		m.VPERM2F128(op.Imm(0x21), b, a, t)
		m.VBLENDPD(op.Imm(0xc), b, a, a)
		m.VADDPD(t, a, a)
		m.VMOVUPD(a, disp(ends, 32*l))
	}
	m.end()
}

// kweightLanes: four steps at a time, whose samples are turned over in registers.
func (m *maker) kweightLanes() {
	m.begin("kweightLanes", "func(lanes *[7][4]float64, x *float32, lane int, wide *[6][4]float64)",
		"kweightLanes runs the filter over four lanes side by side, lane a multiple of 4.")
	lanes, x, n, wide := m.GP64(), m.GP64(), m.GP64(), m.GP64()
	m.Load(m.Param("lanes"), lanes)
	m.Load(m.Param("x"), x)
	m.Load(m.Param("lane"), n)
	m.Load(m.Param("wide"), wide)
	b1, b2, a2, c2 := disp(wide, 0), disp(wide, 32), disp(wide, 96), disp(wide, 160)
	a1, c1 := m.YMM(), m.YMM()
	m.VMOVUPD(disp(wide, 64), a1)
	m.VMOVUPD(disp(wide, 128), c1)
	var memory [6]reg.VecVirtual
	for i := range memory {
		memory[i] = m.YMM()
		m.VMOVUPD(disp(lanes, 32*i), memory[i])
	}
	e, sum := m.YMM(), m.zero()
	m.VSUBPD(memory[3], memory[2], e)
	stride, stride3 := m.GP64(), m.GP64()
	m.MOVQ(n, stride)
	m.SHLQ(op.Imm(2), stride)
	m.LEAQ(op.Mem{Base: stride, Index: stride, Scale: 2}, stride3)
	m.while(n, 4, func() {
		var r, t [4]reg.VecVirtual
		for i, at := range quarters(x, stride, stride3) {
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
		m.ADDQ(op.Imm(16), x)
	})
	for i := range memory {
		m.VMOVUPD(memory[i], disp(lanes, 32*i))
	}
	m.VMOVUPD(sum, disp(lanes, 32*6))
	m.end()
}
