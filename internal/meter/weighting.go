package meter

import (
	"fmt"
	"math"

	"tidemark/internal/unit"
)

// Weighting is a frequency weighting of IEC 61672-1:2013: how much each
// frequency counts towards a level.
type Weighting uint8

const (
	// ZWeighted counts every frequency alike.
	ZWeighted Weighting = iota
	// AWeighted follows the ear at low levels, for noise floors: dB(A).
	AWeighted
	// CWeighted is flat from 31.5 Hz to 8 kHz within 3 dB: dB(C).
	CWeighted
)

// String is the letter of the weighting.
func (w Weighting) String() string {
	switch w {
	case AWeighted:
		return "A"
	case CWeighted:
		return "C"
	}
	return "Z"
}

// Pole frequencies of the A and C curves in Hz, IEC 61672-1:2013 Annex E.
const (
	weightingLowHz    = 20.598997 // twice, A and C
	weightingMiddle1  = 107.65265 // A only
	weightingMiddle2  = 737.86223 // A only
	weightingHighHz   = 12194.217 // twice, A and C
	weightingAnchorHz = 1000.0    // where every curve is 0 dB
)

// Gain is the weighting of a frequency as IEC 61672-1 Annex E defines it, as a
// factor of amplitude: 1 at 1 kHz, 0 at 0 Hz for A and C.
//
//	C(f) = f4²·f² / ((f² + f1²)·(f² + f4²))
//	A(f) = C(f) · f² / √((f² + f2²)·(f² + f3²))      both over their value at 1 kHz
func (w Weighting) Gain(f unit.Hertz) float64 {
	return w.shape(float64(f)) / w.shape(weightingAnchorHz)
}

func (w Weighting) shape(hz float64) float64 {
	if w == ZWeighted {
		return 1
	}
	f := hz * hz
	g := weightingHighHz * weightingHighHz * f / ((f + weightingLowHz*weightingLowHz) * (f + weightingHighHz*weightingHighHz))
	if w == AWeighted {
		g *= f / math.Sqrt((f+weightingMiddle1*weightingMiddle1)*(f+weightingMiddle2*weightingMiddle2))
	}
	return g
}

const (
	// weightingLeastRateHz is the lowest rate that carries the anchor of 1 kHz.
	weightingLeastRateHz = 2000

	weightingGroup = 64 // samples that go through a section at once

	// weightingExtraPole lies near half the rate and bends the response there,
	// where a digital filter flattens and the curve goes on falling. The value
	// keeps the error least over rates from 8 to 384 kHz; own choice, no source.
	weightingExtraPole = -0.46
)

// WeightingFilter weights one channel by frequency as it streams by.
//
// The curve's poles are kept where they are (at e^(−2πf/fs)), its zeros at 0 Hz
// as well, so low frequencies follow the curve to some thousandths of a dB. Near
// half the rate such a filter would go astray by several dB, and a bilinear
// transform by more; the zeros of the last section are therefore chosen so that
// the whole meets the curve in three places, one of them just under half the
// rate. It stays within 0.07 dB of the curve up to 0.46 of any rate.
//
// A sample that is NaN or infinite counts as 0. Silence stays silence; the
// filter rings for some tenths of a second after a sound. Z changes nothing.
type WeightingFilter struct {
	rateHz   int
	sections []weightingSection
	frames   int64
}

// weightingSection is two poles and two zeros, transposed direct form II:
//
//	y = b0·x + s1,  s1 = b1·x − a1·y + s2,  s2 = b2·x − a2·y
type weightingSection struct {
	b0, b1, b2, a1, a2 float64
	s1, s2             float64
}

// NewWeightingFilter makes a filter for a rate, and panics on one under 2 kHz,
// which does not carry the 1 kHz that the curves refer to, and on a weighting
// that there is not.
func NewWeightingFilter(rateHz int, w Weighting) *WeightingFilter {
	if rateHz < weightingLeastRateHz || w > CWeighted {
		panic(fmt.Sprintf("meter: weighting %d at %d Hz", w, rateHz))
	}
	f := &WeightingFilter{rateHz: rateHz}
	if w == ZWeighted {
		return f
	}
	pole := func(hz float64) float64 { return math.Exp(-2 * math.Pi * hz / float64(rateHz)) }
	low, high := pole(weightingLowHz), pole(weightingHighHz)
	f.sections = append(f.sections, highPassSection(low, low))
	if w == AWeighted {
		f.sections = append(f.sections, highPassSection(pole(weightingMiddle1), pole(weightingMiddle2)))
	}
	f.sections = append(f.sections,
		weightingSection{b0: 1, a1: -weightingExtraPole},
		weightingSection{b0: 1, a1: -2 * high, a2: high * high})
	f.fitZeros(w)
	return f
}

