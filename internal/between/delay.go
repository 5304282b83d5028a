package between

import (
	"math"
	"math/cmplx"
	"slices"

	"tidemark/internal/unit"
)

// Limits of the delay. Held to the figures that the scene tests print.
const (
	lowHz, highHz = 35, 16000 // frequencies that may speak about the delay
	// octaveTilt is the power of 1/f in the weights: 1 lets each octave speak
	// alike, 0 each hertz.
	octaveTilt = 0.7
	// edgeCoherence bounds the frequencies whose levels are believed; beyond
	// them the ratio of the spectra goes on with its slope, up to steepest (ln per ln f:
	// 12 dB an octave).
	edgeCoherence = 0.4
	steepest      = 2.0
	// tallerBy is how much taller the peak must be with a minimum phase taken out
	// than without: a narrow band is a little taller by chance.
	tallerBy = 1.02
	// A delay is believed where the height of its peak over the RMS of all other
	// lags is enoughPeak (unrelated noise reached 4.8 in 320 trials), or where the
	// weighted coherence is enoughCoherence and more the fewer the averages: a
	// narrow band has no sharp peak.
	enoughPeak         = 5.3
	enoughCoherence    = 0.15
	coherenceOverCount = 2.0
)

// fewHitsPeak raises enoughPeak for one and two hits: two unrelated clicks of a
// few milliseconds in one window do correlate.
var fewHitsPeak = [...]float64{0, 1.5, 1.2}

// comparison is the work of one Reading: smoothed spectra and, for each hit and
// for all together, the weighted phase correlation.
type comparison struct {
	p           *Pair
	sab         []complex128 // smoothed, unaligned
	saa, sbb    []float64
	rawA, rawB  []float64   // power spectra before whitening, on the same bins
	gamma       []float64   // coherence of each bin, bias removed
	weight      []float64   // of each bin
	score       []float64   // [2·reach] mean phase correlation, −1 … 1, lag −reach first
	hit         [][]float64 // the same of each kept hit
	meanGamma   float64
	peakOverRMS float64
	averages    float64
}

// peak is an extremum of the phase correlation.
type peak struct {
	lag    float64 // samples
	height float64 // with its sign
}

// spectrum transforms correlations r (lag −reach first) under a lag window that
// is centred on lag centre, flat over ±flat lags, and falls to 0 over the
// margin as a Hann flank.
func (p *Pair) spectrum(dst []complex128, x []float64, at func(i int) float64, centre, flat int) {
	clear(x)
	n := len(x)
	for i := range 2 * p.reach {
		lag := i - p.reach
		if off := max(lag-centre, centre-lag) - flat; off < len(p.flank) {
			x[(lag+n)&(n-1)] = p.flank[max(off, 0)] * at(i)
		}
	}
	p.short.Forward(dst, x)
}

// autocorrelations returns the whitened Raa and Rbb for lags 0 … reach−1.
func (p *Pair) autocorrelations() (raa, rbb []float64) {
	n := p.long.Len()
	x := make([]float64, n)
	s := make([]complex128, n/2+1)
	of := func(power []float64) []float64 {
		for k, v := range power {
			s[k] = complex(v, 0)
		}
		p.long.Inverse(x, s)
		return slices.Clone(x[:p.reach])
	}
	return of(p.waa), of(p.wbb)
}

// thin averages a power spectrum of the long transform onto the bins of the
// short one, under a triangle two bins wide.
func (p *Pair) thin(long []float64) []float64 {
	m, n := p.short.Len(), p.long.Len()
	out := make([]float64, m/2+1)
	r := n / m
	if r < 1 {
		panic("between: the short transform is longer than the long one")
	}
	for k := range out {
		var sum, weight float64
		for j := -r + 1; j < r || j == 0; j++ {
			if i := k*r + j; i >= 0 && i < len(long) {
				w := float64(r - max(j, -j))
				sum += w * long[i]
				weight += w
			}
		}
		out[k] = sum / weight
	}
	return out
}

