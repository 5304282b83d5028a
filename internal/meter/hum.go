package meter

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"tidemark/internal/kernel"
	"tidemark/internal/unit"
)

// HumReading is the steady mains hum of one channel.
type HumReading struct {
	Known         bool                  // false: the recording was too short to tell
	FundamentalHz float64               // estimated mains frequency; 0 where no hum was found
	Level         unit.Maybe[unit.DBFS] // RMS of all harmonics found, AES17
	OverFloorDB   float64               // strongest harmonic over the noise between its neighbours
	Harmonics     []Harmonic            // those that stand over the floor, by number
	// From and To are the frames between which the hum was heard, to about ten
	// seconds; equal without hum.
	From, To int64
}

// Harmonic is one line of a hum.
type Harmonic struct {
	Number      int
	Hz          float64
	LevelDBFS   float64 // AES17: the level of a sine is its peak level
	OverFloorDB float64
}

// Mains is the frequency of the mains where the recording was made.
type Mains int

// The mains of the world; MainsAuto looks for both.
const (
	MainsAuto Mains = 0
	Mains50   Mains = 50
	Mains60   Mains = 60
)

// Limits of the hum meter. How far mains wander is published (ENTSO-E: at most
// ±0.2 Hz in steady state), the harmonics and the floor between neighbours too;
// the others are common practice, no source, held by the tests.
const (
	humN          = 8192 // window, some 2.8 s
	humHop        = humN / 4
	humGroup      = 12         // windows whose minimum is kept: 10 s
	humLeast      = 4          // least powers of each bin that are kept
	humMost       = 0x7f7fffff // bits of the largest number: more than any power
	humKnown      = 6          // windows below which nothing is known: 6 s
	humHarmonics  = 10
	humWander     = 0.3   // Hz that the fundamental may lie off
	humOver       = 10.0  // dB that a harmonic stands over the floor
	humSure       = 15.0  // dB that the strongest does
	humPair       = 18.0  // dB that each does where there are only two
	humSolo       = 24.0  // dB that the mains frequency does by itself, and
	humSoloWander = 0.15  // Hz that it lies off then
	humSide       = 26    // bins on either side from which the floor is taken: 9 Hz
	humAlone      = 2.0   // power over the largest of those: notes on a steady grid make many lines, 4 or 8 Hz apart
	humLobe       = 4     // bins on either side that are the line itself
	humRatio      = 0.015 // Hz of the fundamental within which harmonics agree, and
	humBin        = 0.08  // the part of a bin to which a line is placed, added
	humAgain      = 0.06  // Hz within which two groups agree on the fundamental
	humLoud       = 28.0  // dB over the floor that chance does not reach, and
	humPulled     = 0.12  // Hz by which music may pull such lines
	humGap        = 3     // groups that may lie between them: rests are rare
)

// Hum finds the steady lines of the mains under whatever is played.
//
// The sound is brought down to about 3 kHz and cut into windows of 2.8 s
// (Blackman, three quarters overlapping). Of each ten seconds of windows the least
// powers of each bin are kept: what comes and goes vanishes, what is always there
// stays. A line is a local maximum that stands 10 dB over the median of its
// neighbours; a hum is two lines or more whose frequencies are whole multiples of
// one fundamental within ±0.3 Hz of 50 or 60 Hz, the first or second among them
// (rectifiers hum at twice the mains). One steady tone alone is a hum only within
// 0.15 Hz of 50 or 60 Hz, where no note of a concert pitch near 440 Hz lies. In
// recordings of more than half a minute it must be heard in two stretches of ten
// seconds within half a minute.
//
// A sustained synthetic sound of 50, 60, 100 or 120 Hz with overtones cannot be
// told from hum. Silence and noise read as known and no hum; less than 6 s as not
// known.
type Hum struct {
	mains  Mains
	sound  *lowSound
	hz     float64 // its rate
	low    []float32
	n      int
	frames int64

	work   []kernel.Lanes
	powers [2][]float32 // of the two windows analysed last

	windows int
	inGroup int
	least   [][humLeast]uint32 // the least powers of each bin in this group, rising, as bits: without a sign they order alike
	rows    [2][]float32       // the first and the last of them, when a group is whole
	sum     [2][]float32       // of the first and of the fourth of them, over all groups
	groups  int
	heard   [2]humHeard // by mains
}

