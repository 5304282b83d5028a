package main

import (
	"fmt"

	"github.com/mmcloughlin/avo/build"
	op "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

var _ = family("fir", fir)

func fir(c *build.Context) {
	m := &maker{Context: c}
	masks := m.tailTable("firTail")
	m.decimate(masks)
	m.firMax(12)
	m.firMax(24)
}

// decimate makes four outputs at a time, then one.
func (m *maker) decimate(masks op.Mem) {
	backwards := m.words("firBackwards", 7, 6, 5, 4, 3, 2, 1, 0)
	m.begin("decimateAVX2", "func(dst, x, taps []float32, step int)", "decimateAVX2 is Decimate.")
	dst, n := m.slice("dst")
	x, step := m.GP64(), m.GP64()
	m.Load(m.Param("x").Base(), x)
	m.Load(m.Param("step"), step)
	m.SHLQ(op.Imm(2), step)
	taps, length := m.slice("taps")
	half, rest, odd := m.GP64(), m.GP64(), m.GP64()
	m.MOVQ(length, half)
	m.SHRQ(op.Imm(1), half)
	m.MOVQ(half, rest)
	m.ANDQ(op.Imm(7), rest)
	m.MOVQ(length, odd)
	m.ANDQ(op.Imm(1), odd)
	// The pairs that are left in the end, and the sample in the middle as one that
	// has nothing beside it.
	order, pairs := m.YMM(), m.YMM()
	m.VMOVDQU(backwards, order)
	m.VPERMPS(m.tail(masks, rest), order, pairs)
	m.ADDQ(odd, rest)
	mask := m.tail(masks, rest)
	last := m.GP64() // bytes from a sample to the last eight that its value needs
	m.LEAQ(op.Mem{Base: length, Disp: -8}, last)
	m.SHLQ(op.Imm(2), last)

	// products sums the products of the taps with the samples from each of at on.
	products := func(at []reg.GPVirtual) []reg.VecVirtual {
		sums := make([]reg.VecVirtual, len(at))
		for i := range sums {
			sums[i] = m.zero()
		}
		left, gone, behind := m.GP64(), m.GP64(), m.GP64()
		m.MOVQ(half, left)
		m.XORQ(gone, gone)
		m.MOVQ(last, behind)
		m.while(left, 8, func() {
			t := m.YMM()
			m.VMOVUPS(op.Mem{Base: taps, Index: gone, Scale: 1}, t)
			for i, p := range at {
				v := m.YMM()
				m.VPERMPS(op.Mem{Base: p, Index: behind, Scale: 1}, order, v)
				m.VADDPS(op.Mem{Base: p, Index: gone, Scale: 1}, v, v)
				m.VMULPS(v, t, v)
				m.VADDPS(v, sums[i], sums[i])
			}
			m.advance(gone, 32)
			m.SUBQ(op.Imm(32), behind)
		})
		m.unlessZero(rest, func() {
			t := m.YMM()
			m.VMASKMOVPS(op.Mem{Base: taps, Index: gone, Scale: 1}, mask, t)
			for i, p := range at {
				v, z := m.YMM(), m.YMM()
				m.VMASKMOVPS(op.Mem{Base: p, Index: gone, Scale: 1}, mask, v)
				m.VMASKMOVPS(op.Mem{Base: p, Index: behind, Scale: 1}, pairs, z)
				m.VPERMPS(z, order, z)
				m.VADDPS(v, z, v)
				m.VMULPS(v, t, v)
				m.VADDPS(v, sums[i], sums[i])
			}
		})
		return sums
	}
	m.while(n, 4, func() {
		at := []reg.GPVirtual{x}
		for range 3 {
			p := m.GP64()
			m.LEAQ(op.Mem{Base: at[len(at)-1], Index: step, Scale: 1}, p)
			at = append(at, p)
		}
		s := products(at)
		a, b, h := m.YMM(), m.YMM(), m.XMM()
		m.VHADDPS(s[1], s[0], a)
		m.VHADDPS(s[3], s[2], b)
		m.VHADDPS(b, a, a)
		m.VEXTRACTF128(op.Imm(1), a, h)
		m.VADDPS(h, a.AsX(), h)
		m.VMOVUPS(h, disp(dst, 0))
		m.advance(dst, 16)
		m.LEAQ(op.Mem{Base: x, Index: step, Scale: 4}, x)
	})
	m.while(n, 1, func() {
		s := products([]reg.GPVirtual{x})
		m.VMOVSS(m.sum8(s[0]), disp(dst, 0))
		m.advance(dst, 4)
		m.ADDQ(step, x)
	})
	m.end()
}

// firMax makes the values of 16 places at a time, then of 8, each lane a place.
func (m *maker) firMax(length int) {
	m.begin(fmt.Sprintf("firMax%dAVX2", length), "func(x, taps []float32, places int) uint32",
		fmt.Sprintf("firMax%dAVX2 is FIRMax for phases of %d taps and whole eights of places.", length, length))
	x := m.GP64()
	m.Load(m.Param("x").Base(), x)
	taps, all := m.slice("taps")
	places := m.GP64()
	m.Load(m.Param("places"), places)
	abs, top := m.noSign(), m.zero()
	take := func(blocks int) {
		m.while(places, 8*blocks, func() {
			tap, left := m.GP64(), m.GP64()
			m.MOVQ(taps, tap)
			m.MOVQ(all, left)
			m.while(left, length, func() {
				sums := make([][4]reg.VecVirtual, blocks)
				for i := range length {
					t := m.YMM()
					m.VBROADCASTSS(disp(tap, 4*i), t)
					for b := range sums {
						s := &sums[b]
						v := m.YMM()
						m.VMULPS(disp(x, 32*b+4*i), t, v)
						if i < 4 {
							s[i] = v
							continue
						}
						m.VADDPS(v, s[i&3], s[i&3])
					}
				}
				for _, s := range sums {
					m.VADDPS(s[1], s[0], s[0])
					m.VADDPS(s[3], s[2], s[2])
					m.VADDPS(s[2], s[0], s[0])
					m.VPAND(s[0], abs, s[0])
					m.VPMAXUD(s[0], top, top)
				}
				m.advance(tap, 4*length)
			})
			m.advance(x, 32*blocks)
		})
	}
	take(2)
	take(1)
	m.MOVL(m.largest(top), m.at(m.ReturnIndex(0)))
	m.end()
}
