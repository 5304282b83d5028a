package kernel

import (
	"math/rand/v2"
	"testing"
)

// Results that nobody looks at, so that the compiler keeps the calls.
var (
	seenBits uint32
	seenSum  float64
	seenBool bool
)

// BenchmarkKernels tells what a sample costs on each path, in blocks as the meters
// use them.
func BenchmarkKernels(b *testing.B) {
	const n = 2400
	r := rand.New(rand.NewPCG(5, 6))
	x := make([]float32, n+200)
	for i := range x {
		x[i] = float32(int32(r.Uint32())>>8) / (1 << 23)
	}
	src := make([]byte, 24*3*n)
	for i := range src {
		src[i] = byte(r.Uint32())
	}
	var four [4][]float32
	for c := range four {
		four[c] = make([]float32, n)
	}
	l, right := four[0], four[1]
	words := make([]uint32, n/8)
	taps := make([]float32, 150)
	for j := range taps {
		taps[j] = r.Float32() - 0.5
	}
	groups := func(f func(x []float32)) func() {
		return func() {
			for at := 0; at+64 <= n; at += 64 {
				f(x[at : at+64])
			}
		}
	}
	for _, k := range []struct {
		name    string
		samples int
		run     func()
	}{
		{"Decode24", n, func() { Decode24(l, src) }},
		{"Decode24Big", n, func() { Decode24Big(l, src) }},
		{"Decode24Stereo", 2 * n, func() { Decode24Stereo(l, right, src) }},
		{"Decode24Four-24ch", 24 * n, func() {
			for c := 0; c < 24; c += 4 {
				Decode24Four(&four, src[3*c:], 72)
			}
		}},
		{"Decode24FourBig-24ch", 24 * n, func() {
			for c := 0; c < 24; c += 4 {
				Decode24FourBig(&four, src[3*c:], 72)
			}
		}},
		{"Decode24StereoBig", 2 * n, func() { Decode24StereoBig(l, right, src) }},
		{"Decode16StereoBig", 2 * n, func() { Decode16StereoBig(l, right, src) }},
		{"DecodeFloat", n, func() { DecodeFloat(l, src) }},
		{"DecodeFloatStereo", 2 * n, func() { DecodeFloatStereo(l, right, src) }},
		{"DecodeFloatFour-16ch", 16 * n, func() {
			for c := 0; c < 16; c += 4 {
				DecodeFloatFour(&four, src[4*c:], 64)
			}
		}},
		{"Decode16", n, func() { Decode16(l, src) }},
		{"Decode16Big", n, func() { Decode16Big(l, src) }},
		{"Decode16Stereo", 2 * n, func() { Decode16Stereo(l, right, src) }},
		{"MaxAbs", n, func() { seenBits = MaxAbs(x[:n]) }},
		{"MaxAbs-64", n / 64 * 64, groups(func(x []float32) { seenBits = MaxAbs(x) })},
		{"Tops", n, func() { seenBits = Tops(words, x) }},
		{"Tops-64", n / 64 * 64, groups(func(x []float32) { seenBits = Tops(words[:8], x) })},
		{"Sums", n, func() { seenSum, _, _ = Sums(x[:n], 0) }},
		{"Sums-64", n / 64 * 64, groups(func(x []float32) { seenSum, _, _ = Sums(x, 0) })},
		{"Held", n, func() { seenBool = Held(x[:n], 0) }},
		{"Held-64", n / 64 * 64, groups(func(x []float32) { seenBool = Held(x, 0) })},
		{"BitsUsed", n, func() { seenBits, seenBool = BitsUsed(x[:n]) }},
		{"Bend-d1", 32 * 74, func() { Bend(x, 1, 32, l[:74], right[:74]) }},
		{"Bend-d2", 64 * 37, func() { Bend(x, 2, 64, l[:37], right[:37]) }},
		{"Tilted-48", 48 * 50, func() { Tilted(l[:50], x, 48, 0.9) }},
		{"Tilted-96", 96 * 25, func() { Tilted(l[:25], x, 96, 0.9) }},
		{"Decimate-65-17", n, func() { Decimate(l[:n/17], x, taps[:65], 17) }},
		{"Decimate-33-9", n, func() { Decimate(l[:n/9], x, taps[:33], 9) }},
		{"Decimate-19-2", n, func() { Decimate(l[:n/2], x, taps[:19], 2) }},
		{"FIRMax-24-1-group", 64, func() { seenBits = FIRMax(x[:87], taps[:24], 24) }},
		{"FIRMax-24-1-run", 8, func() { seenBits = FIRMax(x[:31], taps[:24], 24) }},
		{"FIRMax-12-3-group", 64, func() { seenBits = FIRMax(x[:75], taps[:36], 12) }},
		{"FIRMax-12-3-run", 8, func() { seenBits = FIRMax(x[:19], taps[:36], 12) }},
	} {
		b.Run(k.name, func(b *testing.B) {
			for _, portable := range []bool{true, false} {
				was := Portable(portable)
				b.Run(Path(), func(b *testing.B) {
					b.ReportAllocs()
					for b.Loop() {
						k.run()
					}
					b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(k.samples), "ns/sample")
				})
				Portable(was)
			}
		})
	}
}
