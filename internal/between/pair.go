package between

import (
	"fmt"
	"math"

	"tidemark/internal/unit"
)

// KeptHits is how many hits vote on the delay; those after count in levels and coherence only.
const KeptHits = 64

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
// Memory: about 14·N + 8·(KeptHits or the hits, if fewer)·(maxLag + 20 ms) bytes,
// N the transform's length (8192 at 48 kHz and above): 0.6 MB at 48 kHz with 30 ms of lag
// and 24 hits. Not safe for use by several goroutines at once.
type Pair struct {
	l             *Lags
	glance        bool // no hit votes: one correlation of all
	hits, skipped int
	total         powers // as recorded, of whole windows without their mean
	band          [octaves]powers
	saa, sbb      []float32   // spectra of the long transform, each hit brought to one level
	sab           []complex64 // the same of both
	waa, wbb      []float32   // whitened spectra, for coherence
	wab           []complex64 // the same of both, for a glance
	rab           []float32   // [2·reach] sum of whitened correlations, lag −reach first
	kept          [][]float32
	averages      [2]float64 // independent averages under the unaligned and the aligned lag window
	a, b          *Hit       // of Add
}

// NewPair makes a Pair of its own for a sample rate in Hz and the largest delay
// to look for, in frames, either way; for many pairs Lags.Pair costs less. It
// panics on a rate or lag that is not positive.
func NewPair(rateHz, maxLagFrames int) *Pair {
	if rateHz <= 0 || maxLagFrames <= 0 {
		panic(fmt.Sprintf("between: NewPair wants a positive rate and lag, got %d Hz and %d frames", rateHz, maxLagFrames))
	}
	return NewLags(rateHz, maxLagFrames).Pair()
}

// Pair makes a Pair.
func (l *Lags) Pair() *Pair {
	n := len(l.cross)
	return &Pair{l: l, saa: make([]float32, n), sbb: make([]float32, n), sab: make([]complex64, n),
		waa: make([]float32, n), wbb: make([]float32, n), rab: make([]float32, 2*l.reach)}
}

// Glance makes a Pair that takes one look at all hits together: a tenth of the
// work, for telling which of many lines have something in common. Its delay is
// within a millisecond or so, and no hit votes: polarity and spread are not known.
func (l *Lags) Glance() *Pair {
	p := l.Pair()
	p.glance, p.wab = true, make([]complex64, len(l.cross))
	return p
}

// Reset makes the Pair as good as new; its memory serves the next two lines.
func (p *Pair) Reset() {
	*p = Pair{l: p.l, glance: p.glance, saa: p.saa, sbb: p.sbb, sab: p.sab, waa: p.waa, wbb: p.wbb, wab: p.wab, rab: p.rab, kept: p.kept[:0], a: p.a, b: p.b}
	clear(p.saa)
	clear(p.sbb)
	clear(p.sab)
	clear(p.waa)
	clear(p.wbb)
	clear(p.wab)
	clear(p.rab)
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
	p.a, p.b = p.l.Hit(p.a, a), p.l.Hit(p.b, b)
	p.AddHits(p.a, p.b)
}

// AddHits is Add for stretches that Lags.Hit made ready.
func (p *Pair) AddHits(a, b *Hit) {
	if len(a.x) != len(b.x) {
		panic(fmt.Sprintf("between: Pair.AddHits wants equal lengths, got %d and %d frames", len(a.x), len(b.x)))
	}
	if !a.tells || !b.tells {
		p.skipped++
		return
	}
	sa, sb := &a.spectrum, &b.spectrum
	if a.steady && b.steady {
		var ok bool
		if sa, sb, ok = p.l.withoutTones(a, b); !ok {
			p.skipped++
			return
		}
	}
	p.addSpectra(sa, sb)
	p.total.add(powers{a.power, b.power, product(a.x, b.x) - float64(len(a.x))*a.mean*b.mean})
	p.hits++
	// A hit shorter than the lag window is still one average.
	seconds := math.Sqrt(a.seconds * b.seconds)
	for i, flat := range [2]int{p.l.maxLag, 0} {
		p.averages[i] += max(1, seconds/p.l.windowSeconds(flat))
	}
}

// product is Σ a·b.
func product(a, b []float32) float64 {
	var s0, s1, s2, s3 float64
	b = b[:len(a)]
	i := 0
	for ; i+3 < len(a); i += 4 {
		s0 += float64(a[i]) * float64(b[i])
		s1 += float64(a[i+1]) * float64(b[i+1])
		s2 += float64(a[i+2]) * float64(b[i+2])
		s3 += float64(a[i+3]) * float64(b[i+3])
	}
	for ; i < len(a); i++ {
		s0 += float64(a[i]) * float64(b[i])
	}
	return s0 + s1 + s2 + s3
}

