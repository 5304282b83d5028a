package between

import "math"

// Filters, and reflections weaker than the direct sound, are minimum phase:
// their phase is the Hilbert transform of the logarithm of their gain (found by
// folding the cepstrum), and what is left when it is taken out is the arrival
// and the polarity.

const (
	// edgeCoherence bounds the frequencies whose levels are believed; beyond
	// them the ratio of the spectra goes on with its slope, up to steepest (ln per ln f:
	// 12 dB an octave).
	edgeCoherence = 0.4
	steepest      = 2.0
)

// spectralRatio finds ½·ln(Sbb/Saa) of each bin and how far it is believed, and
// of each bin the sums over the bins below.
func (c *comparison) spectralRatio() {
	var acc [2]float64
	for k, gamma := range c.gamma {
		c.ratio[k] = [2]float64{}
		if gamma > 0 && c.rawA[k] > 0 && c.rawB[k] > 0 {
			g := gamma * gamma
			c.ratio[k] = [2]float64{0.5 * math.Log(c.rawB[k]/c.rawA[k]), g * g * g} // half coherent is hardly believed
		}
		acc = passOn(acc, c.ratio[k])
		c.nearest[k] = acc
	}
}

// carryOn is how much of a ratio the next bin takes over.
const carryOn = 0.5

func passOn(acc, r [2]float64) [2]float64 {
	acc[0], acc[1] = acc[0]*carryOn+r[1]*r[0], acc[1]*carryOn+r[1]
	if acc[1] > 0 && acc[1] < 1e-200 { // rescale: only the quotient counts
		acc[0], acc[1] = acc[0]*1e200, acc[1]*1e200
	}
	return acc
}

// minimumPhase writes, for each bin, the turn that takes out the phase which
// belongs to the ratio of the two spectra: where the two cohere, what they say;
// between and beyond, the nearest such.
func (c *comparison) minimumPhase(turn []complex64, extend bool) {
	l := c.p.l
	m := l.short.Len()
	logs := c.logs
	var acc [2]float64
	for k := len(logs) - 1; k >= 0; k-- {
		logs[k] = 0
		num, den := c.nearest[k][0]+carryOn*acc[0], c.nearest[k][1]+carryOn*acc[1]
		if den > 0 {
			logs[k] = complex(float32(num/den), 0)
		}
		acc = [2]float64{acc[0]*carryOn + c.ratio[k][1]*c.ratio[k][0], acc[1]*carryOn + c.ratio[k][1]}
	}
	var beyond analogue
	if extend {
		beyond = analogueOf(logs, c.extendSlopes(logs))
	}
	cep := l.y[:m]
	l.short.Inverse(cep, logs)
	for i := 1; i < m/2; i++ {
		cep[i] *= 2
		cep[m-i] = 0
	}
	l.short.Forward(logs, cep)
	w := 2 * math.Pi / float64(m)
	for k, v := range logs {
		turn[k] = 1
		if l.tilt[k] > 0 {
			s, cos := math.Sincos(-float64(imag(v)) - beyond.at(w*float64(k)))
			turn[k] = complex(float32(cos), float32(s))
		}
	}
}

// analogue is the phase that filters have besides what the folded cepstrum says,
// as an odd polynomial of θ, the frequency in radians a step. Folding takes the
// gain for periodic, mirrored at half the rate; that of a microphone or an
// equaliser goes on beyond, and its phase at θ is
//
//	−(1/π)·∫ L(ψ)·(1/(θ−ψ) + 1/(θ+ψ)) dψ, ψ = 0 … ∞     (Bode 1945, from memory)
//
// with L the logarithm of the gain, where folding has ½·cot(u/2) for 1/u and π
// for ∞. Inside, the difference of the two is u/12 + u³/720 + u⁵/30240 +
// u⁷/1209600 + …; beyond π, L goes on with its slope (ln per ln f), which gives
// (2·slope/π)·Σ (θ/π)^j/j² over odd j. A constant L has no phase, so that its
// value at π is taken from it first.
type analogue [4]float64

func analogueOf(logs []complex64, slope float64) analogue {
	step := math.Pi / float64(len(logs)-1)
	end := real(logs[len(logs)-1])
	var m [4]float64 // moments of L: ∫ L·ψ^0, ψ^2, ψ^4, ψ^6
	for k, v := range logs {
		d := float64(real(v)-end) * step
		t := float64(k) * step
		t *= t
		m[0] += d
		m[1] += d * t
		m[2] += d * t * t
		m[3] += d * t * t * t
	}
	var a analogue
	a[0] = m[0]/6 + m[1]/120 + m[2]/3024 + m[3]/86400
	a[1] = m[0]/360 + m[1]/1512 + m[2]/17280
	a[2] = m[0]/15120 + m[1]/28800
	a[3] = m[0] / 604800
	power := math.Pi
	for i := range a {
		j := float64(2*i + 1)
		a[i] = (2*slope/(power*j*j) - a[i]) / math.Pi
		power *= math.Pi * math.Pi
	}
	return a
}

func (a *analogue) at(t float64) float64 {
	q := t * t
	return t * (a[0] + q*(a[1]+q*(a[2]+q*a[3])))
}

// extendSlopes continues the ratio of the spectra beyond the frequencies at
// which the two cohere with the slope it has at either end, up to 12 dB an
// octave: the skirt of a low-pass or high-pass goes on under the noise, and its
// phase reaches down to where the sound is. It returns the slope at the upper end.
func (c *comparison) extendSlopes(logs []complex64) float64 {
	lo, hi := -1, -1
	mean := 0.0
	for k := 1; k < len(c.gamma); k++ {
		mean += (c.gamma[k] - mean) / max(3, 0.15*float64(k))
		if mean > edgeCoherence && c.gamma[k] > edgeCoherence {
			hi = k
			if lo < 0 {
				lo = k
			}
		}
	}
	if lo < 1 || hi < 2*lo {
		return 0
	}
	// Least squares of the ratio on ln f over an octave, each bin by 1/f.
	slope := func(from, to int) float64 {
		var n, sx, sy, sxx, sxy float64
		for k := from; k <= to; k++ {
			w := c.gamma[k] / float64(k)
			x, y := math.Log(float64(k)), float64(real(logs[k]))
			n += w
			sx += w * x
			sy += w * y
			sxx += w * x * x
			sxy += w * x * y
		}
		d := n*sxx - sx*sx
		if !(d > 1e-12) {
			return 0
		}
		return max(-steepest, min(steepest, (n*sxy-sx*sy)/d))
	}
	extend := func(from int, s float64, k int) {
		logs[k] = logs[from] + complex(float32(s*math.Log(float64(k)/float64(from))), 0)
	}
	s := slope(lo, 2*lo)
	for k := 1; k < lo; k++ {
		extend(lo, s, k)
	}
	logs[0] = logs[1]
	s = slope(hi/2, hi)
	for k := hi + 1; k < len(logs); k++ {
		extend(hi, s, k)
	}
	return s
}
