package meter

import (
	"cmp"
	"fmt"
	"math"
	"math/bits"
	"slices"

	"tidemark/internal/kernel"
)

// ClippingReading counts flat tops of one channel.
type ClippingReading struct {
	FullScale Events  // runs at the largest value that the format can hold
	AtFull    int64   // samples at that value, in runs of any length; of float sound those of exactly ±1
	FlatTop   Events  // runs at one repeated extreme below full scale
	FlatLevel float64 // |x| at which most of the flat tops lie; 0 without
	// Rounded says that the flat tops are flat to 0.3 % only: something before
	// the converter clipped, and its noise lies on the tops.
	Rounded bool
}

// Limits of the clipping meter. The run of three is the published habit
// (3 to 4 consecutive samples at one extreme); the others are common practice,
// no source, held by the tests on both sides.
const (
	clipRun      = 3     // samples at full scale that make a run
	flatRun      = 4     // samples at a lower extreme that make a run
	flatTol      = 2e-5  // relative width of a digital flat top
	flatRepeats  = 3     // runs at one level that make it a ceiling
	softTol      = 3e-3  // relative width of a flat top clipped before the converter
	softRepeats  = 8     // runs at one level that make it a ceiling
	softLevelTol = 1e-2  // how far apart those runs may lie
	softSteep    = 0.16  // fall beside such a top, re its level
	flatSteep    = 24    // fall beside a digital flat top, re its own width
	clipSteep    = 12    // fall beside a run at full scale, in steps of the format
	clipLook     = 64    // samples that the fall is looked for in, at most
	clipNear     = 0.97  // only tops this near to the extreme so far are looked at
	flatOutmost  = 0.985 // a ceiling lies this near to the extreme in the end
	lsb16        = 1. / (1 << 15)
)

// Clipping finds flat tops: runs of samples at the largest value that the
// format can hold, and runs at an extreme below it that is hit again and again
// (clipped before a later gain, or before the converter).
//
// A smooth crest is flat too when it is slow: a 20 Hz sine at 192 kHz stays
// within a step of 16 bits for 17 samples. What tells them apart is the fall
// beside the top. With a top of width w whose samples lie within δ, a parabola
// has fallen by 4δ at w/2 beside it, the flattest crest of two partials by 16δ;
// a clipped top falls by much more. Square waves and limiters make true flat
// tops: they are counted, and whoever reads the count decides.
//
// Silence and emptiness read as nothing found.
type Clipping struct {
	win   tapeView
	top   float32 // largest value of the format
	equal bool    // values at and above top must be equal to be clipped: float sound
	lsb   float32
	long  int     // a run this long is no crest: 1 ms
	soft  int     // shortest flat top clipped before the converter
	near  float32 // sounds below this are not looked at
	open  bool    // a plateau is open
	full  Events
	at    int64       // samples at full scale
	sides [2]clipSide // positive, negative
}

type clipSide struct {
	sign  float32
	max   float32 // largest sample of this sign so far
	full  plateau
	exact plateau
	soft  plateau
	// The outermost few levels at which tops were found.
	exactAt, softAt ceilings
}

// plateau is a run of samples of nearly one value that may still grow.
type plateau struct {
	start int64
	n     int
	ref   float32    // value that opened it, sign taken off
	fall  [6]float32 // largest fall within 2, 4 … 64 samples before it
}

// NewClipping makes a meter for sound whose largest positive sample value is
// fullScale: 32767/32768 for 16 bits, 1 for float sound, where a run counts
// when it is at or above 1 and its values are equal (float sound above full
// scale is headroom used, not clipping). It panics on a rate or full scale that
// is not positive.
func NewClipping(rateHz int, fullScale float32) *Clipping {
	return newClipping(rateHz, fullScale, &tape{})
}

func newClipping(rateHz int, fullScale float32, t *tape) *Clipping {
	if rateHz <= 0 || !(fullScale > 0) {
		panic(fmt.Sprintf("meter: clipping of rate %d Hz, full scale %g", rateHz, fullScale))
	}
	m := &Clipping{
		win:   t.view(clipLook+32, 1024, clipLook),
		top:   fullScale,
		equal: fullScale >= 1,
		lsb:   max(1-fullScale, 1./(1<<23)),
		long:  max(clipRun, rateHz/1000),
		soft:  max(6, rateHz/8000),
	}
	m.sides[0].sign, m.sides[1].sign = 1, -1
	return m
}

// Measure takes the next samples.
func (m *Clipping) Measure(x []float32) {
	for len(x) > 0 {
		x = m.win.tape.put(x)
		m.catchUp()
	}
}

// catchUp looks at what has come in on the tape.
func (m *Clipping) catchUp() {
	for m.win.next() {
		m.scan(m.win.back, m.win.n-m.win.ahead, m.win.n)
		m.win.slide()
	}
}

