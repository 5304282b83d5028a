package main

import (
	"math"

	"github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

var _ = family("fft", fft)

// rowBytes is a row of Lanes: eight real parts, eight imaginary parts.
const rowBytes = 64

// complexRow is a row in registers.
type complexRow struct{ re, im reg.VecVirtual }

func fft(c *build.Context) {
	fftFirst(c)
	fftPass(c)
	fftPlain(c)
	root, top := eight(c, "fftRoot", math.Sqrt2/2), eight(c, "fftTop", 1e30)
	for _, powers := range []bool{true, false} {
		for _, paired := range []bool{false, true} {
			fftAcross(c, powers, paired, root, top)
		}
	}
}

// row loads a row.
func row(c *build.Context, at operand.Mem) complexRow {
	v := complexRow{c.YMM(), c.YMM()}
	c.VMOVUPS(at, v.re)
	c.VMOVUPS(at.Offset(32), v.im)
	return v
}

// put stores a row.
func put(c *build.Context, v complexRow, at operand.Mem) {
	c.VMOVUPS(v.re, at)
	c.VMOVUPS(v.im, at.Offset(32))
}

// sumDiff is a+b and a−b of real rows, in the registers of a and b.
func sumDiff(c *build.Context, a, b reg.VecVirtual) (sum, diff reg.VecVirtual) {
	diff = c.YMM()
	c.VSUBPS(b, a, diff)
	c.VADDPS(b, a, a)
	return a, diff
}

// fourPoints is the butterfly of radix 4 without turns.
func fourPoints(c *build.Context, v0, v1, v2, v3 complexRow) (y0, y1, y2, y3 complexRow) {
	var s0, s1, s2, s3 complexRow
	s0.re, s1.re = sumDiff(c, v0.re, v2.re)
	s0.im, s1.im = sumDiff(c, v0.im, v2.im)
	s2.re, s3.re = sumDiff(c, v1.re, v3.re)
	s2.im, s3.im = sumDiff(c, v1.im, v3.im)
	y0.re, y2.re = sumDiff(c, s0.re, s2.re)
	y0.im, y2.im = sumDiff(c, s0.im, s2.im)
	y1.re, y3.re = sumDiff(c, s1.re, s3.im)
	y3.im, y1.im = sumDiff(c, s1.im, s3.re)
	return y0, y1, y2, y3
}

// times is v·w; w are operands of whole rows.
func times(c *build.Context, v complexRow, wr, wi operand.Op) complexRow {
	p := complexRow{c.YMM(), c.YMM()}
	t := c.YMM()
	c.VMULPS(wr, v.re, p.re)
	c.VMULPS(wi, v.im, t)
	c.VSUBPS(t, p.re, p.re)
	c.VMULPS(wi, v.re, p.im)
	u := c.YMM()
	c.VMULPS(wr, v.im, u)
	c.VADDPS(u, p.im, p.im)
	return p
}

// timesOne is v times one complex number in memory.
func timesOne(c *build.Context, v complexRow, w operand.Mem) complexRow {
	wr, wi := c.YMM(), c.YMM()
	c.VBROADCASTSS(w, wr)
	c.VBROADCASTSS(w.Offset(4), wi)
	return times(c, v, wr, wi)
}

// quarters are the addresses of four rows a quarter of a block apart.
func quarters(at, q, q3 reg.Register) [4]operand.Mem {
	return [4]operand.Mem{
		{Base: at},
		{Base: at, Index: q, Scale: 1},
		{Base: at, Index: q, Scale: 2},
		{Base: at, Index: q3, Scale: 1},
	}
}

// turnAndPut ends a butterfly: three rows are turned and all stored.
func turnAndPut(c *build.Context, y0, y1, y2, y3 complexRow, to [4]operand.Mem, w reg.Register) {
	put(c, y0, to[0])
	put(c, timesOne(c, y1, operand.Mem{Base: w}), to[1])
	put(c, timesOne(c, y2, operand.Mem{Base: w, Disp: 8}), to[2])
	put(c, timesOne(c, y3, operand.Mem{Base: w, Disp: 16}), to[3])
}

func fftFirst(c *build.Context) {
	c.Function("fftFirst")
	c.Attributes(nosplit)
	c.Doc("fftFirst fills the rows with windowed samples and does the first pass of radix 4 on them.")
	c.SignatureExpr("func(work *[8]float32, a, b, window *float32, turns *[6]float32, quarter int)")
	work, a, b := c.Load(c.Param("work"), c.GP64()), c.Load(c.Param("a"), c.GP64()), c.Load(c.Param("b"), c.GP64())
	window, w, n := c.Load(c.Param("window"), c.GP64()), c.Load(c.Param("turns"), c.GP64()), c.Load(c.Param("quarter"), c.GP64())
	q, q3, h, h3 := c.GP64(), c.GP64(), c.GP64(), c.GP64() // a quarter of the rows and of the samples, in bytes
	c.MOVQ(n, q)
	c.SHLQ(operand.Imm(6), q)
	c.LEAQ(operand.Mem{Base: q, Index: q, Scale: 2}, q3)
	c.MOVQ(n, h)
	c.SHLQ(operand.Imm(5), h)
	c.LEAQ(operand.Mem{Base: h, Index: h, Scale: 2}, h3)

	c.Label("row")
	var v [4]complexRow
	for i := range v {
		wi := c.YMM()
		c.VMOVUPS(quarters(window, h, h3)[i], wi)
		v[i] = complexRow{c.YMM(), c.YMM()}
		c.VMULPS(quarters(a, h, h3)[i], wi, v[i].re)
		c.VMULPS(quarters(b, h, h3)[i], wi, v[i].im)
	}
	y0, y1, y2, y3 := fourPoints(c, v[0], v[1], v[2], v[3])
	turnAndPut(c, y0, y1, y2, y3, quarters(work, q, q3), w)
	c.ADDQ(operand.U32(rowBytes), work)
	c.ADDQ(operand.U32(32), a)
	c.ADDQ(operand.U32(32), b)
	c.ADDQ(operand.U32(32), window)
	c.ADDQ(operand.U32(24), w)
	c.DECQ(n)
	c.JNZ(operand.LabelRef("row"))
	c.VZEROUPPER()
	c.RET()
}

func fftPass(c *build.Context) {
	c.Function("fftPass")
	c.Attributes(nosplit)
	c.Doc("fftPass does a pass of radix 4 on blocks of 4·quarter rows.")
	c.SignatureExpr("func(work *[8]float32, turns *[6]float32, quarter, blocks int)")
	work, turns := c.Load(c.Param("work"), c.GP64()), c.Load(c.Param("turns"), c.GP64())
	n, blocks := c.Load(c.Param("quarter"), c.GP64()), c.Load(c.Param("blocks"), c.GP64())
	q, q3 := c.GP64(), c.GP64()
	c.MOVQ(n, q)
	c.SHLQ(operand.Imm(6), q)
	c.LEAQ(operand.Mem{Base: q, Index: q, Scale: 2}, q3)

	c.Label("block")
	w, left := c.GP64(), c.GP64()
	c.MOVQ(turns, w)
	c.MOVQ(n, left)
	c.Label("row")
	at := quarters(work, q, q3)
	y0, y1, y2, y3 := fourPoints(c, row(c, at[0]), row(c, at[1]), row(c, at[2]), row(c, at[3]))
	turnAndPut(c, y0, y1, y2, y3, at, w)
	c.ADDQ(operand.U32(rowBytes), work)
	c.ADDQ(operand.U32(24), w)
	c.DECQ(left)
	c.JNZ(operand.LabelRef("row"))
	c.ADDQ(q3, work)
	c.DECQ(blocks)
	c.JNZ(operand.LabelRef("block"))
	c.VZEROUPPER()
	c.RET()
}

func fftPlain(c *build.Context) {
	c.Function("fftPlain")
	c.Attributes(nosplit)
	c.Doc("fftPlain does the last pass of radix 4, in which nothing is turned, on blocks of four rows.")
	c.SignatureExpr("func(work *[8]float32, blocks int)")
	work, blocks := c.Load(c.Param("work"), c.GP64()), c.Load(c.Param("blocks"), c.GP64())
	c.Label("block")
	at := func(i int) operand.Mem { return operand.Mem{Base: work, Disp: i * rowBytes} }
	y0, y1, y2, y3 := fourPoints(c, row(c, at(0)), row(c, at(1)), row(c, at(2)), row(c, at(3)))
	for i, y := range []complexRow{y0, y1, y2, y3} {
		put(c, y, at(i))
	}
	c.ADDQ(operand.U32(4*rowBytes), work)
	c.DECQ(blocks)
	c.JNZ(operand.LabelRef("block"))
	c.VZEROUPPER()
	c.RET()
}

// fftAcross joins the lanes of eight rows at a time: they are turned over, so that
// a register holds one lane of eight rows, turned by the twist, and taken through
// eight points. The result is stored in place of the rows, or its powers added.
func fftAcross(c *build.Context, powers, paired bool, root, top operand.Mem) {
	name, doc, args := "fftFinish", "leaves place i of the transform in row i/8, lane i mod 8", "work, twist *[8]float32, blocks int"
	if powers {
		name, doc, args = "fftPowers", "adds the powers of the lanes, joined, to sums", "power *float64, work, twist *[8]float32, blocks int"
	}
	if paired {
		name += "Paired"
		doc += ", after the halves"
	}
	c.Function(name)
	c.Attributes(nosplit)
	c.Doc(name + " " + doc + ". A spare block lies behind the blocks of eight rows.")
	c.SignatureExpr("func(" + args + ")")
	work, twist, blocks := c.Load(c.Param("work"), c.GP64()), c.Load(c.Param("twist"), c.GP64()), c.Load(c.Param("blocks"), c.GP64())
	var power reg.Register
	if powers {
		power = c.Load(c.Param("power"), c.GP64())
	}
	spare := c.GP64()
	c.MOVQ(blocks, spare)
	c.SHLQ(operand.Imm(9), spare)
	c.ADDQ(work, spare)

	c.Label("block")
	// Lanes 0 … 3 of the eight rows, turned, go to the spare block.
	for i, z := range fftLanes(c, work, twist, 0, paired) {
		put(c, z, operand.Mem{Base: spare, Disp: i * rowBytes})
	}
	// Lanes 4 … 7 meet them: sums stay, differences go to the spare block.
	z := fftLanes(c, work, twist, 4, paired)
	var u [4]complexRow
	for i, o := range z {
		at := operand.Mem{Base: spare, Disp: i * rowBytes}
		s := row(c, at)
		var d complexRow
		u[i].re, d.re = sumDiff(c, s.re, o.re)
		u[i].im, d.im = sumDiff(c, s.im, o.im)
		put(c, d, at)
	}
	emit := func(q int, y complexRow) {
		if !powers {
			put(c, y, operand.Mem{Base: work, Disp: q * rowBytes})
			return
		}
		c.VMULPS(y.re, y.re, y.re)
		c.VMULPS(y.im, y.im, y.im)
		c.VADDPS(y.im, y.re, y.re)
		c.VMINPS(top, y.re, y.re) // of a NaN the cap
		at := operand.Mem{Base: power, Disp: q * rowBytes}
		hi := c.XMM()
		wide, wideHi := c.YMM(), c.YMM()
		c.VEXTRACTF128(operand.Imm(1), y.re, hi)
		c.VCVTPS2PD(y.re.AsX(), wide)
		c.VCVTPS2PD(hi, wideHi)
		c.VADDPD(at, wide, wide)
		c.VADDPD(at.Offset(32), wideHi, wideHi)
		c.VMOVUPD(wide, at)
		c.VMOVUPD(wideHi, at.Offset(32))
	}
	y0, y2, y4, y6 := fourPoints(c, u[0], u[1], u[2], u[3])
	emit(0, y0)
	emit(2, y2)
	emit(4, y4)
	emit(6, y6)

	var d [4]complexRow
	for i := range d {
		d[i] = row(c, operand.Mem{Base: spare, Disp: i * rowBytes})
	}
	var q0, q1, q2, q3 complexRow
	q0.re, q1.re = sumDiff(c, d[0].re, d[2].im)
	q1.im, q0.im = sumDiff(c, d[0].im, d[2].re)
	// f1 = d1·√½(1−i), and −i·f3 likewise.
	f1r, f1i := c.YMM(), c.YMM()
	c.VADDPS(d[1].im, d[1].re, f1r)
	c.VSUBPS(d[1].re, d[1].im, f1i)
	c.VMULPS(root, f1r, f1r)
	c.VMULPS(root, f1i, f1i)
	f3r, f3i := c.YMM(), c.YMM()
	c.VSUBPS(d[3].re, d[3].im, f3r)
	c.VADDPS(d[3].im, d[3].re, f3i)
	c.VMULPS(root, f3r, f3r)
	c.VMULPS(root, f3i, f3i)
	q2.re, q3.re = sumDiff(c, f1r, f3r)
	q3.im, q2.im = sumDiff(c, f1i, f3i)
	var y1, y3, y5, y7 complexRow
	y1.re, y5.re = sumDiff(c, q0.re, q2.re)
	y1.im, y5.im = sumDiff(c, q0.im, q2.im)
	y3.re, y7.re = sumDiff(c, q1.re, q3.im)
	y7.im, y3.im = sumDiff(c, q1.im, q3.re)
	emit(1, y1)
	emit(5, y5)
	emit(3, y3)
	emit(7, y7)

	c.ADDQ(operand.U32(8*rowBytes), work)
	c.ADDQ(operand.U32(7*rowBytes), twist)
	if powers {
		c.ADDQ(operand.U32(64*8), power)
	}
	c.DECQ(blocks)
	c.JNZ(operand.LabelRef("block"))
	c.VZEROUPPER()
	c.RET()
}

// eight is a table of eight times one number.
func eight(c *build.Context, name string, v float32) operand.Mem {
	b := math.Float32bits(v)
	return (&maker{Context: c}).words(name, b, b, b, b, b, b, b, b)
}

// fftLanes are four lanes of eight rows, one lane a register, from the first on,
// turned by the twist. Lane 0 is not turned.
func fftLanes(c *build.Context, work, twist reg.Register, first int, paired bool) (z [4]complexRow) {
	for part := range 2 { // real, imaginary
		at := func(row int) operand.Mem { return operand.Mem{Base: work, Disp: row*rowBytes + 32*part + 4*first} }
		var r [4]reg.VecVirtual // rows i and i+4, four lanes of each
		for i := range r {
			x := c.YMM()
			c.VBROADCASTF128(at(i), x) // the upper half is filled next
			c.VINSERTF128(operand.Imm(1), at(i+4), x, x)
			r[i] = x
		}
		if paired {
			r[0], r[1] = sumDiff(c, r[0], r[1])
			r[2], r[3] = sumDiff(c, r[2], r[3])
		}
		t := [4]reg.VecVirtual{c.YMM(), c.YMM(), c.YMM(), c.YMM()}
		c.VUNPCKLPS(r[1], r[0], t[0])
		c.VUNPCKHPS(r[1], r[0], t[1])
		c.VUNPCKLPS(r[3], r[2], t[2])
		c.VUNPCKHPS(r[3], r[2], t[3])
		for i := range z {
			y := c.YMM()
			if i%2 == 0 {
				c.VUNPCKLPD(t[2+i/2], t[i/2], y)
			} else {
				c.VUNPCKHPD(t[2+i/2], t[i/2], y)
			}
			if part == 0 {
				z[i].re = y
			} else {
				z[i].im = y
			}
		}
	}
	for i := range z {
		if first+i > 0 {
			w := operand.Mem{Base: twist, Disp: (first + i - 1) * rowBytes}
			z[i] = times(c, z[i], w, w.Offset(32))
		}
	}
	return z
}