func (p *Pair) compare() *comparison {
	c := &comparison{p: p}
	m := p.short.Len()
	bins := m/2 + 1
	x := make([]float64, m)
	s := make([]complex128, bins)
	raa, rbb := p.autocorrelations()
	abs := func(i int) int { return max(i, -i) }
	power := func(r []float64) []float64 {
		p.spectrum(s, x, func(i int) float64 {
			if j := abs(i - p.reach); j < len(r) {
				return r[j]
			}
			return 0
		}, 0, p.maxLag)
		out := make([]float64, bins)
		for k := range out {
			out[k] = max(real(s[k]), 0)
		}
		return out
	}
	c.saa, c.sbb = power(raa), power(rbb)
	c.sab = make([]complex128, bins)
	p.spectrum(c.sab, x, func(i int) float64 { return p.rab[i] }, 0, p.maxLag)

	c.rawA, c.rawB = p.thin(p.saa), p.thin(p.sbb)

	n := max(p.averages[0], leastAverages)
	c.averages = n
	c.gamma = make([]float64, bins)
	c.weight = make([]float64, bins)
	var num, den, sum float64
	for k := 1; k < bins; k++ {
		g := c.saa[k] * c.sbb[k]
		tilt := p.tilt[k]
		if tilt == 0 || !(g > 0) {
			continue
		}
		re, im := real(c.sab[k]), imag(c.sab[k])
		c.gamma[k] = unbias((re*re+im*im)/g, n)
		c.weight[k] = c.gamma[k] * tilt
		num += c.weight[k]
		den += tilt
		sum += c.weight[k]
	}
	if sum == 0 {
		return c
	}
	c.meanGamma = num / den
	for k := range c.weight {
		c.weight[k] /= sum
	}
	// The phase of each hit, and their mean: a hit that something else drowned
	// has one voice, however loud.
	phases := make([][]complex128, len(p.kept))
	mean := make([]complex128, bins)
	share := 1 / float64(len(p.kept))
	for j, keep := range p.kept {
		h := make([]complex128, bins)
		p.spectrum(h, x, func(i int) float64 { return float64(keep[i]) }, 0, p.maxLag)
		for k, v := range h {
			if a := math.Sqrt(real(v)*real(v) + imag(v)*imag(v)); a > 0 {
				h[k] = complex(real(v)*(c.weight[k]/a), imag(v)*(c.weight[k]/a))
			}
			mean[k] += complex(real(h[k])*share, imag(h[k])*share)
		}
		phases[j] = h
	}
	correlate := func(phase, turn []complex128) []float64 {
		for k, v := range phase {
			s[k] = v
			if turn != nil {
				s[k] *= turn[k]
			}
		}
		p.short.Inverse(x, s)
		y := make([]float64, 2*p.reach)
		for i := range y {
			y[i] = x[(i-p.reach+m)%m] * float64(m) / 2
		}
		return y
	}
	// Where one filter stands between the lines, taking out its minimum phase
	// makes the arrival sharper and taller; where two sounds make the difference
	// (a drum above, its wires below), it does not. The taller wins.
	var turn []complex128
	height := -1.0
	for i, try := range [][]complex128{nil, c.minimumPhase(false), c.minimumPhase(true)} {
		c.score = correlate(mean, try)
		if b, ok := c.strongest(); ok && math.Abs(b.height) > height {
			height, turn = math.Abs(b.height), try
			if i == 0 {
				height *= tallerBy
			}
		}
	}
	c.score = correlate(mean, turn)
	for _, h := range phases {
		c.hit = append(c.hit, correlate(h, turn))
	}
	return c
}

// windowSeconds is the length ∫w² of a lag window: sound of length T holds
// T/∫w² independent averages under it.
func (p *Pair) windowSeconds(flat int) float64 {
	return (2*float64(flat) + 0.75*float64(len(p.flank))) / p.rate
}

// leastAverages stands in where there is but one: coherence is 1 by
// construction then, and only the peak can tell sound from noise.
const leastAverages = 1.5

// unbias takes from a coherence what n averages of unrelated noise would show: 1/n.
func unbias(g, n float64) float64 { return max(0, (min(g, 1)-1/n)/(1-1/n)) }

// minimumPhase returns, for each bin, the turn that takes out the phase which
// belongs to the ratio of the two spectra. Filters, and reflections weaker than
// the direct sound, are minimum phase: their phase is the Hilbert transform of
// the logarithm of their gain (found by folding the cepstrum), and what is left
// is the arrival and the polarity.
func (c *comparison) minimumPhase(extend bool) []complex128 {
	m := c.p.short.Len()
	bins := len(c.gamma)
	// ½·ln(Sbb/Saa) where the two cohere; between and beyond, the nearest such.
	fwd := make([][2]float64, bins)
	var acc [2]float64
	const keep = 0.5 // per bin
	ratio := func(k int) (l, w float64) {
		if c.gamma[k] <= 0 || c.rawA[k] <= 0 || c.rawB[k] <= 0 {
			return 0, 0
		}
		g := c.gamma[k] * c.gamma[k]
		return 0.5 * math.Log(c.rawB[k]/c.rawA[k]), g * g * g // half coherent is hardly believed
	}
	step := func(k int) {
		l, w := ratio(k)
		acc[0] = acc[0]*keep + w*l
		acc[1] = acc[1]*keep + w
		if acc[1] > 0 && acc[1] < 1e-200 { // rescale: only the quotient counts
			acc[0], acc[1] = acc[0]*1e200, acc[1]*1e200
		}
	}
	for k := range bins {
		step(k)
		fwd[k] = acc
	}
	logs := make([]complex128, bins)
	acc = [2]float64{}
	for k := bins - 1; k >= 0; k-- {
		l, w := ratio(k)
		num, den := fwd[k][0]+keep*acc[0], fwd[k][1]+keep*acc[1]
		if den > 0 {
			logs[k] = complex(num/den, 0)
		}
		acc[0], acc[1] = acc[0]*keep+w*l, acc[1]*keep+w
	}
	if extend {
		c.extendSlopes(logs)
	}
	cep := make([]float64, m)
	c.p.short.Inverse(cep, logs)
	for i := 1; i < m/2; i++ {
		cep[i] *= 2
		cep[m-i] = 0
	}
	c.p.short.Forward(logs, cep)
	for k, v := range logs {
		logs[k] = cmplx.Rect(1, -imag(v))
	}
	return logs
}