// scan looks at buf[lo:hi]; samples are there up to end.
func (m *Clipping) scan(lo, hi, end int) {
	const part = 64
	if !m.open && !(math.Float32frombits(m.win.peak(lo, hi)) >= m.near) {
		return // the usual case: nothing here comes near the extreme so far
	}
	for a := lo; a < hi; a += part {
		b := min(a+part, hi)
		if peak := math.Float32frombits(m.win.peak(a, b)); !(peak >= m.near || m.open) {
			continue
		}
		var up, down float32
		for _, v := range m.win.buf[a:b] {
			if v > up {
				up = v
			}
			if v < down {
				down = v
			}
			if size := max(v, -v); size >= m.top && (!m.equal || size == 1) {
				m.at++
			}
		}
		m.near, m.open = m.top, false // float sound may go on past full scale
		for s, ext := range [2]float32{up, -down} {
			side := &m.sides[s]
			if ext > side.max && ext < 1e9 {
				side.max = ext
			}
			near := side.max * clipNear
			if ext >= near && ext > 0 || side.open() {
				m.follow(side, a, b, end, near)
			}
			m.open = m.open || side.open()
			m.near = min(m.near, near)
		}
	}
}

// peakOf is max |x|. Without its sign, a float orders like its bits.
func peakOf(x []float32) float32 { return math.Float32frombits(kernel.MaxAbs(x)) }

// finitePeak is max |x| of the samples that are numbers.
func finitePeak(x []float32) (peak float32) {
	if peak = peakOf(x); peak <= math.MaxFloat32 {
		return peak
	}
	peak = 0
	for _, v := range x {
		if finiteSample(v) {
			peak = max(peak, abs32(v))
		}
	}
	return peak
}

func (s *clipSide) open() bool { return s.full.n|s.exact.n|s.soft.n != 0 }

// follow tracks the plateaus of one side through buf[a:b].
func (m *Clipping) follow(side *clipSide, a, b, end int, near float32) {
	buf, sign := m.win.buf[:b+1], side.sign
	for i := a; i < b; i++ {
		v := buf[i] * sign
		if v < near && !side.open() {
			for i++; i < b && buf[i]*sign < near; i++ {
			}
			i--
			continue
		}
		full := v >= m.top && v <= math.MaxFloat32 // no number is no full scale: Level counts it as bad
		if p := &side.full; p.n > 0 {
			if full && (!m.equal || v == p.ref) {
				m.grow(p, sign, i)
			} else {
				m.closeFull(side, i, end)
			}
		}
		width := m.width(v)
		if p := &side.exact; p.n > 0 {
			if !full && within(v, p.ref, width) {
				m.grow(p, sign, i)
			} else {
				m.closeExact(side, i, end)
			}
		}
		if p := &side.soft; p.n > 0 {
			if !full && within(v, p.ref, softTol*p.ref) {
				m.grow(p, sign, i)
			} else {
				m.closeSoft(side, i, end)
			}
		}
		if v < near {
			continue
		}
		// A top of one sample is none, so it opens only when the next one is level with it.
		start, next := m.win.start+int64(i), buf[i+1]*sign
		switch {
		case full:
			if side.full.n == 0 {
				side.full = plateau{start: start, n: 1, ref: v}
			}
		default:
			if side.exact.n == 0 && within(next, v, width) {
				side.exact = plateau{start: start, n: 1, ref: v}
			}
			if side.soft.n == 0 && within(next, v, softTol*v) {
				side.soft = plateau{start: start, n: 1, ref: v}
			}
		}
	}
}

func within(a, b, tol float32) bool { return a-b <= tol && b-a <= tol }

// width is how far the samples of a digital flat top may differ: dither moves
// them by a step of the format either way.
func (m *Clipping) width(level float32) float32 { return max(flatTol*level, 2.1*m.lsb) }

// grow adds the sample at i to a plateau. Early on, while what lies before it
// is still in the window, it notes how steeply the sound came up.
func (m *Clipping) grow(p *plateau, sign float32, i int) {
	p.n++
	if p.n != clipRun {
		return
	}
	first := i + 1 - p.n
	var most float32
	for d, k := 1, 0; d <= clipLook; d++ {
		most = max(most, p.ref-sign*m.win.buf[first-d])
		if d == 2<<k {
			p.fall[k] = most
			k++
		}
	}
}

// falls returns how far the sound falls on either side of a plateau that ends
// before i, within half its length.
func (m *Clipping) falls(p *plateau, sign float32, i, end int) (before, after float32) {
	k := min(max(bits.Len(uint(p.n/2))-2, 0), len(p.fall)-1) // 2<<k ≤ n/2
	for j := i; j < min(i+2<<k, end); j++ {
		after = max(after, p.ref-sign*m.win.buf[j])
	}
	return p.fall[k], after
}

