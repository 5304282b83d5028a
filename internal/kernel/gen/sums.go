package main

import (
	"github.com/mmcloughlin/avo/build"
	op "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

var _ = family("sums", sums)

func sums(c *build.Context) {
	m := &maker{Context: c}
	masks := m.tailTable("sumsTail")
	m.sums(masks)
	m.held(masks)
	m.bitsUsed(masks)
}

func (m *maker) sums(masks op.Mem) {
	m.begin("sumsAVX2", "func(x []float32, before float32) (sum, square, diff float64)", "sumsAVX2 is Sums.")
	x, n := m.slice("x")
	sum, square, diff := m.zero(), m.zero(), m.zero()
	last := m.YMM() // the four before, of which the last counts
	b := m.XMM()
	m.VBROADCASTSS(m.at(m.Param("before")), b)
	m.VCVTPS2PD(b, last)

	// add adds four samples; wide takes differences out that are none.
	add := func(v op.Op, wide reg.Register) {
		cur, prev := m.YMM(), m.YMM()
		m.VCVTPS2PD(v, cur)
		m.VPERM2F128(op.Imm(0x21), cur, last, prev) // last 2, last 3, 0, 1
		m.VSHUFPD(op.Imm(5), cur, prev, prev)       // last 3, 0, 1, 2
		m.VMOVAPD(cur, last)
		m.VADDPD(cur, sum, sum)
		m.VSUBPD(prev, cur, prev)
		if wide != nil {
			m.VANDPD(wide, prev, prev)
		}
		m.VMULPD(prev, prev, prev)
		m.VADDPD(prev, diff, diff)
		m.VMULPD(cur, cur, cur)
		m.VADDPD(cur, square, square)
	}
	m.while(n, 8, func() {
		add(disp(x, 0), nil)
		add(disp(x, 16), nil)
		m.advance(x, 32)
	})
	m.while(n, 4, func() {
		add(disp(x, 0), nil)
		m.advance(x, 16)
	})
	m.unlessZero(n, func() {
		v, wide := m.YMM(), m.YMM()
		mask := m.tail(masks, n)
		m.VMASKMOVPS(disp(x, 0), mask.AsX(), v.AsX())
		m.VPMOVSXDQ(mask.AsX(), wide)
		add(v.AsX(), wide)
	})
	for i, y := range []reg.VecVirtual{sum, square, diff} {
		h := m.XMM()
		m.VHADDPD(y, y, y)
		m.VEXTRACTF128(op.Imm(1), y, h)
		m.VADDSD(h, y.AsX(), h)
		m.VMOVSD(h, m.at(m.ReturnIndex(i)))
	}
	m.end()
}

func (m *maker) held(masks op.Mem) {
	turn := m.words("heldTurn", 7, 0, 1, 2, 3, 4, 5, 6)
	m.begin("heldAVX2", "func(x []float32, prev float32) bool", "heldAVX2 is Held.")
	x, n := m.slice("x")
	zero, equal := m.zero(), m.zero()
	order, last := m.YMM(), m.YMM() // last: the one before comes first
	m.VMOVDQU(turn, order)
	m.VBROADCASTSS(m.at(m.Param("prev")), last)
	add := func(v reg.VecVirtual, mask reg.Register) {
		turned, eq := m.YMM(), m.YMM()
		m.VPERMPS(v, order, turned)
		m.VBLENDPS(op.Imm(1), last, turned, eq)
		m.VMOVAPS(turned, last)
		m.VPCMPEQD(v, eq, eq)
		nought := m.YMM()
		m.VCMPPS(op.Imm(0), v, zero, nought)
		m.VORPS(nought, eq, eq)
		if mask != nil {
			m.VANDPS(mask, eq, eq)
		}
		m.VORPS(eq, equal, equal)
	}
	one := func() {
		v := m.YMM()
		m.VMOVUPS(disp(x, 0), v)
		add(v, nil)
		m.advance(x, 32)
	}
	m.while(n, 16, func() { one(); one() })
	m.while(n, 8, one)
	m.unlessZero(n, func() {
		v, mask := m.YMM(), m.tail(masks, n)
		m.VMASKMOVPS(disp(x, 0), mask, v)
		add(v, mask)
	})
	any, set := m.GP32(), m.GP8()
	m.VMOVMSKPS(equal, any)
	m.TESTL(any, any)
	m.SETNE(set)
	m.MOVB(set, m.at(m.ReturnIndex(0)))
	m.end()
}

func (m *maker) bitsUsed(masks op.Mem) {
	scale := m.words("bitsScale", 0x4b000000) // 2^23
	m.begin("bitsUsedAVX2", "func(x []float32) (set, size uint32, whole bool)",
		"bitsUsedAVX2 is BitsUsed, but for what it says when a size is past 24 bits.")
	x, n := m.slice("x")
	full, set, size, broken := m.YMM(), m.zero(), m.zero(), m.zero()
	m.VBROADCASTSS(scale, full)
	add := func(v reg.VecVirtual) {
		i, f, s := m.YMM(), m.YMM(), m.YMM()
		m.VMULPS(v, full, v)
		m.VCVTTPS2DQ(v, i)
		m.VCVTDQ2PS(i, f)
		m.VCMPPS(op.Imm(4), v, f, f) // unequal, or no number
		m.VORPS(f, broken, broken)
		m.VPOR(i, set, set)
		m.VPSRAD(op.Imm(31), i, s)
		m.VPXOR(s, i, i)
		m.VPOR(i, size, size)
	}
	one := func() {
		v := m.YMM()
		m.VMOVUPS(disp(x, 0), v)
		add(v)
		m.advance(x, 32)
	}
	m.while(n, 16, func() { one(); one() })
	m.while(n, 8, one)
	m.unlessZero(n, func() {
		v := m.YMM()
		m.VMASKMOVPS(disp(x, 0), m.tail(masks, n), v)
		add(v)
	})
	for i, y := range []reg.VecVirtual{set, size} {
		a, b, r := m.XMM(), m.XMM(), m.GP32()
		m.VEXTRACTI128(op.Imm(1), y, a)
		m.VPOR(y.AsX(), a, a)
		m.VPSHUFD(op.Imm(0x4e), a, b)
		m.VPOR(b, a, a)
		m.VPSHUFD(op.Imm(0xb1), a, b)
		m.VPOR(b, a, a)
		m.VMOVD(a, r)
		m.MOVL(r, m.at(m.ReturnIndex(i)))
	}
	any, none := m.GP32(), m.GP8()
	m.VMOVMSKPS(broken, any)
	m.TESTL(any, any)
	m.SETEQ(none)
	m.MOVB(none, m.at(m.Return("whole")))
	m.end()
}