// extendSlopes continues the ratio of the spectra beyond the frequencies at
// which the two cohere with the slope it has at either end, up to 12 dB an
// octave: the skirt of a low-pass or high-pass goes on under the noise, and its
// phase reaches down to where the sound is.
func (c *comparison) extendSlopes(logs []complex128) {
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
		return
	}
	// Least squares of the ratio on ln f over an octave, each bin by 1/f.
	slope := func(from, to int) float64 {
		var n, sx, sy, sxx, sxy float64
		for k := from; k <= to; k++ {
			w := c.gamma[k] / float64(k)
			x, y := math.Log(float64(k)), real(logs[k])
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
	s := slope(hi/2, hi)
	for k := hi + 1; k < len(logs); k++ {
		logs[k] = logs[hi] + complex(s*math.Log(float64(k)/float64(hi)), 0)
	}
	s = slope(lo, 2*lo)
	for k := 1; k < lo; k++ {
		logs[k] = logs[lo] + complex(s*math.Log(float64(k)/float64(lo)), 0)
	}
	logs[0] = logs[1]
}

// extrema are the peaks of size of y within the lags looked for, largest first.
func (c *comparison) extrema(y []float64) []peak {
	var out []peak
	first, last := c.p.reach-c.p.maxLag, c.p.reach+c.p.maxLag
	for i := max(first, 1); i <= min(last, len(y)-2); i++ {
		v := math.Abs(y[i])
		l, r := math.Abs(y[i-1]), math.Abs(y[i+1])
		if v < l || v <= r || v == 0 || (y[i-1] > 0) != (y[i] > 0) && (y[i+1] > 0) != (y[i] > 0) && v < 1e-12 {
			continue
		}
		// The vertex of the parabola through three samples.
		shift, d := 0.0, l-2*v+r
		if d < 0 {
			shift = max(-0.5, min(0.5, 0.5*(l-r)/d))
		}
		out = append(out, peak{float64(i-c.p.reach) + shift, math.Copysign(v-0.25*(l-r)*shift, y[i])})
	}
	slices.SortStableFunc(out, func(a, b peak) int {
		switch x, y := math.Abs(a.height), math.Abs(b.height); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	return out
}

// strongest is the highest peak, believed or not.
func (c *comparison) strongest() (peak, bool) {
	if c.score == nil {
		return peak{}, false
	}
	e := c.extrema(c.score)
	if len(e) == 0 {
		return peak{}, false
	}
	return e[0], true
}

// best is the peak that is taken for the arrival of the direct sound.
func (c *comparison) best() (peak, bool) {
	b, ok := c.strongest()
	if !ok {
		return b, false
	}
	c.peakOverRMS = c.peakOverRest(b)
	need := enoughPeak
	if n := len(c.hit); n < len(fewHitsPeak) {
		need *= fewHitsPeak[n]
	}
	return b, c.peakOverRMS >= need || c.meanGamma >= enoughCoherence+coherenceOverCount/c.averages
}

// peakOverRest is the height of a peak over the RMS of the other lags: of all
// that are at least 1 ms away, or of those up to 5 ms away where that is more,
// since two unrelated clicks correlate by chance only where they overlap.
func (c *comparison) peakOverRest(b peak) float64 {
	var all, near, countAll, countNear float64
	away, close := 0.001*c.p.rate, 0.005*c.p.rate
	for lag := -c.p.maxLag; lag <= c.p.maxLag; lag++ {
		off := math.Abs(float64(lag) - b.lag)
		if off < away {
			continue
		}
		v := c.score[lag+c.p.reach]
		all += v * v
		countAll++
		if off <= close {
			near += v * v
			countNear++
		}
	}
	rest := math.Sqrt(max(all/max(countAll, 1), near/max(countNear, 1)))
	if rest == 0 {
		return 0
	}
	return math.Abs(b.height) / rest
}

// spread is the robust deviation of each hit's own delay from the common one.
func (c *comparison) spread(b peak) unit.Maybe[float64] {
	if len(c.hit) < 3 {
		return unit.None[float64]()
	}
	var off []float64
	for _, h := range c.hit {
		if e := c.extrema(h); len(e) > 0 {
			off = append(off, math.Abs(e[0].lag-b.lag))
		}
	}
	if len(off) == 0 {
		return unit.None[float64]()
	}
	slices.Sort(off)
	return unit.Some(1.4826 * off[len(off)/2])
}
