package between

import (
	"fmt"
	"math"

	"tidemark/internal/fourier"
	"tidemark/internal/unit"
)

// Tuning of Pair. All common practice, held to the figures that bench and tests print.
const (
	// pieceS is how much of a hit is transformed, at least; the length follows
	// from the next power of two (0.14 s at 48 kHz).
	pieceS = 0.12
	// lagMarginS is how far beyond the largest lag correlations are kept: it is
	// the half-width of the window under which coherence is smoothed.
	lagMarginS = 0.020
	// KeptHits is how many hits vote on the delay; those after count in levels and coherence only.
	KeptHits = 64
	// fadeInS and fadeOutShare shape the ends of a window.
	// whitenFloor is the power re the loudest bin under which nothing is raised: −120 dB.
	whitenFloor  = 1e-12
	fadeInS      = 0.012
	fadeOutShare = 0.25
)

// Pair measures two lines against each other over hits of a source that both
// hear. The caller cuts the same stretch out of both recordings, typically 0.25
// to 0.5 s from about 20 ms before a hit, and adds it; any coherent sound will
// do, though, and needs no hit.
//
// The delay comes from generalised cross-correlation (Knapp & Carter 1976):
// phase only, each frequency weighted by its coherence and each octave alike, so
// that neither a loud low end nor empty high bins decide; before, the phase that
// goes with the difference of the two spectra (microphones, equalisers, weaker
// reflections: minimum phase) is taken out, which leaves the direct sound's
// arrival. Every hit votes.
//
// Memory: about 16·N + 8·KeptHits·(maxLag + 20 ms) bytes and four transforms,
// N the transform's length (8192 at 48 kHz): 2 MB at 48 kHz with 20 ms of lag,
// however many hits are added. Not safe for use by several goroutines at once.
type Pair struct {
	rate          float64
	maxLag, reach int // frames; reach = maxLag + margin
	piece         int // frames transformed at once
	long          *fourier.Real
	short         *fourier.Real // of the correlations, at least 2·reach
	longBand      []int8
	fade          []float64 // the window of a whole piece
	flank         []float64 // Hann flank of lag windows, from 1 to 0 over the margin
	tilt          []float64 // weight of each bin of the short transform, 0 for those that may not speak

	hits, skipped int
	total         powers // as recorded, of whole windows without their mean
	band          [octaves]powers
	saa, sbb      []float64    // spectra of the long transform, each hit brought to one level
	sab           []complex128 // the same of both
	waa, wbb      []float64    // whitened spectra, for coherence
	rab           []float64    // [2·reach] sum of whitened correlations, lag −reach first
	kept          [][]float32
	averages      [2]float64 // independent averages under the unaligned and the aligned lag window

	x       []float64 // work space
	fa, fb  []complex128
	smooth  []float64
	running []float64
}

// NewPair makes a Pair for a sample rate in Hz and the largest delay to look
// for, in frames, either way. It panics on a rate or lag that is not positive.
func NewPair(rateHz, maxLagFrames int) *Pair {
	if rateHz <= 0 || maxLagFrames <= 0 {
		panic(fmt.Sprintf("between: NewPair wants a positive rate and lag, got %d Hz and %d frames", rateHz, maxLagFrames))
	}
	p := &Pair{rate: float64(rateHz), maxLag: maxLagFrames}
	p.reach = maxLagFrames + max(int(lagMarginS*p.rate), 16)
	n := 64
	for float64(n-p.reach) < pieceS*p.rate || n < 4*p.reach {
		n *= 2
	}
	p.piece = n - p.reach
	p.long = fourier.NewReal(n)
	m := 64
	for m < 2*p.reach {
		m *= 2
	}
	p.short = fourier.NewReal(m)
	p.longBand = bandTable(n, p.rate)
	p.fade = tukey(p.piece, int(fadeInS*p.rate))
	p.flank = make([]float64, p.reach-p.maxLag)
	for i := range p.flank {
		p.flank[i] = 0.5 + 0.5*math.Cos(math.Pi*float64(i)/float64(len(p.flank)))
	}
	p.tilt = make([]float64, m/2+1)
	for k := range p.tilt {
		if f := float64(k) * p.rate / float64(m); f >= lowHz && f <= min(highHz, 0.45*p.rate) {
			p.tilt[k] = math.Pow(f, -octaveTilt)
		}
	}
	p.saa = make([]float64, n/2+1)
	p.sbb = make([]float64, n/2+1)
	p.sab = make([]complex128, n/2+1)
	p.waa = make([]float64, n/2+1)
	p.wbb = make([]float64, n/2+1)
	p.smooth = make([]float64, n/2+1)
	p.running = make([]float64, n/2+2)
	p.rab = make([]float64, 2*p.reach)
	p.x = make([]float64, n)
	p.fa = make([]complex128, n/2+1)
	p.fb = make([]complex128, n/2+1)
	return p
}

