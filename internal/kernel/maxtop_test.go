package kernel

import (
	"math/rand/v2"
	"slices"
	"testing"
)

func TestTheLargestOfTops(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	for n := range 200 {
		tops := make([]uint32, n)
		for i := range tops {
			tops[i] = r.Uint32() >> (1 + r.IntN(31))
		}
		want := uint32(0)
		if n > 0 {
			want = slices.Max(tops)
		}
		for _, portable := range []bool{false, true} {
			was := Portable(portable)
			got := MaxTop(tops)
			Portable(was)
			if got != want {
				t.Errorf("%d tops, portable %v: %x, want %x", n, portable, got, want)
			}
		}
	}
}
