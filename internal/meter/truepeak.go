package meter

import (
	"math"
	"slices"

	"tidemark/internal/kernel"
	"tidemark/internal/unit"
)

// TruePeakReading is the true peak of one channel.
type TruePeakReading struct {
	Max   unit.Maybe[unit.DBTP] // undefined for digital silence and for nothing
	Frame int64                 // the frame it lies at or just after
	Overs int                   // stretches above 0 dBTP
}

const (
	peakGroup  = 64 // frames taken at once
	peakRun    = 8  // frames of a group that share a bound
	peakRuns   = peakGroup / peakRun
	peakBefore = peakMostTaps / peakRun // runs before a group that its values reach back to

	// overCellsPerSecond: overs are told by cells of about 20 ms, so that a low
	// note over full scale counts once. Common practice, no source.
	overCellsPerSecond = 50
)

// TruePeak measures the highest value of the continuous wave behind the
// samples of one channel: ITU-R BS.1770-5 Annex 2, with the interpolator of
// choice. The result is never below the sample peak.
//
// It looks between the samples only where that can matter. No interpolated
// value exceeds the sum of the filter's |taps| times the largest sample near
// it, so frames whose bound does not pass what would change the reading are
// left out, eight at a time. Of the others the same is asked place by place:
// from the two samples around it and the largest near it, then from four
// samples. The reading is the same bit for bit as with every value computed.
//
// Overs are told by cells of whole groups of 64 frames, about 20 ms long and
// counted from the start: a stretch is a row of cells in which a sample, or a
// value made up with its samples, passes full scale.
//
// The filter's tail after the last sample is part of the reading. Samples that
// are NaN or infinite count as 0. Memory does not grow.
type TruePeak struct {
	tape       *tape // that holds the sound, if somebody keeps one
	filter     peakFilter
	exhaustive bool // compute every value: for tests
	frames     int64
	max        float32
	maxFrame   int64
	overs      int
	overCell   int64 // number of the last cell that was over
	cellFrames int64
	before     [peakMostTaps]float32 // the samples before the next group
	beforeTops [peakBefore]uint32    // magnitude bits of the largest of each run of them
	pending    [peakGroup]float32
	pendingN   int
}

// NewTruePeak makes a meter for one channel. It panics for a rate below 1 Hz.
func NewTruePeak(rateHz int, kind Interpolator) *TruePeak {
	if rateHz < 1 {
		panic("meter: true peak meter for a rate below 1 Hz")
	}
	return &TruePeak{
		filter:     newPeakFilter(rateHz, kind),
		overCell:   -2, // not even next to the first
		cellFrames: int64(max(1, rateHz/overCellsPerSecond/peakGroup)) * peakGroup,
	}
}

// Measure takes the next samples of the channel.
func (m *TruePeak) Measure(x []float32) {
	for len(x) > 0 {
		if m.pendingN == 0 && len(x) >= peakGroup {
			if k := m.harmlessGroups(x); k > 0 {
				x = x[k*peakGroup:]
				continue
			}
			m.addGroup((*[peakGroup]float32)(x), peakGroup)
			x = x[peakGroup:]
			continue
		}
		n := copy(m.pending[m.pendingN:], x)
		m.pendingN += n
		x = x[n:]
		if m.pendingN == peakGroup {
			m.pendingN = 0
			m.addGroup(&m.pending, peakGroup)
		}
	}
}

// peakSpan is how many groups are looked at together at most.
const peakSpan = 16

// harmlessGroups takes the next groups of x at one go if nothing in them can
// change the reading, as most stretches of a recording cannot, and returns how
// many it took: what addGroup would have done group by group.
func (m *TruePeak) harmlessGroups(x []float32) int {
	k := min(len(x)/peakGroup, peakSpan)
	harmless := m.harmless(false)
	if m.exhaustive || slices.Max(m.beforeTops[:]) > harmless || m.tape.largest(x[:k*peakGroup], m.frames) > harmless {
		return 0
	}
	m.frames += int64(k * peakGroup)
	last := x[k*peakGroup-peakMostTaps:]
	m.before = [peakMostTaps]float32(last)
	kernel.Tops(m.beforeTops[:], last)
	return k
}

// addGroup takes a group, of which the first frames count.
func (m *TruePeak) addGroup(x *[peakGroup]float32, frames int) {
	tops, top := peakTops(x)
	if top >= infinityBits {
		var clean [peakGroup]float32
		for i, v := range x {
			if finiteSample(v) {
				clean[i] = v
			}
		}
		x = &clean
		tops, top = peakTops(x)
	}
	copy(tops[:], m.beforeTops[:])
	if largest := math.Float32frombits(top); largest > m.max {
		m.max = largest
		m.maxFrame = m.frames + firstAtPeak(x[:], largest)
	}
	cell := m.frames / m.cellFrames
	over := top > oneBits || cell == m.overCell
	if m.exhaustive || max(max(top, tops[0]), max(tops[1], tops[2])) > m.harmless(over) {
		over = m.interpolate(x, &tops, frames, over)
	}
	if over {
		if cell > m.overCell+1 {
			m.overs++
		}
		m.overCell = cell
	}
	m.frames += peakGroup
	m.before = [peakMostTaps]float32(x[peakGroup-peakMostTaps:])
	m.beforeTops = [peakBefore]uint32(tops[peakRuns:])
}