// tukey is a window that rises over the first in frames and falls over its last quarter.
func tukey(n, in int) []float64 {
	w := make([]float64, n)
	out := int(fadeOutShare * float64(n))
	for i := range w {
		w[i] = 1
		if i < in {
			w[i] = 0.5 - 0.5*math.Cos(math.Pi*(float64(i)+0.5)/float64(in))
		}
		if j := n - 1 - i; j < out {
			w[i] = 0.5 - 0.5*math.Cos(math.Pi*(float64(j)+0.5)/float64(out))
		}
	}
	return w
}

// Add takes one hit: the same stretch of both lines. It panics on different
// lengths. A window that tells nothing is counted as skipped: shorter than
// twice the largest lag, one line silent, samples that are not numbers, or
// nothing but steady tones (hum has no arrival). Levels are those of the whole
// window; delay, coherence and bands come from its beginning, which is what
// pieceS says: after it there is more room than source.
func (p *Pair) Add(a, b []float32) {
	if len(a) != len(b) {
		panic(fmt.Sprintf("between: Pair.Add wants equal lengths, got %d and %d frames", len(a), len(b)))
	}
	if len(a) < 2*p.maxLag || len(a) < 64 {
		p.skipped++
		return
	}
	whole, ma, mb := sums(a, b)
	if !(whole.aa > 0) || !(whole.bb > 0) || math.IsInf(whole.aa+whole.bb, 0) {
		p.skipped++
		return
	}
	if n := min(len(a), p.piece); !p.addPiece(a[:n], b[:n], ma, mb) {
		p.skipped++
		return
	}
	p.total.add(whole)
	p.hits++
}

// sums returns the powers of two stretches without their means, and the means.
func sums(a, b []float32) (w powers, ma, mb float64) {
	var sa, sb float64
	for i, x := range a {
		x, y := float64(x), float64(b[i])
		sa += x
		sb += y
		w.aa += x * x
		w.bb += y * y
		w.ab += x * y
	}
	n := float64(len(a))
	ma, mb = sa/n, sb/n
	// A line with nothing but an offset is silent: what is left is rounding.
	ra, rb := w.aa-n*ma*ma, w.bb-n*mb*mb
	if ra <= 1e-12*w.aa {
		ra = 0
	}
	if rb <= 1e-12*w.bb {
		rb = 0
	}
	return powers{ra, rb, w.ab - n*ma*mb}, ma, mb
}