// withoutTones transforms two steady stretches under a window that keeps their
// tones narrow, takes these out of both and reports whether anything is left.
func (l *Lags) withoutTones(a, b *Hit) (sa, sb *spectrum, ok bool) {
	n := min(len(a.x), l.piece)
	if len(l.hann) != n {
		l.hann = make([]float32, n)
		for i := range l.hann {
			l.hann[i] = float32(0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n)))
		}
	}
	for i, h := range [2]*Hit{a, b} {
		if l.steady[i] == nil {
			l.steady[i] = &Hit{}
		}
		l.steady[i].transform(l, h.x[:n], h.mean, l.hann)
	}
	sa, sb = &l.steady[0].spectrum, &l.steady[1].spectrum
	return sa, sb, removeTones(sa.s, sb.s) && sa.finish(l) && sb.finish(l)
}

// addSpectra adds two spectra and their product to all sums. Every hit counts
// alike, loud or soft; the level of each line is its own.
func (p *Pair) addSpectra(sa, sb *spectrum) {
	l := p.l
	n := len(l.cross)
	a, b, wa, wb := sa.s[:n], sb.s[:n], sa.white[:n], sb.white[:n]
	saa, sbb, sab, waa, wbb, cross := p.saa[:n], p.sbb[:n], p.sab[:n], p.waa[:n], p.wbb[:n], l.cross[:n]
	for k, x := range a {
		y, u, v := b[k], wa[k], wb[k]
		aa := real(x)*real(x) + imag(x)*imag(x)
		bb := real(y)*real(y) + imag(y)*imag(y)
		re := real(x)*real(y) + imag(x)*imag(y)
		im := real(x)*imag(y) - imag(x)*real(y)
		saa[k] += aa
		sbb[k] += bb
		waa[k] += u * u * aa
		wbb[k] += v * v * bb
		sab[k] = complex(real(sab[k])+re, imag(sab[k])+im)
		w := u * v
		cross[k] = complex(re*w, im*w)
	}
	g := math.Sqrt(sa.energy) * math.Sqrt(sb.energy)
	for i, r := range l.bands {
		ab := 0.0
		for k := r[0]; k < r[1]; k++ {
			ab += float64(real(a[k])*real(b[k]) + imag(a[k])*imag(b[k]))
		}
		p.band[i].add(powers{sa.band[i], sb.band[i], g * ab})
	}
	if p.glance {
		wab := p.wab[:n]
		for k, v := range cross {
			wab[k] += v
		}
		return
	}
	size := l.long.Len()
	x := l.y[:size]
	l.long.Inverse(x, cross)
	var keep []float32
	if k := len(p.kept); k < KeptHits {
		if k < cap(p.kept) && p.kept[:k+1][k] != nil {
			p.kept = p.kept[:k+1]
		} else {
			p.kept = append(p.kept, make([]float32, 2*l.reach))
		}
		keep = p.kept[k]
		copy(keep, x[size-l.reach:]) // negative lags
		copy(keep[l.reach:], x)
	}
	for i, v := range x[size-l.reach:] {
		p.rab[i] += v
	}
	for i, v := range x[:l.reach] {
		p.rab[l.reach+i] += v
	}
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
		if _, hi := octaveEdges(i); hi > p.l.rate/2 {
			continue
		}
		o := &r.Octaves[i]
		o.MonoLossDB = p.band[i].monoLoss()
		o.MonoLossMatchedDB = p.band[i].monoLossMatched(match)
		o.LevelDifferenceDB = p.band[i].levelDifference()
	}

	if p.glance {
		p.correlate()
	}
	c := p.compare()
	best, ok := c.best()
	at := 0.0
	if ok {
		at = best.lag
		step := float64(p.l.step)
		r.DelaySamples = unit.Some(best.lag * step)
		if spread, known := c.spread().Get(); known {
			r.DelaySpread = unit.Some(spread * step)
		}
		if c.peakOverRMS > 0 {
			r.DelaySharpness = unit.Some(c.peakOverRMS)
		}
		r.AlignedCorrelation = c.alignedCorrelation(best.lag)
		r.Polarity, r.PolarityConfidence = c.polarity(best)
	} else if c.told {
		at = c.top.lag // coherence is looked for where it would be
	}
	c.coherence(at, &r)
	return r
}