// highPassSection has two poles and both zeros at 0 Hz.
func highPassSection(p, q float64) weightingSection {
	return weightingSection{b0: 1, b1: -2, b2: 1, a1: -(p + q), a2: p * q}
}

// fitZeros gives the last section the zeros with which the filter meets the
// curve at three frequencies.
//
// With u = sin²(πf/fs) the power response of two zeros is q0 + q1·u + q2·u²,
// any parabola that stays above 0. The one through three points is what the
// curve asks for, over what the filter does without zeros. Its values at 0 Hz
// and at half the rate are (b0+b1+b2)² and (b0−b1+b2)², and q2 is 16·b0·b2.
func (f *WeightingFilter) fitZeros(w Weighting) {
	// Parts of the rate, closer together towards its half, where the curve bends.
	var u, v [3]float64
	for i, part := range [3]float64{0.001, 0.276, 0.447} {
		s := math.Sin(math.Pi * part)
		hz := unit.Hertz(part * float64(f.rateHz))
		g := w.Gain(hz) / f.Gain(hz)
		u[i], v[i] = s*s, g*g
	}
	d1 := (v[1] - v[0]) / (u[1] - u[0]) // divided differences
	d2 := ((v[2]-v[1])/(u[2]-u[1]) - d1) / (u[2] - u[0])
	q2 := d2
	q1 := d1 - d2*(u[0]+u[1])
	q0 := v[0] - d1*u[0] + d2*u[0]*u[1]

	sum, alternating := math.Sqrt(q0), math.Sqrt(q0+q1+q2)
	outer := (sum + alternating) / 2 // b0 + b2
	last := &f.sections[len(f.sections)-1]
	last.b0 = (outer + math.Sqrt(outer*outer-q2/4)) / 2
	last.b1 = (sum - alternating) / 2
	last.b2 = q2 / (16 * last.b0)
}

// Gain is what the filter does to a steady tone, as a factor of amplitude.
func (f *WeightingFilter) Gain(hz unit.Hertz) float64 {
	turn := -2 * math.Pi * float64(hz) / float64(f.rateHz)
	z1, z2 := complex(math.Cos(turn), math.Sin(turn)), complex(math.Cos(2*turn), math.Sin(2*turn))
	g := 1.0
	for _, s := range f.sections {
		over := complex(s.b0, 0) + complex(s.b1, 0)*z1 + complex(s.b2, 0)*z2
		under := 1 + complex(s.a1, 0)*z1 + complex(s.a2, 0)*z2
		g *= math.Hypot(real(over), imag(over)) / math.Hypot(real(under), imag(under))
	}
	return g
}

// Filter writes the next samples of the channel, weighted, to dst, which may be
// x itself. It panics when dst is shorter than x.
func (f *WeightingFilter) Filter(dst, x []float32) {
	dst = dst[:len(x)]
	var y [weightingGroup]float64
	for len(x) > 0 {
		n, _ := f.take(&y, x)
		for i, v := range y[:n] {
			dst[i] = float32(v)
		}
		dst, x = dst[n:], x[n:]
	}
}

// take puts the next samples, weighted, into y and returns how many, and how
// many of them were no numbers.
func (f *WeightingFilter) take(y *[weightingGroup]float64, x []float32) (n, bad int) {
	// Never past the end of a group as counted from the start: there memories are looked after.
	n = min(len(x), weightingGroup-int(f.frames%weightingGroup))
	for i, v := range x[:n] {
		if !finiteSample(v) {
			v = 0
			bad++
		}
		y[i] = float64(v)
	}
	for i := range f.sections {
		f.sections[i].filter(y[:n])
	}
	if f.frames += int64(n); f.frames%weightingGroup == 0 {
		for i := range f.sections {
			f.sections[i].settle()
		}
	}
	return n, bad
}

func (s *weightingSection) filter(x []float64) {
	b0, b1, b2, a1, a2, s1, s2 := s.b0, s.b1, s.b2, s.a1, s.a2, s.s1, s.s2
	for i, v := range x {
		y := b0*v + s1
		s1 = (b1*v + s2) - a1*y
		s2 = b2*v - a2*y
		x[i] = y
	}
	s.s1, s.s2 = s1, s2
}

// settle clears a memory that has died away, before it sinks into denormal numbers.
func (s *weightingSection) settle() {
	if math.Abs(s.s1)+math.Abs(s.s2) < kQuiet {
		s.s1, s.s2 = 0, 0
	}
}