// addPiece transforms one piece and adds it to all sums; it reports whether the piece told anything.
func (p *Pair) addPiece(a, b []float32, ma, mb float64) bool {
	n := len(a)
	steadyA, secondsA := p.envelope(a, ma)
	steadyB, secondsB := p.envelope(b, mb)
	steady := steadyA && steadyB
	w := p.fade
	if n != p.piece || steady {
		w = make([]float64, n)
		if !steady {
			w = tukey(n, int(fadeInS*p.rate))
		} else {
			for i := range w {
				w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n))
			}
		}
	}
	p.transform(p.fa, a, ma, w)
	p.transform(p.fb, b, mb, w)
	if steady && !removeTones(p.fa, p.fb) {
		return false
	}
	// Under 20 Hz there is no sound, only stands, doors and offsets.
	low := int(20*float64(p.long.Len())/p.rate) + 1
	for k := range low {
		p.fa[k], p.fb[k] = 0, 0
	}
	var ea, eb float64
	var band [octaves]powers
	for k, x := range p.fa {
		y := p.fb[k]
		q := powers{real(x)*real(x) + imag(x)*imag(x), real(y)*real(y) + imag(y)*imag(y), real(x)*real(y) + imag(x)*imag(y)}
		ea += q.aa
		eb += q.bb
		if i := p.longBand[k]; i >= 0 {
			band[i].add(q)
		}
	}
	if !(ea > 0) || !(eb > 0) {
		return false
	}
	for i := range band {
		p.band[i].add(band[i])
	}
	// Every hit counts alike, loud or soft; the level of each line is its own.
	ga, gb := 1/ea, 1/eb
	g := math.Sqrt(ga) * math.Sqrt(gb)
	for k, x := range p.fa {
		y := p.fb[k]
		p.saa[k] += ga * (real(x)*real(x) + imag(x)*imag(x))
		p.sbb[k] += gb * (real(y)*real(y) + imag(y)*imag(y))
		p.sab[k] += complex(g*(real(x)*real(y)+imag(x)*imag(y)), g*(real(x)*imag(y)-imag(x)*real(y)))
	}
	p.whiten(p.fa, p.waa)
	p.whiten(p.fb, p.wbb)
	for k, x := range p.fa {
		y := p.fb[k]
		p.fb[k] = complex(real(x)*real(y)+imag(x)*imag(y), real(x)*imag(y)-imag(x)*real(y))
	}
	p.long.Inverse(p.x, p.fb)
	size := p.long.Len()
	var keep []float32
	if len(p.kept) < KeptHits {
		keep = make([]float32, 2*p.reach)
		p.kept = append(p.kept, keep)
	}
	head := p.x[size-p.reach:] // negative lags
	for i := range p.reach {
		p.rab[i] += head[i]
		p.rab[p.reach+i] += p.x[i]
		if keep != nil {
			keep[i] = float32(head[i])
			keep[p.reach+i] = float32(p.x[i])
		}
	}
	// A hit shorter than the lag window is still one average.
	seconds := math.Sqrt(secondsA * secondsB)
	for i, flat := range [2]int{p.maxLag, 0} {
		p.averages[i] += max(1, seconds/p.windowSeconds(flat))
	}
	return true
}

// whiten divides a spectrum by its own smooth course, so that in what follows
// the skirts of a loud low end do not pass for sound in higher bins, and adds
// its power to sum. The course is the mean power within a quarter octave
// around; a real positive factor moves no phase.
func (p *Pair) whiten(s []complex128, sum []float64) {
	p.running[0] = 0
	top := 0.0
	for k, x := range s {
		e := real(x)*real(x) + imag(x)*imag(x)
		p.smooth[k] = e
		p.running[k+1] = p.running[k] + e
		top = max(top, e)
	}
	floor := whitenFloor * top
	for k := range s {
		wide := max(4, k/12)
		lo, hi := max(0, k-wide), min(len(s), k+wide+1)
		mean := (p.running[hi] - p.running[lo]) / float64(hi-lo)
		// The running sum has lost what lies 150 dB under the rest.
		w := 1 / math.Sqrt(max(mean, 0)+floor)
		sum[k] += w * w * p.smooth[k]
		s[k] = complex(real(s[k])*w, imag(s[k])*w)
	}
}

// transform windows x without its mean and writes its spectrum.
func (p *Pair) transform(dst []complex128, x []float32, mean float64, w []float64) {
	for i, v := range x {
		p.x[i] = (float64(v) - mean) * w[i]
	}
	clear(p.x[len(x):])
	p.long.Forward(dst, p.x)
}

// envelope looks at the power in blocks of 20 ms. steady: the blocks lie within
// 4 dB, as those of hum, hiss and held notes do. seconds is the effective
// length (Σp)²/Σp²: a short hit fills little of its window.
func (p *Pair) envelope(x []float32, mean float64) (steady bool, seconds float64) {
	block := max(int(0.02*p.rate), 1)
	var sum, square, lo, hi float64
	lo = math.Inf(1)
	for at := 0; at < len(x); at += block {
		part := x[at:min(len(x), at+block)]
		e := 0.0
		for _, v := range part {
			d := float64(v) - mean
			e += d * d
		}
		sum += e
		square += e * e
		if len(part) == block {
			lo, hi = min(lo, e), max(hi, e)
		}
	}
	if square > 0 {
		seconds = sum * sum / square * 0.02
	}
	return hi > 0 && hi < 2.5*lo, min(seconds, float64(len(x))/p.rate)
}

