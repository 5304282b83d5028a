package main

import (
	"github.com/mmcloughlin/avo/build"
	op "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

var _ = family("slopes", slopes)

func slopes(c *build.Context) {
	m := &maker{Context: c}
	masks := m.tailTable("slopesTail")
	m.bend()
	m.tilted(masks)
}

func (m *maker) bend() {
	m.begin("bendAVX2", "func(x []float32, d, cell int, mean, most []float32)", "bendAVX2 is Bend, for cells of whole eights.")
	oldest := m.GP64()
	m.Load(m.Param("x").Base(), oldest)
	apart, cell := m.GP64(), m.GP64()
	m.Load(m.Param("d"), apart)
	m.Load(m.Param("cell"), cell)
	mean, cells := m.slice("mean")
	most := m.GP64()
	m.Load(m.Param("most").Base(), most)
	abs := m.noSign()
	size := m.XMM()
	m.VCVTSI2SSQ(cell, m.zero().AsX(), size)
	middle, newest := m.GP64(), m.GP64()
	m.LEAQ(op.Mem{Base: oldest, Index: apart, Scale: 4}, middle)
	m.LEAQ(op.Mem{Base: middle, Index: apart, Scale: 4}, newest)
	m.while(cells, 1, func() {
		sum, top := m.zero(), m.zero()
		left := m.GP64()
		m.MOVQ(cell, left)
		one := func(at int) {
			b, u := m.YMM(), m.YMM()
			m.VMOVUPS(disp(middle, at), b)
			m.VMOVUPS(disp(newest, at), u)
			m.VADDPS(b, b, b)
			m.VSUBPS(b, u, u)
			m.VADDPS(disp(oldest, at), u, u)
			m.VPAND(u, abs, u)
			m.VADDPS(u, sum, sum)
			m.VPMAXUD(u, top, top)
		}
		on := func(bytes int) {
			m.advance(oldest, bytes)
			m.advance(middle, bytes)
			m.advance(newest, bytes)
		}
		m.while(left, 32, func() {
			for at := 0; at < 128; at += 32 {
				one(at)
			}
			on(128)
		})
		m.while(left, 8, func() {
			one(0)
			on(32)
		})
		s := m.sum8(sum)
		m.VDIVSS(size, s, s)
		m.VMOVSS(s, disp(mean, 0))
		m.MOVL(m.largest(top), disp(most, 0))
		m.advance(mean, 4)
		m.advance(most, 4)
	})
	m.end()
}

func (m *maker) tilted(masks op.Mem) {
	m.begin("tiltedAVX2", "func(dst, x []float32, hop int, tilt float32)", "tiltedAVX2 is Tilted.")
	dst, n := m.slice("dst")
	x, hop := m.GP64(), m.GP64()
	m.Load(m.Param("x").Base(), x)
	m.Load(m.Param("hop"), hop)
	tilt := m.YMM()
	m.VBROADCASTSS(m.at(m.Param("tilt")), tilt)
	rest := m.GP64()
	m.MOVQ(hop, rest)
	m.ANDQ(op.Imm(7), rest)
	mask := m.tail(masks, rest)
	m.while(n, 1, func() {
		sum := m.zero()
		left := m.GP64()
		m.MOVQ(hop, left)
		square := func(before, now reg.VecVirtual) {
			m.VMULPS(before, tilt, before)
			m.VSUBPS(before, now, now)
		}
		add := func(u reg.VecVirtual) {
			m.VMULPS(u, u, u)
			m.VADDPS(u, sum, sum)
		}
		one := func(at int) {
			before, now := m.YMM(), m.YMM()
			m.VMOVUPS(disp(x, at), before)
			m.VMOVUPS(disp(x, at+4), now)
			square(before, now)
			add(now)
		}
		m.while(left, 16, func() {
			one(0)
			one(32)
			m.advance(x, 64)
		})
		m.while(left, 8, func() {
			one(0)
			m.advance(x, 32)
		})
		m.unlessZero(left, func() {
			before, now := m.YMM(), m.YMM()
			m.VMASKMOVPS(disp(x, 0), mask, before)
			m.VMASKMOVPS(disp(x, 4), mask, now)
			square(before, now)
			m.VANDPS(mask, now, now) // a tilt that is no number times nothing
			add(now)
			m.LEAQ(op.Mem{Base: x, Index: left, Scale: 4}, x)
		})
		m.VMOVSS(m.sum8(sum), disp(dst, 0))
		m.advance(dst, 4)
	})
	m.end()
}
