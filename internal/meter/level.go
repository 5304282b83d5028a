package meter

import (
	"math"

	"tidemark/internal/kernel"
	"tidemark/internal/unit"
)

// Hop is what is kept of each 100 ms of a channel (12 bytes): the picture of a
// line over time, from which its tidemark, its pauses and its end are read.
type Hop struct {
	MeanSquare float32 // Σx²/N
	Peak       float32 // max |x|
	Bright     float32 // Σ(x[n]−x[n−1])²/N: power weighted towards high frequencies
}

// LevelReading is what Level knows of one channel.
//
// Samples of a float file that are no numbers (NaN, ±Inf) are counted in
// BadSamples and left out of everything else: N counts the good ones.
type LevelReading struct {
	Frames     int64
	Peak       float64 // max |x|
	PeakFrame  int64   // where it was first reached
	MeanSquare float64 // Σx²/N; 0 for silence and for nothing
	DC         float64 // mean of the samples, full scale ±1
	BadSamples int64   // samples that are NaN or infinite
	HopFrames  int     // frames in a hop: fs/10
	Hops       []Hop   // complete hops, and the last incomplete one if it holds at least half a hop; shared, not to be changed
}

// levelGroup is the grid, counted from the start of each hop, on which sums are
// made, 5 ms at 96 kHz: a group is always added up whole and in the same order,
// so that the cut into blocks cannot change a bit of the result.
const levelGroup = 480

// levelSpareHops is the room for hops that a new Level starts with: a minute.
const levelSpareHops = 600

// Level measures the sample peak, the power and the DC offset of one channel,
// and keeps a Hop for each 100 ms.
//
//	peak = max |x[n]|   mean square = Σx²/N   DC = Σx/N
//
// The hops are the one thing that grows, by 12 bytes each 100 ms (432 kB an
// hour). Room for a minute is there from the start; Reserve makes room for a
// known length, past it the room doubles as it fills.
type Level struct {
	tape      *tape // that holds the sound, if somebody keeps one
	hopFrames int
	frames    int64
	hops      []Hop
	total     levelTotals // of all complete hops
	hop       levelTotals // of the complete groups of this hop
	hopFilled int         // frames in hop
	last      float32     // the good sample before the next group
	hasLast   bool
	pending   [levelGroup]float32 // the incomplete group
	pendingN  int
}

// levelTotals are sums over good samples.
type levelTotals struct {
	n, bad            int64
	sum, square, diff float64
	peak              float32
	peakFrame         int64
}

// NewLevel makes a meter for one channel. It panics for a rate below 1 Hz.
func NewLevel(rateHz int) *Level {
	if rateHz < 1 {
		panic("meter: level meter for a rate below 1 Hz")
	}
	return &Level{
		hopFrames: max(1, rateHz/10),
		hops:      make([]Hop, 0, levelSpareHops),
	}
}

// Reserve makes room for the hops of so many frames, so that Measure will not
// allocate up to there.
func (m *Level) Reserve(frames int64) {
	if need := int(frames/int64(m.hopFrames)) + 1; need > cap(m.hops) {
		m.hops = append(make([]Hop, 0, need), m.hops...)
	}
}

// Measure takes the next samples of the channel.
func (m *Level) Measure(x []float32) {
	for len(x) > 0 {
		// A group ends after levelGroup frames or with its hop.
		want := min(levelGroup, m.hopFrames-m.hopFilled)
		var group []float32
		if m.pendingN == 0 && len(x) >= want {
			group, x = x[:want], x[want:]
		} else {
			n := copy(m.pending[m.pendingN:want], x)
			m.pendingN += n
			x = x[n:]
			if m.pendingN < want {
				return
			}
			group = m.pending[:want]
			m.pendingN = 0
		}
		m.addGroup(group)
		if m.hopFilled == m.hopFrames {
			m.hops = append(m.hops, m.hop.hop())
			m.total.merge(&m.hop)
			m.hop = levelTotals{}
			m.hopFilled = 0
		}
	}
}

// addGroup adds a group to the current hop.
func (m *Level) addGroup(x []float32) {
	before := m.last
	if !m.hasLast {
		before = 0
	}
	s := sumsOf(x, before, m.tape.largest(x, m.frames))
	if math.IsNaN(s.square) || math.IsInf(s.square, 0) {
		// Finite samples cannot overflow the sum of their squares.
		m.addBadGroup(x)
		return
	}
	m.last, m.hasLast = x[len(x)-1], true
	if s.peak > m.hop.peak {
		m.hop.peak = s.peak
		m.hop.peakFrame = m.frames + firstAtPeak(x, s.peak)
	}
	m.hop.n += int64(len(x))
	m.hop.sum += s.sum
	m.hop.square += s.square
	m.hop.diff += s.diff
	m.hopFilled += len(x)
	m.frames += int64(len(x))
}