// humHeard is what the groups of ten seconds gave away about one mains frequency.
// Music alone makes a family of lines now and then, but not the same one twice.
type humHeard struct {
	last     humFamily // the latest, in group lastIn, which began at frame lastAt
	lastIn   int
	lastAt   int64
	times    int // how often it was heard again
	from, to int64
	best     humFamily
}

// humPlan and humWindow are shared: they hold no signal.
var (
	humPlan   = sync.OnceValue(func() *kernel.PowerPlan { return kernel.NewPowerPlan(humN) })
	humWindow = sync.OnceValue(func() []float32 {
		w := make([]float32, humN)
		for i := range w {
			p := 2 * math.Pi * float64(i) / humN
			w[i] = float32((0.42 - 0.5*math.Cos(p) + 0.08*math.Cos(2*p)) / 0.42 * 2 / humN) // a sine of amplitude 1 peaks at 1
		}
		return w
	})
)

// NewHum makes a meter for a rate; it panics on a rate that is not positive and
// on other mains.
func NewHum(rateHz int, mains Mains) *Hum {
	return newHum(rateHz, mains, nil, &workSpace{})
}

// newHum makes a meter that is handed the low part of the sound, or makes its own.
func newHum(rateHz int, mains Mains, low *lowSound, work *workSpace) *Hum {
	if rateHz <= 0 || mains != MainsAuto && mains != Mains50 && mains != Mains60 {
		panic(fmt.Sprintf("meter: hum of rate %d Hz, mains %d Hz", rateHz, mains))
	}
	if low == nil {
		low = newLowSound(rateHz)
	}
	m := &Hum{mains: mains, sound: low, low: make([]float32, humN+humHop), work: work.of(humPlan())}
	m.hz = float64(rateHz) / float64(m.sound.dec.factor())
	used := humN * 22 / 100 // what a decimator leaves usable
	m.least = make([][humLeast]uint32, used)
	for i := range m.sum {
		m.sum[i] = make([]float32, used)
		m.powers[i], m.rows[i] = make([]float32, used), make([]float32, used)
	}
	m.startGroup()
	return m
}

func (m *Hum) startGroup() {
	for k := range m.least {
		for i := range m.least[k] {
			m.least[k][i] = humMost
		}
	}
	m.inGroup = 0
}

// Measure takes the next samples.
func (m *Hum) Measure(x []float32) {
	m.frames += int64(len(x))
	for more := true; more; {
		var low []float32
		low, x, more = m.sound.next(x)
		m.measureLow(low)
	}
}

// measureLow takes more of the low part of the sound.
func (m *Hum) measureLow(low []float32) {
	for len(low) > 0 {
		k := copy(m.low[m.n:], low)
		low = low[k:]
		if m.n += k; m.n == len(m.low) {
			m.analyse()
			m.n = copy(m.low, m.low[2*humHop:])
		}
	}
}

// analyse takes both windows in low into the group.
func (m *Hum) analyse() {
	a, b := m.low[:humN], m.low[humHop:]
	if humPlan().Powers(m.powers[0], m.powers[1], a, b, humWindow(), m.work) {
		m.take(m.powers[0])
		m.take(m.powers[1])
		return
	}
	// In one of them are samples that are no numbers.
	m.analyseOne(a)
	m.analyseOne(b)
}

func (m *Hum) analyseOne(window []float32) {
	if humPlan().Powers(m.powers[0], nil, window, nil, humWindow(), m.work) {
		m.take(m.powers[0])
	}
}

