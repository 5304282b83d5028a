package between

import (
	"math"
	"slices"

	"tidemark/internal/unit"
)

// Limits of the delay. Held to the figures that the scene tests print.
const (
	lowHz, highHz = 35, 16000 // frequencies that may speak about the delay
	// octaveTilt is the power of 1/f in the weights: 1 lets each octave speak
	// alike, 0 each hertz.
	octaveTilt = 0.7
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
// for all together, the weighted phase correlation. Lags keeps its memory.
type comparison struct {
	p           *Pair
	raa, rbb    []float32   // whitened autocorrelations, lags 0 … reach−1
	sab         []complex64 // smoothed, unaligned
	saa, sbb    []float32
	rawA, rawB  []float64 // power spectra before whitening, on the same bins
	gamma       []float64 // coherence of each bin, bias removed
	weight      []float64 // of each bin
	ratio       [][2]float64
	nearest     [][2]float64
	logs        []complex64
	turns       [2][]complex64
	phases      [][]complex64 // of each kept hit, weighted
	mean        []complex64   // their mean
	turn        []complex64   // that takes the filters' phase out of it; none: nil
	tried       []complex64   // work space
	score       []float32     // [2·reach] correlation of the mean, turned: −1 … 1, lag −reach first
	one         []float32     // the same of one hit
	told        bool          // there is a peak
	top         peak          // of score, believed or not
	tops        []float64     // lag of each hit's own peak, those that have one
	agree       int           // hits whose correlation at the best lag has its sign
	meanGamma   float64
	peakOverRMS float64
	averages    float64
}

// peak is an extremum of the phase correlation.
type peak struct {
	lag    float64 // steps of the grid
	height float64 // with its sign
}

// comparison is the work space of Readings, made when first asked for.
func (l *Lags) comparison(p *Pair) *comparison {
	if l.work == nil {
		m := len(l.phase)
		c := &comparison{raa: make([]float32, l.reach), rbb: make([]float32, l.reach), sab: make([]complex64, m), saa: make([]float32, m), sbb: make([]float32, m),
			rawA: make([]float64, m), rawB: make([]float64, m), gamma: make([]float64, m), weight: make([]float64, m),
			ratio: make([][2]float64, m), nearest: make([][2]float64, m), logs: make([]complex64, m), mean: make([]complex64, m), tried: make([]complex64, m),
			score: make([]float32, 2*l.reach), one: make([]float32, 2*l.reach)}
		c.turns = [2][]complex64{make([]complex64, m), make([]complex64, m)}
		l.work = c
	}
	c := l.work
	c.p, c.told, c.turn, c.tops, c.agree, c.meanGamma, c.peakOverRMS = p, false, nil, c.tops[:0], 0, 0, 0
	return c
}

// crossSpectrum transforms correlations r (lag −reach first) under a lag window
// that is centred on lag centre, flat over ±flat lags, and falls to 0 over the
// margin as a Hann flank.
func (l *Lags) crossSpectrum(dst []complex64, r []float32, centre, flat int) {
	m := l.short.Len()
	x := l.y[:m]
	clear(x)
	last := len(l.flank) - 1
	for lag := max(centre-flat-last, -l.reach); lag <= min(centre+flat+last, l.reach-1); lag++ {
		w := l.flank[max(0, max(lag-centre, centre-lag)-flat)]
		x[lag&(m-1)] = w * r[lag+l.reach]
	}
	l.short.Forward(dst, x)
}

// autoSpectrum is the same of a correlation that is even, given from lag 0 on: a power.
func (l *Lags) autoSpectrum(dst, r []float32, flat int) {
	m := l.short.Len()
	x := l.y[:m]
	clear(x)
	for lag := range min(flat+len(l.flank), l.reach) {
		v := l.flank[max(0, lag-flat)] * r[lag]
		x[lag] = v
		x[(m-lag)&(m-1)] = v
	}
	l.short.Forward(l.phase, x)
	for k, v := range l.phase {
		dst[k] = max(real(v), 0)
	}
}

// autocorrelation of a whitened power spectrum for lags 0 … reach−1.
func (l *Lags) autocorrelation(dst, power []float32) {
	for k, v := range power {
		l.cross[k] = complex(v, 0)
	}
	x := l.y[:l.long.Len()]
	l.long.Inverse(x, l.cross)
	copy(dst, x)
}

// correlate makes of the sum of a glance what hits add one by one.
func (p *Pair) correlate() {
	l := p.l
	copy(l.cross, p.wab)
	n := l.long.Len()
	x := l.y[:n]
	l.long.Inverse(x, l.cross)
	copy(p.rab, x[n-l.reach:])
	copy(p.rab[l.reach:], x)
	p.kept = append(p.kept[:0], p.rab)
}

// thin averages a power spectrum of the long transform onto the bins of the
// short one, under a triangle two bins wide.
func (l *Lags) thin(dst []float64, long []float32) {
	r := l.long.Len() / l.short.Len()
	for k := range dst {
		var sum, weight float64
		for j := -r + 1; j < r || j == 0; j++ {
			if i := k*r + j; i >= 0 && i < len(long) {
				w := float64(r - max(j, -j))
				sum += w * float64(long[i])
				weight += w
			}
		}
		dst[k] = sum / weight
	}
}

func (p *Pair) compare() *comparison {
	l := p.l
	c := l.comparison(p)
	l.autocorrelation(c.raa, p.waa)
	l.autocorrelation(c.rbb, p.wbb)
	l.autoSpectrum(c.saa, c.raa, l.maxLag)
	l.autoSpectrum(c.sbb, c.rbb, l.maxLag)
	l.crossSpectrum(c.sab, p.rab, 0, l.maxLag)
	l.thin(c.rawA, p.saa)
	l.thin(c.rawB, p.sbb)
	if !c.weigh() {
		return c
	}
	c.hitPhases()
	// Where one filter stands between the lines, taking out its minimum phase
	// makes the arrival sharper and taller; where two sounds make the difference
	// (a drum above, its wires below), it does not. The taller wins.
	height := 0.0
	try := func(t []complex64, by float64) {
		turned(c.tried, c.mean, t)
		c.correlation(c.one, c.tried)
		b, ok := l.tallest(c.one, 0)
		if !ok {
			return
		}
		if b = exactly(b, c.tried, l.short.Len()); math.Abs(b.height) > height {
			height, c.told, c.top, c.turn = math.Abs(b.height)*by, true, b, t
			c.score, c.one = c.one, c.score
		}
	}
	try(nil, tallerBy)
	if !p.glance && c.told {
		c.spectralRatio()
		c.minimumPhase(c.turns[0], false)
		try(c.turns[0], 1)
		c.minimumPhase(c.turns[1], true)
		try(c.turns[1], 1)
		c.askHits()
	}
	return c
}

// weigh finds the coherence of each bin and from it its weight; it reports
// whether any bin has one.
func (c *comparison) weigh() bool {
	n := max(c.p.averages[0], leastAverages)
	c.averages = n
	clear(c.gamma)
	clear(c.weight)
	var num, den, sum float64
	for k, tilt := range c.p.l.tilt {
		g := float64(c.saa[k]) * float64(c.sbb[k])
		if tilt == 0 || !(g > 0) {
			continue
		}
		c.gamma[k] = unbias(energy(c.sab[k])/g, n)
		c.weight[k] = c.gamma[k] * tilt
		num += c.weight[k]
		den += tilt
		sum += c.weight[k]
	}
	if sum == 0 {
		return false
	}
	c.meanGamma = num / den
	for k := range c.weight {
		c.weight[k] /= sum
	}
	return true
}

// hitPhases finds the phase of each hit and their mean: a hit that something
// else drowned has one voice, however loud.
func (c *comparison) hitPhases() {
	l := c.p.l
	clear(c.mean)
	share := float32(1 / float64(len(c.p.kept)))
	for j, keep := range c.p.kept {
		if j == len(c.phases) {
			c.phases = append(c.phases, make([]complex64, len(l.phase)))
		}
		h := c.phases[j]
		l.crossSpectrum(h, keep, 0, l.maxLag)
		for k, v := range h {
			w := c.weight[k]
			if w == 0 {
				h[k] = 0
				continue
			}
			if a := energy(v); a > 0 {
				g := float32(w / math.Sqrt(a))
				v = complex(real(v)*g, imag(v)*g)
			}
			h[k] = v
			c.mean[k] += complex(real(v)*share, imag(v)*share)
		}
	}
}

// turned writes a phase turned by turn, if there is one.
func turned(dst, phase, turn []complex64) {
	if turn == nil {
		copy(dst, phase)
		return
	}
	for k, v := range phase {
		t := turn[k]
		dst[k] = complex(real(v)*real(t)-imag(v)*imag(t), real(v)*imag(t)+imag(v)*real(t))
	}
}

// correlation writes the correlation of a weighted phase.
func (c *comparison) correlation(dst []float32, phase []complex64) {
	l := c.p.l
	copy(l.phase, phase)
	m := l.short.Len()
	x := l.y[:m]
	l.short.Inverse(x, l.phase)
	g := float32(m) / 2
	for i, v := range x[m-l.reach:] {
		dst[i] = v * g
	}
	for i, v := range x[:l.reach] {
		dst[l.reach+i] = v * g
	}
}

// askHits lets each hit say its own lag, and which way up it is at the common one.
func (c *comparison) askHits() {
	l := c.p.l
	at := int(math.Round(c.top.lag)) + l.reach
	for _, h := range c.phases[:len(c.p.kept)] {
		turned(c.tried, h, c.turn)
		c.correlation(c.one, c.tried)
		if (c.one[at] > 0) == (c.top.height > 0) {
			c.agree++
		}
		if top, ok := l.tallest(c.one, 0); ok {
			c.tops = append(c.tops, top.lag)
		}
	}
}

// windowSeconds is the length ∫w² of a lag window: sound of length T holds
// T/∫w² independent averages under it.
func (l *Lags) windowSeconds(flat int) float64 {
	return (2*float64(flat) + 0.75*float64(len(l.flank))) / l.grid
}

// leastAverages stands in where there is but one: coherence is 1 by
// construction then, and only the peak can tell sound from noise.
const leastAverages = 1.5

// unbias takes from a coherence what n averages of unrelated noise would show: 1/n.
func unbias(g, n float64) float64 { return max(0, (min(g, 1)-1/n)/(1-1/n)) }

// tallest is the peak of greatest size of y within the lags looked for: of
// either sign, or of the sign given.
func (l *Lags) tallest(y []float32, sign int) (peak, bool) {
	at := -1
	top := float32(1e-12)
	for i := max(l.reach-l.maxLag, 1); i <= min(l.reach+l.maxLag, len(y)-2); i++ {
		v := y[i]
		if sign < 0 || sign == 0 && v < 0 {
			v = -v
		}
		if v <= top {
			continue
		}
		a, b := y[i-1], y[i+1]
		if y[i] < 0 {
			a, b = -a, -b
		}
		// A neighbour of the other sign is no higher, whatever its size.
		if v >= a && v > b {
			at, top = i, v
		}
	}
	if at < 0 {
		return peak{}, false
	}
	s := 1.0
	if y[at] < 0 {
		s = -1
	}
	a, v, b := s*float64(y[at-1]), s*float64(y[at]), s*float64(y[at+1])
	// The vertex of the parabola through three samples.
	shift, d := 0.0, a-2*v+b
	if d < 0 {
		shift = max(-0.5, min(0.5, 0.5*(a-b)/d))
	}
	return peak{float64(at-l.reach) + shift, s * (v - 0.25*(a-b)*shift)}, true
}

// exactly moves a peak to where the correlation itself has it, between the
// steps of the grid: Newton's steps on C(τ) = Σ Re(S·e^(2πi·k·τ/m)). A parabola
// through three samples of so wide a band is off by up to 0.05 steps.
func exactly(b peak, phase []complex64, size int) peak {
	m := float64(size)
	start := b.lag
	for range 3 {
		var v, slope, bend float64
		w := 2 * math.Pi * b.lag / m
		sinStep, cosStep := math.Sincos(w)
		sin, cos := 0.0, 1.0
		for k, s := range phase {
			if k%256 == 0 { // before rounding adds up
				sin, cos = math.Sincos(w * float64(k))
			}
			re := float64(real(s))*cos - float64(imag(s))*sin
			im := float64(real(s))*sin + float64(imag(s))*cos
			v += re
			slope -= float64(k) * im
			bend -= float64(k) * float64(k) * re
			sin, cos = sin*cosStep+cos*sinStep, cos*cosStep-sin*sinStep
		}
		if v*bend >= 0 { // no peak of this sign here
			return b
		}
		step := -slope / bend * m / (2 * math.Pi)
		if next := b.lag + step; math.Abs(next-start) <= 0.75 {
			b = peak{next, v}
		} else {
			return b
		}
		if math.Abs(step) < 1e-4 {
			break
		}
	}
	return b
}

// best is the peak that is taken for the arrival of the direct sound.
func (c *comparison) best() (peak, bool) {
	b := c.top
	if !c.told {
		return b, false
	}
	c.peakOverRMS = c.peakOverRest(b)
	need := enoughPeak
	if n := c.p.hits; n < len(fewHitsPeak) {
		need *= fewHitsPeak[n]
	}
	return b, c.peakOverRMS >= need || c.meanGamma >= enoughCoherence+coherenceOverCount/c.averages
}

// peakOverRest is the height of a peak over the RMS of the other lags: of all
// that are at least 1 ms away, or of those up to 5 ms away where that is more,
// since two unrelated clicks correlate by chance only where they overlap.
func (c *comparison) peakOverRest(b peak) float64 {
	l := c.p.l
	var all, near, countAll, countNear float64
	away, close := 0.001*l.grid, 0.005*l.grid
	for lag := -l.maxLag; lag <= l.maxLag; lag++ {
		off := math.Abs(float64(lag) - b.lag)
		if off < away {
			continue
		}
		v := float64(c.score[lag+l.reach])
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

// spread is the robust deviation of each hit's own delay from the common one,
// all read off the grid alike, so that what a parabola is off by is not in it.
func (c *comparison) spread() unit.Maybe[float64] {
	b, _ := c.p.l.tallest(c.score, 0)
	if len(c.p.kept) < 3 || len(c.tops) == 0 {
		return unit.None[float64]()
	}
	for i, lag := range c.tops {
		c.tops[i] = math.Abs(lag - b.lag)
	}
	slices.Sort(c.tops)
	return unit.Some(1.4826 * c.tops[len(c.tops)/2])
}
