package main

import (
	"github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/reg"
)

var _ = family("cpu", cpu)

// cpu asks the processor what it can do. These two run on every amd64.
func cpu(c *build.Context) {
	c.Function("cpuid")
	c.Attributes(nosplit)
	c.Doc("cpuid is what the processor says of a leaf of its description.")
	c.SignatureExpr("func(leaf, sub uint32) (eax, ebx, ecx, edx uint32)")
	c.Load(c.Param("leaf"), reg.EAX)
	c.Load(c.Param("sub"), reg.ECX)
	c.CPUID()
	c.Store(reg.EAX, c.Return("eax"))
	c.Store(reg.EBX, c.Return("ebx"))
	c.Store(reg.ECX, c.Return("ecx"))
	c.Store(reg.EDX, c.Return("edx"))
	c.RET()

	c.Function("xgetbv")
	c.Attributes(nosplit)
	c.Doc("xgetbv is which registers the operating system keeps; only after cpuid said OSXSAVE.")
	c.SignatureExpr("func() (eax, edx uint32)")
	c.XORL(reg.ECX, reg.ECX)
	c.XGETBV()
	c.Store(reg.EAX, c.Return("eax"))
	c.Store(reg.EDX, c.Return("edx"))
	c.RET()
}