// take takes the powers of a window into the group.
func (m *Hum) take(powers []float32) {
	for k, power := range powers {
		p, l := math.Float32bits(power), &m.least[k]
		for i, v := range l {
			l[i], p = min(v, p), max(v, p)
		}
	}
	m.windows++
	if m.inGroup++; m.inGroup == humGroup {
		m.endGroup()
	}
}

// endGroup adds the group's minimum to the others and looks for hum in it.
func (m *Hum) endGroup() {
	for k, l := range m.least {
		m.rows[0][k], m.rows[1][k] = math.Float32frombits(l[0]), math.Float32frombits(l[humLeast-1])
		m.sum[0][k] += m.rows[0][k]
		m.sum[1][k] += m.rows[1][k]
	}
	m.groups++
	end := m.windowEnd()
	start := max(0, end-int64((humN+(m.inGroup-1)*humHop)*m.sound.dec.factor()))
	for i, f := range [2]Mains{Mains50, Mains60} {
		family, ok := m.better(m.rows[0], m.rows[1], 1, float64(f))
		if !ok {
			continue
		}
		h := &m.heard[i]
		again := humAgain
		if min(family.score, h.last.score) >= 2*humLoud {
			again += humPulled
		}
		if h.last.n > 0 && m.groups-h.lastIn <= humGap && math.Abs(h.last.hz-family.hz) <= again {
			if h.times++; h.times == 1 {
				h.from = h.lastAt
			}
			h.to = end
			for _, f := range [2]humFamily{h.last, family} {
				if f.score > h.best.score {
					h.best = f
				}
			}
		}
		h.last, h.lastIn, h.lastAt = family, m.groups, start
	}
	m.startGroup()
}

// windowEnd is the frame at which the last window ended.
func (m *Hum) windowEnd() int64 {
	return min(int64(humN+(m.windows-1)*humHop)*int64(m.sound.dec.factor()), m.frames)
}

// humFamily is a row of harmonics of one fundamental.
type humFamily struct {
	hz    float64
	n     int
	lines [humHarmonics]Harmonic
	score float64 // dB over the floor, summed
}

// better is the surer family of two spectra: in the least powers a soft hum shows
// in the rests; where hum and music are as loud as each other they cancel at
// times, and the fourth least shows it.
func (m *Hum) better(a, b []float32, scale, mains float64) (humFamily, bool) {
	f, ok := m.family(a, scale, mains)
	if g, also := m.family(b, scale, mains); also && g.score > f.score {
		return g, true
	}
	return f, ok
}

// family looks for the harmonics of a mains frequency in the powers p·scale.
func (m *Hum) family(p []float32, scale, mains float64) (best humFamily, ok bool) {
	var lines [humHarmonics]Harmonic
	n := 0
	for k := 1; k <= humHarmonics; k++ {
		if l, ok := m.line(p, scale, float64(k)*mains, float64(k)*humWander); ok {
			l.Number = k
			lines[n] = l
			n++
		}
	}
	width := m.hz / humN
	for _, ref := range lines[:n] {
		f := humFamily{}
		var hz, weight, most, least float64
		low := false
		least = math.MaxFloat64
		for _, l := range lines[:n] {
			// A line's own frequency is known to a fraction of a bin; where loud
			// music crosses a loud hum, to half of one.
			tol := humRatio + humBin*width*(1/float64(l.Number)+1/float64(ref.Number))
			if min(l.OverFloorDB, ref.OverFloorDB) >= humLoud {
				tol += humPulled
			}
			if math.Abs(l.Hz/float64(l.Number)-ref.Hz/float64(ref.Number)) > tol {
				continue
			}
			f.lines[f.n] = l
			f.n++
			f.score += l.OverFloorDB
			w := float64(l.Number) * l.OverFloorDB
			hz += w * l.Hz / float64(l.Number)
			weight += w
			most, least = max(most, l.OverFloorDB), min(least, l.OverFloorDB)
			low = low || l.Number <= 2
		}
		if f.n == 1 {
			if ref.Number != 1 || ref.OverFloorDB < humSolo || math.Abs(ref.Hz-mains) > humSoloWander {
				continue
			}
		} else if !low || most < humSure || f.n == 2 && least < humPair {
			continue
		}
		if f.score <= best.score {
			continue
		}
		f.hz = hz / weight
		best, ok = f, true
	}
	return best, ok
}