// PairReading is what two lines have in common. Without a usable hit everything is undefined.
type PairReading struct {
	Hits    int `json:"hits"`    // windows measured
	Skipped int `json:"skipped"` // windows that told nothing

	// DelaySamples is how many samples later B hears the source than A, to a
	// fraction of a sample; negative where B is earlier. Undefined where the two
	// share too little sound to tell.
	DelaySamples unit.Maybe[float64] `json:"delay_samples"`
	// DelaySpread is how far the hits differ, in samples: 1.4826 × the median
	// distance of each hit's own delay from DelaySamples (a standard deviation
	// where errors are normal). Undefined with fewer than three hits.
	DelaySpread unit.Maybe[float64] `json:"delay_spread_samples"`
	// DelaySharpness is the height of the peak over the RMS of all other lags:
	// unrelated noise reaches 5, a close pair of drum microphones 20 and more, a
	// pair of nothing but low end 6. Undefined with DelaySamples.
	DelaySharpness unit.Maybe[float64] `json:"delay_sharpness"`
	// Polarity of B against A, at the delay.
	Polarity Polarity `json:"polarity"`
	// PolarityConfidence is 0 … 1; under PolarityLimit Polarity is Unclear.
	PolarityConfidence float64 `json:"polarity_confidence"`

	// Coherence is the magnitude-squared coherence after alignment, weighted by
	// power, 0 … 1, corrected for the number of averages.
	Coherence unit.Maybe[float64] `json:"coherence"`
	// Correlation is Σab/√(Σa²·Σb²) as recorded, −1 … 1.
	Correlation unit.Maybe[float64] `json:"correlation"`
	// AlignedCorrelation is the same with B moved by the delay; its sign follows polarity.
	AlignedCorrelation unit.Maybe[float64] `json:"aligned_correlation"`

	// MonoLossDB is the power of (A+B)/2 re the mean power of A and B, as recorded.
	MonoLossDB unit.Maybe[unit.DB] `json:"mono_loss_db"`
	// MonoLossMatchedDB is the same after B is brought to A's level: 10·log10((1+r)/2)
	// for the correlation r. It tells how they combine on faders set alike by ear.
	MonoLossMatchedDB unit.Maybe[unit.DB] `json:"mono_loss_matched_db"`
	// LevelDifferenceDB is the level of B re A.
	LevelDifferenceDB unit.Maybe[unit.DB] `json:"level_difference_db"`
	Octaves           []OctaveReading     `json:"octaves"` // 63 Hz … 16 kHz
}

// Reading returns what the hits so far say; it changes nothing that later hits or readings see.
func (p *Pair) Reading() PairReading {
	r := PairReading{Hits: p.hits, Skipped: p.skipped, Polarity: Unclear, Octaves: make([]OctaveReading, octaves)}
	for i := range r.Octaves {
		r.Octaves[i].NominalHz = octaveNominalHz[i]
	}
	if p.hits == 0 {
		return r
	}
	r.Correlation = p.total.correlation()
	r.MonoLossDB = p.total.monoLoss()
	r.LevelDifferenceDB = p.total.levelDifference()
	match := math.Sqrt(p.total.aa / p.total.bb)
	r.MonoLossMatchedDB = p.total.monoLossMatched(match)
	for i := range r.Octaves {
		if _, hi := octaveEdges(i); hi > p.rate/2 {
			continue
		}
		o := &r.Octaves[i]
		o.MonoLossDB = p.band[i].monoLoss()
		o.MonoLossMatchedDB = p.band[i].monoLossMatched(match)
		o.LevelDifferenceDB = p.band[i].levelDifference()
	}

	c := p.compare()
	best, ok := c.best()
	at := 0.0
	if ok {
		at = best.lag
		r.DelaySamples = unit.Some(best.lag)
		r.DelaySpread = c.spread(best)
		if c.peakOverRMS > 0 {
			r.DelaySharpness = unit.Some(c.peakOverRMS)
		}
		r.AlignedCorrelation = c.alignedCorrelation(best.lag)
		r.Polarity, r.PolarityConfidence = c.polarity(best)
	} else if s, found := c.strongest(); found {
		at = s.lag // coherence is looked for where it would be
	}
	c.coherence(at, &r)
	return r
}
