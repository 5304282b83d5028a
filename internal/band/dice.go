package band

import (
	"fmt"
	"hash/fnv"
	"math/rand/v2"
)

// dice is chance with a seed and a name, so that one player's dice do not
// depend on how often another threw.
type dice struct{ *rand.Rand }

func pcg(seed uint64, name ...any) *rand.PCG {
	h := fnv.New64a()
	fmt.Fprint(h, name...)
	return rand.NewPCG(seed, h.Sum64())
}

func newDice(seed uint64, name ...any) dice { return dice{rand.New(pcg(seed, name...))} }

// near is a normal deviate round mid, cut at 2.5 spreads: people slip, they do
// not fall off the chair.
func (d dice) near(mid, spread float64) float64 {
	return mid + spread*max(-2.5, min(2.5, d.NormFloat64()))
}

func (d dice) between(a, b float64) float64 { return a + (b-a)*d.Float64() }

func (d dice) chance(p float64) bool { return d.Float64() < p }

// hiss is white noise, cheap: the sum of the four 16-bit fields of one random
// number, close to normal, with variance 1.
type hiss struct{ pcg *rand.PCG }

// The fields are uniform on 0…65535: the sum has mean 131070 and a standard
// deviation of 65536/√3.
const (
	hissMean   = 131070
	hissSpread = 1 / 37837.2
)

func (h hiss) next() float64 {
	u := h.pcg.Uint64()
	return (float64(u&0xffff+u>>16&0xffff+u>>32&0xffff+u>>48) - hissMean) * hissSpread
}

func (d dice) hiss() hiss { return hiss{rand.NewPCG(d.Uint64(), d.Uint64())} }