// line looks for a steady line within ± off of a frequency.
func (m *Hum) line(p []float32, scale, hz, off float64) (Harmonic, bool) {
	width := m.hz / humN
	lo, hi := int(math.Floor((hz-off)/width)), int(math.Ceil((hz+off)/width))
	if lo-humSide < 1 || hi+humSide >= len(p) {
		return Harmonic{}, false
	}
	at := lo
	for k := lo; k <= hi; k++ {
		if p[k] > p[at] {
			at = k
		}
	}
	if !(p[at] > p[at-1] && p[at] >= p[at+1]) { // the skirt of something else
		return Harmonic{}, false
	}
	var around [2 * (humSide - humLobe)]float32
	n := 0
	for k := at - humSide; k <= at+humSide; k++ {
		if (k < at-humLobe || k > at+humLobe) && k > 0 && k < len(p) {
			around[n] = p[k]
			n++
		}
	}
	slices.Sort(around[:n])
	if p[at] < humAlone*around[n-1] {
		return Harmonic{}, false
	}
	floor := max(float64(around[n/2]), 1e-20)
	db := func(v float32) float64 { return 10 * math.Log10(max(float64(v), 1e-24)) }
	a, b, c := db(p[at-1]), db(p[at]), db(p[at+1])
	shift := 0.0
	if d := a - 2*b + c; d < 0 {
		shift = 0.5 * (a - c) / d
	}
	l := Harmonic{Hz: (float64(at) + shift) * width, OverFloorDB: b - 10*math.Log10(floor)}
	gain := m.sound.dec.gain((float64(at) + shift) / humN)
	l.LevelDBFS = b - 0.25*(a-c)*shift + 10*math.Log10(scale) - 20*math.Log10(gain)
	return l, math.Abs(l.Hz-hz) <= off && l.OverFloorDB >= humOver && l.LevelDBFS > -140
}

// Reading tells what hum there is so far.
func (m *Hum) Reading() HumReading {
	c := *m
	single := m.n >= humN // a window that still waits for its fellow
	r := HumReading{Known: m.windows >= humKnown || single && m.windows == humKnown-1}
	if !r.Known {
		return r
	}
	c.least = slices.Clone(m.least)
	for i := range c.sum {
		c.sum[i] = slices.Clone(m.sum[i])
	}
	if single {
		c.analyseOne(c.low[:humN])
		if r.Known = c.windows >= humKnown; !r.Known {
			return r
		}
	}
	if c.inGroup >= humKnown || c.groups == 0 {
		c.endGroup()
	}
	var best humFamily
	which := 0
	for i, f := range [2]Mains{Mains50, Mains60} {
		if m.mains != MainsAuto && m.mains != f {
			continue
		}
		h := c.heard[i]
		family, ok := c.better(c.sum[0], c.sum[1], 1/float64(c.groups), float64(f))
		if c.groups > 2 && (h.times == 0 || math.Abs(family.hz-h.best.hz) > humAgain+humPulled) {
			family, ok = h.best, h.times > 0
		}
		if ok && family.score > best.score {
			best, which = family, i
		}
	}
	if best.n == 0 {
		return r
	}
	r.FundamentalHz = best.hz
	var power float64
	for _, l := range best.lines[:best.n] {
		power += math.Pow(10, l.LevelDBFS/10)
		r.OverFloorDB = max(r.OverFloorDB, l.OverFloorDB)
	}
	r.Harmonics = slices.Clone(best.lines[:best.n])
	r.Level = unit.Power[unit.DBFS](power)
	r.From, r.To = 0, c.windowEnd()
	if h := c.heard[which]; h.times > 0 {
		r.From, r.To = h.from, h.to
	}
	return r
}