func (p *plateau) run(sign float32) Run {
	return Run{Frame: p.start, Frames: int64(p.n), Amplitude: sign * p.ref}
}

func (m *Clipping) closeFull(side *clipSide, i, end int) {
	p := &side.full
	if p.n >= clipRun {
		before, after := m.falls(p, side.sign, i, end)
		if p.n > m.long || max(before, after) > clipSteep*max(m.lsb, lsb16) {
			m.full.add(p.run(side.sign))
		}
	}
	p.n = 0
}

func (m *Clipping) closeExact(side *clipSide, i, end int) {
	p := &side.exact
	if p.n >= flatRun {
		before, after := m.falls(p, side.sign, i, end)
		if min(before, after) > flatSteep*max(m.width(p.ref), lsb16) {
			side.exactAt.add(p.run(side.sign), p.ref, m.width(p.ref)+1e-4*p.ref)
		}
	}
	p.n = 0
}

func (m *Clipping) closeSoft(side *clipSide, i, end int) {
	p := &side.soft
	if p.n >= m.soft {
		before, after := m.falls(p, side.sign, i, end)
		if min(before, after) > softSteep*p.ref {
			side.softAt.add(p.run(side.sign), p.ref, softLevelTol*p.ref)
		}
	}
	p.n = 0
}

// Reading tells what was clipped so far.
func (m *Clipping) Reading() ClippingReading {
	c := *m
	c.win = m.win.ended()
	c.full = m.full.apart()
	for s := range c.sides {
		c.sides[s].exactAt = m.sides[s].exactAt.apart()
		c.sides[s].softAt = m.sides[s].softAt.apart()
	}
	c.scan(c.win.back, c.win.n, c.win.n)
	for s := range c.sides {
		side := &c.sides[s]
		c.closeFull(side, c.win.n, c.win.n)
		c.closeExact(side, c.win.n, c.win.n)
		c.closeSoft(side, c.win.n, c.win.n)
	}
	// Both sides are followed part by part, so that neighbours may be out of order.
	slices.SortFunc(c.full.Kept, func(a, b Run) int { return cmp.Compare(a.Frame, b.Frame) })
	r := ClippingReading{FullScale: c.full, AtFull: c.at}
	var found []ceiling
	for s := range c.sides {
		found = append(found, c.sides[s].exactAt.outmost(c.sides[s].max, flatRepeats)...)
	}
	if len(found) == 0 {
		for s := range c.sides {
			found = append(found, c.sides[s].softAt.outmost(c.sides[s].max, softRepeats)...)
		}
		r.Rounded = len(found) > 0
	}
	var most int64
	for _, f := range found {
		r.FlatTop.Count += f.runs.Count
		r.FlatTop.Frames += f.runs.Frames
		r.FlatTop.Kept = append(r.FlatTop.Kept, f.runs.Kept...)
		if f.runs.Last.Frame >= r.FlatTop.Last.Frame {
			r.FlatTop.Last = f.runs.Last
		}
		if f.runs.Frames > most {
			most, r.FlatLevel = f.runs.Frames, float64(f.level)
		}
	}
	slices.SortFunc(r.FlatTop.Kept, func(a, b Run) int { return cmp.Compare(a.Frame, b.Frame) })
	r.FlatTop.Kept = r.FlatTop.Kept[:min(len(r.FlatTop.Kept), KeptEvents)]
	return r
}

// ceilings keeps the tops of the outermost few levels at which tops were found.
type ceilings struct {
	at [4]ceiling
	n  int
}

type ceiling struct {
	level float32
	runs  Events
}

func (c *ceilings) add(r Run, level, tol float32) {
	lowest := 0
	for i := range c.at[:c.n] {
		if d := c.at[i].level - level; d <= tol && -d <= tol {
			c.at[i].runs.add(r)
			return
		}
		if c.at[i].level < c.at[lowest].level {
			lowest = i
		}
	}
	switch {
	case c.n < len(c.at):
		lowest = c.n
		c.n++
	case level < c.at[lowest].level:
		return
	}
	kept := c.at[lowest].runs.Kept[:0]
	c.at[lowest] = ceiling{level: level, runs: Events{Kept: kept}}
	c.at[lowest].runs.add(r)
}

func (c *ceilings) outmost(extreme float32, repeats int) []ceiling {
	var out []ceiling
	for _, l := range c.at[:c.n] {
		if l.level >= flatOutmost*extreme && l.runs.Count >= repeats {
			out = append(out, l)
		}
	}
	return out
}

func (c *ceilings) apart() ceilings {
	d := *c
	for i := range d.at {
		d.at[i].runs = c.at[i].runs.apart()
	}
	return d
}
