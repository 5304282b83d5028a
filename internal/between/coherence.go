package between

import (
	"math"

	"tidemark/internal/unit"
)

// alignedCorrelation is Rab at a lag between samples over √(Raa(0)·Rbb(0)).
func (c *comparison) alignedCorrelation(lag float64) unit.Maybe[float64] {
	p := c.p
	var ea, eb float64
	last := len(p.saa) - 1
	for k, v := range p.saa {
		w := 2.0
		if k == 0 || k == last {
			w = 1
		}
		ea += w * float64(v)
		eb += w * float64(p.sbb[k])
	}
	if !(ea > 0) || !(eb > 0) {
		return unit.None[float64]()
	}
	// Σ Re(Sab·e^(2πi·k·lag/N)): exact between samples.
	w := 2 * math.Pi * lag / float64(p.l.long.Len())
	sinStep, cosStep := math.Sincos(w)
	sin, cos, sum := 0.0, 1.0, 0.0
	for k, v := range p.sab {
		if k%256 == 0 { // before rounding adds up
			sin, cos = math.Sincos(w * float64(k))
		}
		sum += 2 * (float64(real(v))*cos - float64(imag(v))*sin)
		sin, cos = sin*cosStep+cos*sinStep, cos*cosStep-sin*sinStep
	}
	return unit.Some(max(-1, min(1, sum/math.Sqrt(ea*eb))))
}

// coherence fills in the coherence of all and of each octave, with the lag
// window moved to the delay: what Welch's average of aligned windows would give,
// without a second look at the sound. Undefined where there is but one average.
func (c *comparison) coherence(lag float64, r *PairReading) {
	l := c.p.l
	l.autoSpectrum(c.saa, c.raa, 0)
	l.autoSpectrum(c.sbb, c.rbb, 0)
	l.crossSpectrum(c.sab, c.p.rab, int(math.Round(lag)), 0)
	n := c.p.averages[1]
	of := func(num, den float64) unit.Maybe[float64] {
		if !(den > 0) || n < leastAverages {
			return unit.None[float64]()
		}
		return unit.Some(unbias(num/den, n))
	}
	var allNum, allDen float64
	for i := range octaves {
		lo, hi := octaveEdges(i)
		var num, den float64
		bin := l.grid / float64(l.short.Len())
		for k := int(math.Ceil(lo / bin)); k < len(c.sab) && float64(k)*bin < hi; k++ {
			g := float64(c.saa[k]) * float64(c.sbb[k])
			w := math.Sqrt(c.rawA[k] * c.rawB[k])
			if !(g > 0) || !(w > 0) {
				continue
			}
			// Weighted by power: each bin says what share of its sound is common.
			num += w * min(energy(c.sab[k])/g, 1)
			den += w
		}
		allNum, allDen = allNum+num, allDen+den
		if hi <= l.rate/2 {
			r.Octaves[i].Coherence = of(num, den)
		}
	}
	r.Coherence = of(allNum, allDen)
}