// oneBits are the bits of full scale, 1.0.
const oneBits = 0x3f800000

// peakTops are the magnitude bits of the largest samples: of each run, behind
// room for those of the runs before the group, and of the whole group.
func peakTops(x *[peakGroup]float32) (tops [peakBefore + peakRuns]uint32, top uint32) {
	top = kernel.Tops(tops[peakBefore:], x[:])
	return tops, top
}

// limit is what a value must pass to change the reading: the peak so far, or
// full scale as long as the cell is not known to be over.
func (m *TruePeak) limit(over bool) float32 {
	if !over && m.max > 1 {
		return 1
	}
	return m.max
}

// interpolate looks between the samples of a group and returns whether its
// cell is over.
func (m *TruePeak) interpolate(x *[peakGroup]float32, tops *[peakBefore + peakRuns]uint32, frames int, over bool) bool {
	f := &m.filter
	if f.length == 0 {
		return over // the samples are close enough
	}
	harmless := m.harmless(over)
	var w [peakMostTaps + peakGroup]float32
	copy(w[:], m.before[:])
	copy(w[peakMostTaps:], x[:])
	if f.all != nil && !m.exhaustive && kernel.FIRMax(w[peakMostTaps+1-f.length:], f.all, f.length) <= math.Float32bits(m.limit(over)) {
		return over
	}
	for k := range peakRuns {
		near := max(tops[k], tops[k+1], tops[k+2], tops[k+3])
		if near <= harmless && !m.exhaustive {
			continue
		}
		run := w[peakMostTaps+k*peakRun+1-f.length : peakMostTaps+(k+1)*peakRun]
		over = m.interpolateRun(run, math.Float32frombits(near)*peakSlack, m.frames+int64(k*peakRun-f.delay), min(peakRun, frames-k*peakRun), over)
		harmless = m.harmless(over)
	}
	return over
}

// harmless are the bits of the largest sample that cannot lead to a value
// above the limit, whatever the others near it are.
func (m *TruePeak) harmless(over bool) uint32 {
	return math.Float32bits(m.limit(over) * m.filter.harmless)
}

// interpolateRun looks at some places in a row, the first just after frame at.
// w starts with the oldest sample that the first place needs; near is the
// largest sample in it. It returns whether the cell is over.
func (m *TruePeak) interpolateRun(w []float32, near float32, at int64, places int, over bool) bool {
	f := &m.filter
	pair, four := m.thresholds(near, over)
	left := w[f.length-1-f.delay:] // left[n] and left[n+1] are the samples around place n
	for n := 0; n < places; n++ {
		if abs32(left[n]) <= pair && abs32(left[n+1]) <= pair {
			continue
		}
		taps := w[n : n+f.length]
		mid := (*[4]float32)(taps[f.length/2-2:])
		a, b, c, d := mid[0], mid[1], mid[2], mid[3]
		for i := range f.phases {
			p := &f.phases[i]
			part := (p.four[1]*b + p.four[2]*c) + (p.four[0]*a + p.four[3]*d)
			if abs32(part) <= four[i&3] {
				continue
			}
			v := abs32(p.value(taps))
			if v <= m.limit(over) {
				continue
			}
			if v > m.max {
				m.max, m.maxFrame = v, max(0, at+int64(n))
			}
			over = over || v > 1
			pair, four = m.thresholds(near, over)
		}
	}
	return over
}

// thresholds are the largest values that each of the two samples around a
// place, and the weighted sum of four, may have without a chance that the
// place changes the reading, whatever the other samples are.
func (m *TruePeak) thresholds(near float32, over bool) (pair float32, four [4]float32) {
	if m.exhaustive {
		return -1, [4]float32{-1, -1, -1, -1}
	}
	limit := m.limit(over)
	pair = limit
	for i := range m.filter.phases {
		p := &m.filter.phases[i]
		pair = min(pair, (limit-p.besides2*near)/(p.pair*peakSlack))
		four[i&3] = limit - p.besides4*near
	}
	return pair, four
}

func abs32(x float32) float32 { return math.Float32frombits(magnitudeBits(x)) }

// Reading is the true peak so far.
func (m *TruePeak) Reading() TruePeakReading {
	c := *m
	// The last samples, then silence until the place of the last one has gone
	// through the filter.
	var rest [2][peakGroup]float32
	copy(rest[0][:], c.pending[:c.pendingN])
	frames := c.pendingN + c.filter.delay
	c.addGroup(&rest[0], min(peakGroup, frames))
	if frames > peakGroup {
		c.addGroup(&rest[1], frames-peakGroup)
	}
	return TruePeakReading{
		Max:   unit.Amplitude[unit.DBTP](float64(c.max)),
		Frame: c.maxFrame,
		Overs: c.overs,
	}
}
