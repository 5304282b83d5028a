package between

import (
	"math"
	"math/cmplx"

	"tidemark/internal/unit"
)

// alignedCorrelation is Rab at a lag between samples over √(Raa(0)·Rbb(0)).
func (c *comparison) alignedCorrelation(lag float64) unit.Maybe[float64] {
	p := c.p
	var ea, eb float64
	for k := range p.saa {
		w := 2.0
		if k == 0 || k == len(p.saa)-1 {
			w = 1
		}
		ea += w * p.saa[k]
		eb += w * p.sbb[k]
	}
	if !(ea > 0) || !(eb > 0) {
		return unit.None[float64]()
	}
	// Σ Re(Sab·e^(2πi·k·lag/N)): exact between samples.
	n := float64(p.long.Len())
	step := cmplx.Rect(1, 2*math.Pi*lag/n)
	turn := complex(1, 0)
	sum := 0.0
	for k, v := range p.sab {
		if k%512 == 0 { // before rounding adds up
			turn = cmplx.Rect(1, 2*math.Pi*lag*float64(k)/n)
		}
		sum += 2 * (real(v)*real(turn) - imag(v)*imag(turn))
		turn *= step
	}
	return unit.Some(max(-1, min(1, sum/math.Sqrt(ea*eb))))
}

// coherence fills in the coherence of all and of each octave, with the lag
// window moved to the delay: what Welch's average of aligned windows would give,
// without a second look at the sound. Undefined where there is but one average.
func (c *comparison) coherence(lag float64, r *PairReading) {
	p := c.p
	m := p.short.Len()
	x := make([]float64, m)
	s := make([]complex128, m/2+1)
	raa, rbb := p.autocorrelations()
	power := func(r []float64) []float64 {
		p.spectrum(s, x, func(i int) float64 {
			if j := max(i-p.reach, p.reach-i); j < len(r) {
				return r[j]
			}
			return 0
		}, 0, 0)
		out := make([]float64, len(s))
		for k := range out {
			out[k] = max(real(s[k]), 0)
		}
		return out
	}
	saa, sbb := power(raa), power(rbb)
	p.spectrum(s, x, func(i int) float64 { return p.rab[i] }, int(math.Round(lag)), 0)
	n := p.averages[1]
	band := bandTable(m, p.rate)
	var num, den [octaves + 1]float64
	for k, v := range s {
		if band[k] < 0 {
			continue
		}
		g := saa[k] * sbb[k]
		w := math.Sqrt(c.rawA[k] * c.rawB[k])
		if !(g > 0) || !(w > 0) {
			continue
		}
		// Weighted by power: each bin says what share of its sound is common.
		common := w * min((real(v)*real(v)+imag(v)*imag(v))/g, 1)
		num[band[k]] += common
		den[band[k]] += w
		num[octaves] += common
		den[octaves] += w
	}
	of := func(i int) unit.Maybe[float64] {
		if !(den[i] > 0) || n < leastAverages {
			return unit.None[float64]()
		}
		return unit.Some(unbias(num[i]/den[i], n))
	}
	for i := range octaves {
		if _, hi := octaveEdges(i); hi <= p.rate/2 {
			r.Octaves[i].Coherence = of(i)
		}
	}
	r.Coherence = of(octaves)
}