// addBadGroup adds the good samples of a group and counts the others.
func (m *Level) addBadGroup(x []float32) {
	var good [levelGroup]float32
	n := 0
	for _, v := range x {
		if finiteSample(v) {
			good[n] = v
			n++
		}
	}
	m.hop.bad += int64(len(x) - n)
	if n > 0 {
		before := m.last
		if !m.hasLast {
			before = 0
		}
		s := sumsOf(good[:n], before, kernel.MaxAbs(good[:n]))
		m.last, m.hasLast = good[n-1], true
		if s.peak > m.hop.peak {
			m.hop.peak = s.peak
			m.hop.peakFrame = m.frames + firstAtPeak(x, s.peak)
		}
		m.hop.n += int64(n)
		m.hop.sum += s.sum
		m.hop.square += s.square
		m.hop.diff += s.diff
	}
	m.hopFilled += len(x)
	m.frames += int64(len(x))
}

// groupSums are the sums over one group.
type groupSums struct {
	sum, square, diff float64
	peak              float32
}

// sumsOf adds up a group; before is the sample before it, top its largest.
func sumsOf(x []float32, before float32, top uint32) groupSums {
	sum, square, diff := kernel.Sums(x, before)
	return groupSums{sum, square, diff, math.Float32frombits(top)}
}

// magnitudeBits are the bits of |x|; they order as |x| does, infinities and
// NaNs come last.
func magnitudeBits(x float32) uint32 { return math.Float32bits(x) &^ (1 << 31) }

// infinityBits are the magnitude bits of ±Inf; all above are NaN.
const infinityBits = 0xff << 23

func finiteSample(x float32) bool { return magnitudeBits(x) < infinityBits }

// firstAtPeak is the index of the first sample of magnitude peak.
func firstAtPeak(x []float32, peak float32) int64 {
	for i, v := range x {
		if magnitudeBits(v) == math.Float32bits(peak) {
			return int64(i)
		}
	}
	return 0
}

// merge adds the totals of a later stretch.
func (t *levelTotals) merge(o *levelTotals) {
	t.n += o.n
	t.bad += o.bad
	t.sum += o.sum
	t.square += o.square
	t.diff += o.diff
	if o.peak > t.peak {
		t.peak, t.peakFrame = o.peak, o.peakFrame
	}
}

// hop is what is kept of the totals of a hop.
func (t *levelTotals) hop() Hop {
	if t.n == 0 {
		return Hop{}
	}
	n := float64(t.n)
	return Hop{heldFloat32(t.square / n), t.peak, heldFloat32(t.diff / n)}
}

// Reading is everything heard so far. Nothing and silence read 0; whether that
// is a level is for unit.Amplitude and unit.MeanSquare to say.
func (m *Level) Reading() LevelReading {
	// The incomplete group and hop are closed on a copy.
	c := *m
	if c.pendingN > 0 {
		c.addGroup(c.pending[:c.pendingN])
	}
	hops := m.hops[:len(m.hops):len(m.hops)]
	if c.hopFilled > 0 && 2*c.hopFilled >= c.hopFrames {
		hops = append(hops, c.hop.hop())
	}
	c.total.merge(&c.hop)
	r := LevelReading{
		Frames:     c.frames,
		Peak:       float64(c.total.peak),
		PeakFrame:  c.total.peakFrame,
		BadSamples: c.total.bad,
		HopFrames:  m.hopFrames,
		Hops:       hops,
	}
	if n := float64(c.total.n); n > 0 {
		r.MeanSquare = c.total.square / n
		r.DC = c.total.sum / n
	}
	return r
}

// CrestDB is the crest of a channel: its peak over its RMS, 3.01 dB for a
// sine and 0 dB for a square wave; undefined for silence.
func CrestDB(r LevelReading) unit.Maybe[unit.DB] {
	if r.MeanSquare <= 0 {
		return unit.None[unit.DB]()
	}
	return unit.Power[unit.DB](r.Peak * r.Peak / r.MeanSquare)
}

// heldFloat32 is v as a float32, at most the largest finite one: the square of
// an absurd sample must not become an infinity that no JSON can carry.
func heldFloat32(v float64) float32 { return float32(min(v, math.MaxFloat32)) }
