package main

import (
	"math"

	"github.com/mmcloughlin/avo/build"
	op "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

var _ = family("decode", decode)

// Samples of three bytes are moved to the upper three of four, so that they are
// whole numbers of 32 bits; scale32 then makes ±1 of them, scale16 of those of 16.
const (
	scale16 = 1. / (1 << 15)
	scale32 = 1. / (1 << 31)
)

func decode(c *build.Context) {
	m := &maker{Context: c}
	s16 := m.words("decodeScale16", math.Float32bits(scale16))
	s32 := m.words("decodeScale32", math.Float32bits(scale32))
	m.mono16("decode16AVX2", "Decode16", s16, false)
	m.mono16("decode16BigAVX2", "Decode16Big", s16, true)
	m.mono24("decode24AVX2", "Decode24", s32, false)
	m.mono24("decode24BigAVX2", "Decode24Big", s32, true)
	m.monoFloat()
	m.stereo16("decode16StereoAVX2", "Decode16Stereo", s16, false)
	m.stereo16("decode16StereoBigAVX2", "Decode16StereoBig", s16, true)
	m.stereo24("decode24StereoAVX2", "Decode24Stereo", s32, false)
	m.stereo24("decode24StereoBigAVX2", "Decode24StereoBig", s32, true)
	m.stereoFloat()
	m.four("decode24FourAVX2", "Decode24Four", &s32, false)
	m.four("decode24FourBigAVX2", "Decode24FourBig", &s32, true)
	m.four("decodeFloatFourAVX2", "DecodeFloatFour", nil, false)
}

// places is a shuffle of bytes that moves the samples of three bytes at each
// offset to the upper bytes of a word; where there is none, zeros.
func places(big bool, offsets ...int) (b []byte) {
	for _, at := range offsets {
		low, mid, high := byte(at), byte(at+1), byte(at+2)
		if big {
			low, high = high, low
		}
		b = append(b, 0x80, low, mid, high)
	}
	return b
}

func (m *maker) broadcast(from op.Mem) reg.VecVirtual {
	y := m.YMM()
	m.VBROADCASTSS(from, y)
	return y
}

// whole turns eight whole numbers into samples and stores them.
func (m *maker) whole(y, scale reg.VecVirtual, to op.Mem) {
	m.VCVTDQ2PS(y, y)
	m.VMULPS(y, scale, y)
	m.VMOVUPS(y, to)
}

func (m *maker) mono16(name, is string, s op.Mem, big bool) {
	var swap op.Mem
	if big {
		swap = m.swap16(name)
	}
	m.begin(name, "func(dst []float32, src []byte)", name+" is "+is+" for whole eights of samples.")
	dst, n := m.slice("dst")
	src := m.GP64()
	m.Load(m.Param("src").Base(), src)
	scale, order := m.broadcast(s), m.XMM()
	if big {
		m.VMOVDQU(swap, order)
	}
	one := func(k int) {
		y := m.YMM()
		if big {
			x := m.XMM()
			m.VMOVDQU(disp(src, 16*k), x)
			m.VPSHUFB(order, x, x)
			m.VPMOVSXWD(x, y)
		} else {
			m.VPMOVSXWD(disp(src, 16*k), y)
		}
		m.whole(y, scale, disp(dst, 32*k))
	}
	for _, k := range []int{4, 1} {
		m.while(n, 8*k, func() {
			for i := range k {
				one(i)
			}
			m.advance(src, 16*k)
			m.advance(dst, 32*k)
		})
	}
	m.end()
}

func (m *maker) mono24(name, is string, s op.Mem, big bool) {
	// The second half is loaded from four bytes before its samples, so that
	// nothing is read past the 24.
	table := m.bytes(name+"Places", append(places(big, 0, 3, 6, 9), places(big, 4, 7, 10, 13)...)...)
	m.begin(name, "func(dst []float32, src []byte)", name+" is "+is+" for whole eights of samples.")
	dst, n := m.slice("dst")
	src := m.GP64()
	m.Load(m.Param("src").Base(), src)
	scale, order := m.broadcast(s), m.YMM()
	m.VMOVDQU(table, order)
	one := func(k int) {
		y := m.YMM()
		m.VMOVDQU(disp(src, 24*k), y.AsX())
		m.VINSERTI128(op.Imm(1), disp(src, 24*k+8), y, y)
		m.VPSHUFB(order, y, y)
		m.whole(y, scale, disp(dst, 32*k))
	}
	for _, k := range []int{4, 1} {
		m.while(n, 8*k, func() {
			for i := range k {
				one(i)
			}
			m.advance(src, 24*k)
			m.advance(dst, 32*k)
		})
	}
	m.end()
}

// swap16 is a shuffle that swaps the bytes of each sample of two.
func (m *maker) swap16(name string) op.Mem {
	return m.bytes(name+"Swap", 1, 0, 3, 2, 5, 4, 7, 6, 9, 8, 11, 10, 13, 12, 15, 14)
}

// monoFloat copies: the bytes are the sample.
func (m *maker) monoFloat() {
	m.begin("decodeFloatAVX2", "func(dst []float32, src []byte)", "decodeFloatAVX2 is DecodeFloat for whole eights of samples.")
	dst, n := m.slice("dst")
	src := m.GP64()
	m.Load(m.Param("src").Base(), src)
	for _, k := range []int{4, 1} {
		m.while(n, 8*k, func() {
			for i := range k {
				y := m.YMM()
				m.VMOVUPS(disp(src, 32*i), y)
				m.VMOVUPS(y, disp(dst, 32*i))
			}
			m.advance(src, 32*k)
			m.advance(dst, 32*k)
		})
	}
	m.end()
}

func (m *maker) stereoFloat() {
	m.begin("decodeFloatStereoAVX2", "func(l, r []float32, src []byte)", "decodeFloatStereoAVX2 is DecodeFloatStereo for whole eights of frames.")
	l, n := m.slice("l")
	r, src := m.GP64(), m.GP64()
	m.Load(m.Param("r").Base(), r)
	m.Load(m.Param("src").Base(), src)
	m.while(n, 8, func() {
		a, b, t := m.YMM(), m.YMM(), m.YMM()
		m.VMOVUPS(disp(src, 0), a.AsX()) // frames 0, 1 and 4, 5
		m.VINSERTF128(op.Imm(1), disp(src, 32), a, a)
		m.VMOVUPS(disp(src, 16), b.AsX()) // frames 2, 3 and 6, 7
		m.VINSERTF128(op.Imm(1), disp(src, 48), b, b)
		m.VSHUFPS(op.Imm(0x88), b, a, t)
		m.VSHUFPS(op.Imm(0xdd), b, a, a)
		m.VMOVUPS(t, disp(l, 0))
		m.VMOVUPS(a, disp(r, 0))
		m.advance(src, 64)
		m.advance(l, 32)
		m.advance(r, 32)
	})
	m.end()
}

func (m *maker) stereo16(name, is string, s op.Mem, big bool) {
	var swap op.Mem
	if big {
		swap = m.swap16(name)
	}
	m.begin(name, "func(l, r []float32, src []byte)", name+" is "+is+" for whole eights of frames.")
	l, n := m.slice("l")
	r, src := m.GP64(), m.GP64()
	m.Load(m.Param("r").Base(), r)
	m.Load(m.Param("src").Base(), src)
	scale, order := m.broadcast(s), m.YMM()
	if big {
		m.VBROADCASTI128(swap, order)
	}
	one := func(k int) {
		a, b := m.YMM(), m.YMM()
		m.VMOVDQU(disp(src, 32*k), a)
		if big {
			m.VPSHUFB(order, a, a)
		}
		m.VPSLLD(op.Imm(16), a, b)
		m.VPSRAD(op.Imm(16), b, b)
		m.VPSRAD(op.Imm(16), a, a)
		m.whole(b, scale, disp(l, 32*k))
		m.whole(a, scale, disp(r, 32*k))
	}
	for _, k := range []int{2, 1} {
		m.while(n, 8*k, func() {
			for i := range k {
				one(i)
			}
			m.advance(src, 32*k)
			m.advance(l, 32*k)
			m.advance(r, 32*k)
		})
	}
	m.end()
}

// stereo24 loads the frames 0, 1 and 4, 5 into one register and 2, 3 and 6, 7
// into another, each pair as left, left, right, right.
func (m *maker) stereo24(name, is string, s op.Mem, big bool) {
	table := m.bytes(name+"Places", append(places(big, 0, 6, 3, 9), places(big, 4, 10, 7, 13)...)...)
	m.begin(name, "func(l, r []float32, src []byte)", name+" is "+is+" for whole eights of frames.")
	l, n := m.slice("l")
	r, src := m.GP64(), m.GP64()
	m.Load(m.Param("r").Base(), r)
	m.Load(m.Param("src").Base(), src)
	scale := m.broadcast(s)
	both, last := m.YMM(), m.YMM()
	m.VBROADCASTI128(table, both)
	m.VMOVDQU(table, last) // the last pair is loaded from four bytes before it
	m.while(n, 8, func() {
		a, b, t := m.YMM(), m.YMM(), m.YMM()
		m.VMOVDQU(disp(src, 0), a.AsX())
		m.VINSERTI128(op.Imm(1), disp(src, 24), a, a)
		m.VMOVDQU(disp(src, 12), b.AsX())
		m.VINSERTI128(op.Imm(1), disp(src, 32), b, b)
		m.VPSHUFB(both, a, a)
		m.VPSHUFB(last, b, b)
		m.VPUNPCKLQDQ(b, a, t)
		m.VPUNPCKHQDQ(b, a, a)
		m.whole(t, scale, disp(l, 0))
		m.whole(a, scale, disp(r, 0))
		m.advance(src, 48)
		m.advance(l, 32)
		m.advance(r, 32)
	})
	m.end()
}

// four takes four channels that lie side by side from each of eight frames and
// turns the square of samples over. With a scale they are whole numbers of three
// bytes, without one floats.
func (m *maker) four(name, is string, s *op.Mem, big bool) {
	doc := name + " is " + is + " for whole eights of frames"
	var table op.Mem
	if s != nil {
		doc += "; it reads four bytes more than the last frame's samples"
		table = m.bytes(name+"Places", places(big, 0, 3, 6, 9)...)
	}
	m.begin(name, "func(dst *[4][]float32, frames int, src []byte, stride int)", doc+".")
	p, n, src, stride := m.GP64(), m.GP64(), m.GP64(), m.GP64()
	m.Load(m.Param("dst"), p)
	m.Load(m.Param("frames"), n)
	m.Load(m.Param("src").Base(), src)
	m.Load(m.Param("stride"), stride)
	var to [4]reg.GPVirtual
	for i := range to {
		to[i] = m.GP64()
		m.MOVQ(disp(p, 24*i), to[i])
	}
	scale, order := m.YMM(), m.YMM()
	if s != nil {
		m.VBROADCASTSS(*s, scale)
		m.VBROADCASTI128(table, order)
	}
	store := func(y reg.VecVirtual, to op.Mem) {
		if s != nil {
			m.whole(y, scale, to)
		} else {
			m.VMOVUPS(y, to)
		}
	}
	half := m.GP64()
	m.LEAQ(op.Mem{Base: stride, Index: stride, Scale: 1}, half)
	m.LEAQ(op.Mem{Base: half, Index: half, Scale: 1}, half) // four frames
	m.while(n, 8, func() {
		var f [4]reg.VecVirtual // frame i and frame i+4
		for i := range f {
			f[i] = m.YMM()
			m.VMOVDQU(disp(src, 0), f[i].AsX())
			m.VINSERTI128(op.Imm(1), op.Mem{Base: src, Index: half, Scale: 1}, f[i], f[i])
			if s != nil {
				m.VPSHUFB(order, f[i], f[i])
			}
			m.ADDQ(stride, src)
		}
		m.ADDQ(half, src)
		a, b, c, d := m.YMM(), m.YMM(), m.YMM(), m.YMM()
		m.VPUNPCKLDQ(f[1], f[0], a) // channels 0, 0, 1, 1 of frames 0, 1
		m.VPUNPCKHDQ(f[1], f[0], b) // channels 2, 2, 3, 3
		m.VPUNPCKLDQ(f[3], f[2], c)
		m.VPUNPCKHDQ(f[3], f[2], d)
		for i, pair := range [2][2]reg.VecVirtual{{a, c}, {b, d}} {
			even, odd := m.YMM(), m.YMM()
			m.VPUNPCKLQDQ(pair[1], pair[0], even)
			m.VPUNPCKHQDQ(pair[1], pair[0], odd)
			store(even, disp(to[2*i], 0))
			store(odd, disp(to[2*i+1], 0))
		}
		for i := range to {
			m.advance(to[i], 32)
		}
	})
	m.end()
}
