package meter

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sync"
)

// Head is what a drum's partials are like.
type Head int

// The heads that are told apart.
const (
	HeadUnknown  Head = iota // too few partials, or others than these
	HeadMembrane             // those of an ideal membrane: toms, snares
	HeadKettle               // nearly harmonic: a head over a kettle's air
)

// String is the head in a word.
func (h Head) String() string {
	switch h {
	case HeadMembrane:
		return "membrane"
	case HeadKettle:
		return "kettle"
	}
	return "unknown"
}

// Mode is a way in which a round head moves, by how many of its diameters and
// how many circles, the rim among them, stand still. The zero Mode is none.
type Mode struct{ Diameters, Circles int }

// String is how the books write it: "(0,1)".
func (m Mode) String() string {
	if m.Circles == 0 {
		return "–"
	}
	return fmt.Sprintf("(%d,%d)", m.Diameters, m.Circles)
}

// MembraneRatio is the frequency of a mode of an ideal round membrane over that of
// its lowest, (0,1): the n-th zero of the Bessel function J_m over the first of
// J_0, with m the diameters and n the circles. It panics on negative diameters and
// on no circles.
func MembraneRatio(m Mode) float64 { return besselZero(m.Diameters, m.Circles) / besselZero(0, 1) }

// besselZero is the n-th positive zero of J_m.
func besselZero(m, n int) float64 {
	if m < 0 || n < 1 {
		panic(fmt.Sprintf("meter: mode (%d,%d) of a membrane", m, n))
	}
	// The first lies beyond m, and no two lie nearer than 3 (π in the long run).
	const step = 0.5
	x := max(float64(m), step)
	for {
		a, b := x, x+step
		x = b
		if (math.Jn(m, a) > 0) == (math.Jn(m, b) > 0) {
			continue
		}
		if n--; n > 0 {
			continue
		}
		for range 60 {
			mid := (a + b) / 2
			if (math.Jn(m, mid) > 0) == (math.Jn(m, a) > 0) {
				a = mid
			} else {
				b = mid
			}
		}
		return (a + b) / 2
	}
}

// drumPattern is a row of modes and their frequencies over the first.
type drumPattern struct {
	head  Head
	modes []Mode
	ratio []float64
}

// drumPatterns: the modes of a membrane up to 3.65, beyond which they lie so
// close that anything would fit; and a kettledrum's, by Rossing 1982, from memory.
var drumPatterns = sync.OnceValue(func() []drumPattern {
	ideal := drumPattern{head: HeadMembrane, modes: []Mode{
		{0, 1}, {1, 1}, {2, 1}, {0, 2}, {3, 1}, {1, 2}, {4, 1}, {2, 2}, {0, 3}, {5, 1},
	}}
	for _, m := range ideal.modes {
		ideal.ratio = append(ideal.ratio, MembraneRatio(m))
	}
	return []drumPattern{ideal, {
		head: HeadKettle, modes: []Mode{{1, 1}, {2, 1}, {3, 1}, {4, 1}, {5, 1}}, ratio: []float64{1, 1.50, 1.99, 2.44, 2.90},
	}}
})

// Limits of naming modes: common practice, no source, held by the tests.
const (
	drumOff    = 0.02 // that a partial may lie off its mode: heads are never quite even
	drumRange  = 40.0 // dB under the strongest at which a partial stops counting
	drumNamed  = 3    // partials that must fit before modes are named
	drumChance = 0.1  // how likely partials at random may fit as well
	drumStray  = 0.5  // what a partial counts against a pattern that has none there, and
	drumBelow  = 1.2  // one that lies under the pattern's lowest
	drumAbsent = 0.35 // what counts against it where one of its three lowest is not there
)

// drumFit is a pattern laid over partials.
type drumFit struct {
	head  Head
	hz    float64 // of the pattern's first mode
	score float64
	modes []Mode // for each partial, none for those that do not fit
}

// fitModes finds the pattern that explains the partials best.
func fitModes(partials []DrumPartial) drumFit {
	best := drumFit{}
	for _, p := range drumPatterns() {
		for _, from := range partials {
			for k := range min(6, len(p.ratio)) {
				if f := p.fit(partials, from.Hz/p.ratio[k]); f.score > best.score {
					best = f
				}
			}
		}
	}
	if best.head == HeadUnknown {
		return best
	}
	// Once more about the mean of all that fit.
	for _, p := range drumPatterns() {
		if p.head == best.head {
			if f := p.fit(partials, best.hz); f.score > 0 {
				best = f
			}
		}
	}
	return best
}

