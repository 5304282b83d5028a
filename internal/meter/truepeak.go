package meter

import (
	"math"

	"tidemark/internal/unit"
)

// TruePeakReading is the true peak of one channel.
type TruePeakReading struct {
	Max   unit.Maybe[unit.DBTP] // undefined for digital silence and for nothing
	Frame int64                 // the frame it lies at or just after
	Overs int                   // stretches above 0 dBTP
}

const (
	peakGroup = 64 // frames judged together; at least peakMostTaps

	// oversJoinPerSecond: crests above full scale that follow within 1/50 s
	// are one stretch, so that a low note counts once. Common practice, no source.
	oversJoinPerSecond = 50
)

// TruePeak measures the highest value of the continuous wave behind the
// samples of one channel: ITU-R BS.1770-5 Annex 2, with the interpolator of
// choice. The result is never below the sample peak.
//
// It looks between the samples only where that can matter. No interpolated
// value exceeds the sum of the filter's |taps| times the largest sample near
// it, so a group of frames whose bound does not pass the peak found so far (or
// 0 dBTP, to find all overs) is left out; within a group the four middle taps
// decide in the same way which values are worth the whole sum. The reading is
// the same bit for bit as with every value computed.
//
// The filter's tail after the last sample is part of the reading. Samples that
// are NaN or infinite count as 0. Memory does not grow.
type TruePeak struct {
	filter     peakFilter
	exhaustive bool // compute every value: for tests
	frames     int64
	max        float64
	maxFrame   int64
	overs      int
	lastOver   int64
	joinFrames int64
	before     [peakMostTaps]float32 // the samples before the next group
	beforeTop  float32               // largest of the last group
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
		joinFrames: int64(rateHz / oversJoinPerSecond),
	}
}

// Measure takes the next samples of the channel.
func (m *TruePeak) Measure(x []float32) {
	for len(x) > 0 {
		if m.pendingN == 0 && len(x) >= peakGroup {
			m.addGroup(x[:peakGroup])
			x = x[peakGroup:]
			continue
		}
		n := copy(m.pending[m.pendingN:], x)
		m.pendingN += n
		x = x[n:]
		if m.pendingN == peakGroup {
			m.pendingN = 0
			m.addGroup(m.pending[:])
		}
	}
}

// addGroup takes a group of at most peakGroup samples.
func (m *TruePeak) addGroup(x []float32) {
	top := largestBits(x)
	var clean [peakGroup]float32
	if top >= infinityBits {
		x = clean[:copy(clean[:], x)]
		for i, v := range x {
			if !finiteSample(v) {
				x[i] = 0
			}
		}
		top = largestBits(x)
	}
	m.addFinite(x, math.Float32frombits(top))
}

// addFinite takes a group whose largest magnitude is top.
func (m *TruePeak) addFinite(x []float32, top float32) {
	if float64(top) > m.max {
		m.max = float64(top)
		m.maxFrame = m.frames + firstAtPeak(x, top)
	}
	near := float64(max(top, m.beforeTop))
	if limit := min(m.max, 1); m.exhaustive || near*m.filter.gain*peakSlack > limit {
		m.interpolate(x, near, limit)
	}
	m.frames += int64(len(x))
	m.beforeTop = top
	if len(x) >= peakMostTaps {
		copy(m.before[:], x[len(x)-peakMostTaps:])
	}
}

// interpolate looks between the samples of a group. near is the largest sample
// that it can meet, limit what a value must pass to change the reading.
func (m *TruePeak) interpolate(x []float32, near, limit float64) {
	f := &m.filter
	var w [peakMostTaps + peakGroup]float64
	for i, v := range m.before {
		w[i] = float64(v)
	}
	for i, v := range x {
		w[peakMostTaps+i] = float64(v)
	}
	// Below its threshold the centre of a value leaves it under the limit,
	// whatever the other samples are.
	var threshold [4]float64
	for p := range f.phases {
		threshold[p] = limit - f.phases[p].rest*near*peakSlack
		if m.exhaustive {
			threshold[p] = -1
		}
	}
	first := peakMostTaps + 1 - f.length
	centre := first + f.centreAt()
	over := near > 1
	for n := range x {
		if over && math.Abs(w[peakMostTaps+n-f.delay]) > 1 {
			m.addOver(m.frames + int64(n-f.delay))
		}
		if f.length == 0 {
			continue
		}
		c := w[centre+n : centre+n+peakCentreTaps : centre+n+peakCentreTaps]
		c0, c1, c2, c3 := c[0], c[1], c[2], c[3]
		for p := range f.phases {
			k := &f.phases[p]
			part := (k.centre[0]*c0 + k.centre[1]*c1) + (k.centre[2]*c2 + k.centre[3]*c3)
			if math.Abs(part) <= threshold[p] {
				continue
			}
			var v float64
			if f.length == 12 {
				v = math.Abs(peakFIR12(&k.taps, w[first+n:]))
			} else {
				v = math.Abs(peakFIR24(&k.taps, w[first+n:]))
			}
			if v > limit {
				m.addValue(v, m.frames+int64(n-f.delay))
			}
		}
	}
}

// addValue takes an interpolated value that lies just after a frame.
func (m *TruePeak) addValue(v float64, frame int64) {
	if v > m.max {
		m.max, m.maxFrame = v, max(0, frame)
	}
	if v > 1 {
		m.addOver(frame)
	}
}

// addOver takes a place above full scale; places come in order of time.
func (m *TruePeak) addOver(frame int64) {
	if m.overs == 0 || frame-m.lastOver > m.joinFrames {
		m.overs++
	}
	m.lastOver = frame
}

// largestBits is the largest magnitude in x, as bits.
func largestBits(x []float32) uint32 {
	var a, b, c, d uint32
	for ; len(x) >= 4; x = x[4:] {
		a = max(a, magnitudeBits(x[0]))
		b = max(b, magnitudeBits(x[1]))
		c = max(c, magnitudeBits(x[2]))
		d = max(d, magnitudeBits(x[3]))
	}
	for _, v := range x {
		a = max(a, magnitudeBits(v))
	}
	return max(a, b, c, d)
}

// Reading is the true peak so far.
func (m *TruePeak) Reading() TruePeakReading {
	c := *m
	// The last samples, then silence until the place of the last one has gone
	// through the filter.
	var rest [peakGroup + peakMostTaps]float32
	n := copy(rest[:], c.pending[:c.pendingN]) + c.filter.delay
	first := min(n, peakGroup)
	c.addGroup(rest[:first])
	c.addGroup(rest[first:n])
	return TruePeakReading{
		Max:   unit.Amplitude[unit.DBTP](c.max),
		Frame: c.maxFrame,
		Overs: c.overs,
	}
}
