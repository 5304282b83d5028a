// Package kernel holds the few inner loops that most of the measuring time goes
// to, each written twice: in portable Go, which says what the loop computes, and
// in AVX2 instructions for amd64, which say the same faster.
//
// # The promise
//
// Both give the same answer bit for bit, for every length and every sample,
// denormals and infinities among them; only of a NaN nothing but that it is one is
// promised. A sum of floats depends on the order of its additions, so the order
// is part of each kernel's description: a sum over lanes puts element i into lane
// i mod (number of lanes), each lane adds its elements as they come, and the
// lanes meet in the order that is stated. Lanes that meet no element hold zero.
// Products are rounded before they are added: no kernel fuses the two, unless
// its description says so, and the portable code says it with conversions, since
// Go may fuse them on other processors.
//
// Nothing outside the slices is read or written, and no kernel allocates.
//
// # The paths
//
// Path tells which of the two is in use. The processor is asked once, at the
// start. Portable switches by hand, for tests and benchmarks; the build tag purego
// leaves the AVX2 code out altogether, as every processor but amd64 does.
//
// # Where the assembly comes from
//
// The files named *_asm_amd64.s and *_asm_amd64.go are written by the program in
// gen, which is a module of its own so that this module needs no generator. After
// a change there:
//
//	go generate ./internal/kernel
package kernel

//go:generate go run -C gen .
