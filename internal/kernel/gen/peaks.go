package main

import (
	"github.com/mmcloughlin/avo/build"
	op "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

var _ = family("peaks", peaks)

func peaks(c *build.Context) {
	m := &maker{Context: c}
	masks := m.tailTable("peaksTail")
	m.maxAbs(masks)
	m.tops()
}

func (m *maker) maxAbs(masks op.Mem) {
	m.begin("maxAbsAVX2", "func(x []float32) uint32", "maxAbsAVX2 is MaxAbs.")
	x, n := m.slice("x")
	abs := m.noSign()
	var top [4]reg.VecVirtual
	for i := range top {
		top[i] = m.zero()
	}
	m.while(n, 32, func() {
		for i := range top {
			v := m.YMM()
			m.VPAND(disp(x, 32*i), abs, v)
			m.VPMAXUD(v, top[i], top[i])
		}
		m.advance(x, 128)
	})
	m.VPMAXUD(top[1], top[0], top[0])
	m.VPMAXUD(top[3], top[2], top[2])
	m.VPMAXUD(top[2], top[0], top[0])
	m.while(n, 8, func() {
		v := m.YMM()
		m.VPAND(disp(x, 0), abs, v)
		m.VPMAXUD(v, top[0], top[0])
		m.advance(x, 32)
	})
	m.unlessZero(n, func() {
		v := m.YMM()
		m.VMASKMOVPS(disp(x, 0), m.tail(masks, n), v)
		m.VPAND(v, abs, v)
		m.VPMAXUD(v, top[0], top[0])
	})
	m.MOVL(m.largest(top[0]), m.at(m.ReturnIndex(0)))
	m.end()
}

// tops folds eight runs of eight at a time, as a transposition would.
func (m *maker) tops() {
	m.begin("topsAVX2", "func(dst []uint32, x []float32) uint32", "topsAVX2 is Tops.")
	dst, n := m.slice("dst")
	x := m.GP64()
	m.Load(m.Param("x").Base(), x)
	abs, top := m.noSign(), m.zero()
	m.while(n, 8, func() {
		var r [8]reg.VecVirtual
		for i := range r {
			r[i] = m.YMM()
			m.VPAND(disp(x, 32*i), abs, r[i])
		}
		// Words of two runs meet side by side, then those of four, then both halves.
		fold := func(a, b reg.VecVirtual, low, high func(...op.Op)) reg.VecVirtual {
			t := m.YMM()
			low(b, a, t)
			high(b, a, a)
			m.VPMAXUD(t, a, a)
			return a
		}
		two := func(a, b reg.VecVirtual) reg.VecVirtual { return fold(a, b, m.VPUNPCKLDQ, m.VPUNPCKHDQ) }
		four := func(a, b reg.VecVirtual) reg.VecVirtual { return fold(a, b, m.VPUNPCKLQDQ, m.VPUNPCKHQDQ) }
		a := four(two(r[0], r[1]), two(r[2], r[3]))
		b := four(two(r[4], r[5]), two(r[6], r[7]))
		t := m.YMM()
		m.VPERM2I128(op.Imm(0x20), b, a, t)
		m.VPERM2I128(op.Imm(0x31), b, a, a)
		m.VPMAXUD(t, a, a)
		m.VPMAXUD(a, top, top)
		m.VMOVDQU(a, disp(dst, 0))
		m.advance(x, 256)
		m.advance(dst, 32)
	})
	m.while(n, 1, func() {
		v := m.YMM()
		m.VPAND(disp(x, 0), abs, v)
		m.VPMAXUD(v, top, top)
		m.MOVL(m.largest(v), disp(dst, 0))
		m.advance(x, 32)
		m.advance(dst, 4)
	})
	m.MOVL(m.largest(top), m.at(m.ReturnIndex(0)))
	m.end()
}
