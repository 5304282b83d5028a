package main

import (
	"fmt"

	"github.com/mmcloughlin/avo/attr"
	"github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/gotypes"
	op "github.com/mmcloughlin/avo/operand"
	"github.com/mmcloughlin/avo/reg"
)

// nosplit: a kernel has a small frame or none and calls nothing.
const nosplit = attr.NOSPLIT

// maker writes kernels: avo's context with the phrases that they share.
type maker struct {
	*build.Context
	labels int
}

// begin starts a function; what it is for is in doc.
func (m *maker) begin(name, signature, doc string) {
	m.Function(name)
	m.Attributes(nosplit)
	m.Pragma("noescape")
	m.Doc(doc)
	m.SignatureExpr(signature)
}

// end leaves the function. The halves of the wide registers that older
// instructions know nothing of are cleared, which they would wait for.
func (m *maker) end() {
	m.VZEROUPPER()
	m.RET()
}

// at is where a component of a parameter or result lies.
func (m *maker) at(c gotypes.Component) op.Mem {
	b, err := c.Resolve()
	if err != nil {
		panic(err)
	}
	return b.Addr
}

// slice loads the address and length of a slice.
func (m *maker) slice(name string) (base, n reg.GPVirtual) {
	base, n = m.GP64(), m.GP64()
	m.Load(m.Param(name).Base(), base)
	m.Load(m.Param(name).Len(), n)
	return base, n
}

// while repeats body as long as n ≥ step, taking step from n each time.
func (m *maker) while(n reg.GPVirtual, step int, body func()) {
	m.labels++
	loop, done := fmt.Sprintf("loop%d", m.labels), fmt.Sprintf("done%d", m.labels)
	m.CMPQ(n, op.Imm(uint64(step)))
	m.JLT(op.LabelRef(done))
	m.Label(loop)
	body()
	m.SUBQ(op.Imm(uint64(step)), n)
	m.CMPQ(n, op.Imm(uint64(step)))
	m.JGE(op.LabelRef(loop))
	m.Label(done)
}

// unlessZero does body where n is not 0.
func (m *maker) unlessZero(n reg.GPVirtual, body func()) {
	m.labels++
	skip := fmt.Sprintf("skip%d", m.labels)
	m.TESTQ(n, n)
	m.JZ(op.LabelRef(skip))
	body()
	m.Label(skip)
}

// words is a table of numbers of 4 bytes.
func (m *maker) words(name string, values ...uint32) op.Mem {
	g := m.StaticGlobal(name)
	m.DataAttributes(attr.RODATA | attr.NOPTR)
	for _, v := range values {
		m.AppendDatum(op.U32(v))
	}
	return g
}

// bytes is a table of bytes.
func (m *maker) bytes(name string, values ...byte) op.Mem {
	g := m.StaticGlobal(name)
	m.DataAttributes(attr.RODATA | attr.NOPTR)
	for _, v := range values {
		m.AppendDatum(op.U8(v))
	}
	return g
}

// tailTable has eight words of ones and eight of zeros: a load that starts
// n words before its middle is a mask of n words.
func (m *maker) tailTable(name string) op.Mem {
	const all = 0xffffffff
	return m.words(name, all, all, all, all, all, all, all, all, 0, 0, 0, 0, 0, 0, 0, 0)
}

// tail is the mask whose first n words are ones; n, up to 8, is left as it is.
func (m *maker) tail(table op.Mem, n reg.GPVirtual) reg.VecVirtual {
	base, back, mask := m.GP64(), m.GP64(), m.YMM()
	m.LEAQ(table, base)
	m.MOVQ(n, back)
	m.NEGQ(back)
	m.VMOVUPS(op.Mem{Base: base, Index: back, Scale: 4, Disp: 32}, mask)
	return mask
}

// zero is a register of zeros.
func (m *maker) zero() reg.VecVirtual {
	y := m.YMM()
	m.VXORPS(y, y, y)
	return y
}

// noSign is the mask that takes the sign off eight float32.
func (m *maker) noSign() reg.VecVirtual {
	y := m.YMM()
	m.VPCMPEQD(y, y, y)
	m.VPSRLD(op.Imm(1), y, y)
	return y
}

// largest is the largest of eight unsigned words.
func (m *maker) largest(y reg.VecVirtual) reg.GPVirtual {
	x, z, r := m.XMM(), m.XMM(), m.GP32()
	m.VEXTRACTI128(op.Imm(1), y, x)
	m.VPMAXUD(y.AsX(), x, x)
	m.VPSHUFD(op.Imm(0x4e), x, z)
	m.VPMAXUD(z, x, x)
	m.VPSHUFD(op.Imm(0xb1), x, z)
	m.VPMAXUD(z, x, x)
	m.VMOVD(x, r)
	return r
}

// sum8 is ((0+1)+(2+3))+((4+5)+(6+7)) of eight float32.
func (m *maker) sum8(y reg.VecVirtual) reg.VecVirtual {
	t, x := m.YMM(), m.XMM()
	m.VHADDPS(y, y, t)
	m.VHADDPS(t, t, t)
	m.VEXTRACTF128(op.Imm(1), t, x)
	m.VADDSS(x, t.AsX(), x)
	return x
}

// disp is the place so many bytes behind what p points at.
func disp(p reg.GPVirtual, bytes int) op.Mem { return op.Mem{Base: p, Disp: bytes} }

// advance moves a pointer on.
func (m *maker) advance(p reg.GPVirtual, bytes int) { m.ADDQ(op.U32(bytes), p) }