// weight of a partial, 1 for the strongest.
func (p DrumPartial) weight() float64 { return max(0, 1+p.LevelDB/drumRange) }

// fit lays the pattern with its first mode at hz over the partials.
func (p drumPattern) fit(partials []DrumPartial, hz float64) drumFit {
	f := drumFit{head: p.head, modes: make([]Mode, len(partials))}
	taken := make([]bool, len(p.ratio))
	var sum, weights, worst float64
	fitting, all := 0, 0
	for i, q := range partials {
		r := q.Hz / hz
		if r > p.ratio[len(p.ratio)-1]*(1+drumOff) {
			continue
		}
		w := q.weight()
		all++
		at := 0
		for k, v := range p.ratio {
			if math.Abs(r-v) < math.Abs(r-p.ratio[at]) {
				at = k
			}
		}
		off := (r/p.ratio[at] - 1) / drumOff
		if math.Abs(off) > 1 || taken[at] {
			if r < 1 {
				f.score -= drumBelow * w
			} else {
				f.score -= drumStray * w
			}
			continue
		}
		taken[at] = true
		f.modes[i] = p.modes[at]
		f.score += w * (1 - off*off)
		sum += w * q.Hz / p.ratio[at]
		weights += w
		worst = max(worst, math.Abs(off))
		fitting++
	}
	for _, there := range taken[:3] {
		if !there {
			f.score -= drumAbsent
		}
	}
	if fitting < drumNamed || p.byChance(fitting, all, worst*drumOff) > drumChance {
		return drumFit{score: math.Inf(-1)}
	}
	if f.hz = sum / weights; f.hz < drumLowestHz || f.hz > drumTopHz {
		return drumFit{score: math.Inf(-1)}
	}
	return f
}

// byChance is about how often so many of all partials would lie so near to modes
// if they lay anywhere. One of them fits because the pattern was laid there; each
// other one does with the share of the range that is near a mode. As often as
// the pattern can be laid there is another chance.
func (p drumPattern) byChance(fitting, all int, off float64) float64 {
	const even = 0.002 // nearer than this is no merit: partials are not known better
	n := all - 1
	near := min(0.99, 2*max(off, even)*float64(len(p.ratio))/math.Log(p.ratio[len(p.ratio)-1]))
	term, sum := math.Pow(1-near, float64(n)), 0.0 // of none of n
	for k := 0; k <= n; k++ {
		if k >= fitting-1 {
			sum += term
		}
		term *= float64(n-k) / float64(k+1) * near / (1 - near)
	}
	return sum * float64(all*min(6, len(p.ratio)))
}

// drumPeaks are the partials of an average power spectrum, rising, levels re the
// strongest. A peak stands drumStands dB above the dips to either side of it
// that part it from higher ones.
func drumPeaks(power []float64, binHz float64) []DrumPartial {
	const (
		drumStands = 6.0
		most       = 24
	)
	lo, hi := int(drumLowestHz/binHz), min(int(drumHighestHz/binHz), len(power)-2)
	db := make([]float64, len(power))
	top := math.Inf(-1)
	for k := range power {
		db[k] = 10 * math.Log10(max(power[k], 1e-30))
		if k >= lo && k <= hi {
			top = max(top, db[k])
		}
	}
	var out []DrumPartial
	for k := lo; k <= hi; k++ {
		if db[k] < top-drumRange || db[k] < db[k-1] || db[k] <= db[k+1] {
			continue
		}
		dip := func(step int) float64 {
			least := db[k]
			for i := k + step; i > 0 && i < len(db) && db[i] <= db[k]; i += step {
				least = min(least, db[i])
			}
			return least
		}
		if db[k]-max(dip(-1), dip(1)) < drumStands {
			continue
		}
		a, b, c := db[k-1], db[k], db[k+1]
		shift := 0.0
		if bend := a - 2*b + c; bend < 0 {
			shift = 0.5 * (a - c) / bend
		}
		out = append(out, DrumPartial{Hz: (float64(k) + shift) * binHz, LevelDB: b - 0.25*(a-c)*shift - top})
	}
	if len(out) > most {
		slices.SortFunc(out, func(p, q DrumPartial) int { return cmp.Compare(q.LevelDB, p.LevelDB) })
		out = out[:most]
		slices.SortFunc(out, func(p, q DrumPartial) int { return cmp.Compare(p.Hz, q.Hz) })
	}
	return out
}
