package meter

import (
	"fmt"
	"math"
	"slices"

	"tidemark/internal/kernel"
	"tidemark/internal/unit"
)

// DropoutReading tells of digital silence and of holes in the sound.
type DropoutReading struct {
	Dropouts      Events // exact zeros or one held value of 1 ms and more with a torn edge; Amplitude is the sample before it
	Repeats       Events // a block of sound written twice in a row
	ZeroFrames    int64  // frames of exact zero in all
	LeadingZeros  int64  // frames of exact zero at the start
	TrailingZeros int64  // frames of exact zero at the end
	LongestZero   Run    // longest run of exact zeros anywhere
	// Holes says of each kept dropout which of its edges are torn: Holes[i] is
	// about Dropouts.Kept[i].
	Holes []Hole
}

// Hole is a dropout with its edges. A long one that is torn at one edge only
// may be somebody's edit or a mute.
type Hole struct {
	Run
	Held        bool                  // one value other than zero
	TornIn      bool                  // the sound before was cut off, not faded
	TornOut     bool                  // the sound after begins at once
	BeforeLevel unit.Maybe[unit.DBFS] // RMS of the 10 ms before it
	AfterLevel  unit.Maybe[unit.DBFS] // RMS of the 10 ms after it; none at the end of the recording
	ToEnd       bool                  // lasts to the end of the recording
}

// Limits of the dropout meter: common practice, no source, but for the 1 ms
// of a dropout (published: 48 zero samples at 48 kHz).
const (
	holeSoft  = 8 * lsb16 // RMS beside a hole, at least: soft sound of 16 bits is exact zero now and then
	holeLongS = 0.2       // past this a hole torn at one edge may be a rest, and that edge must be at the level of the sound
	// For a tenth of that, which nobody plays as a rest, the level of the sound does not count; in between twice as far.
	holeLongDB  = 20.0 // how far below the sound so far they may be
	holeTorn    = 0.3  // slope and size of the last samples beside a torn edge, re the 10 ms beside it
	holeClipped = 0.97 // a value held at the extreme is a flat top
	holeStep    = 8.0  // a step into a held value this large, re the slopes before: a pulse wave
)

// Dropout finds holes and repeats.
//
// A hole is a run of one value, 1 ms or longer, that the sound before was torn
// by: in its last 1/6 ms the slopes (with the step into the run) are at least 0.3
// of the slopes of the 10 ms before, and in its last 1/3 ms it still reaches 0.3
// of their RMS. A fade of 2 ms brings either under that. Where the sound only
// begins at once after a run of zeros, there is no hole: so begins every played
// sample. A held value is a hole only when the sound ran into it without a step,
// as when a converter or driver repeats its last sample; pulse waves step. Holes
// that come at once again and again with the same samples beside them are a
// waveform.
//
// A repeat is a buffer of one of the usual lengths that was written twice: x[n]
// = x[n−L] for L samples and then no more, in sound that has no shorter period.
//
// Silence reads as zeros and no hole; emptiness as nothing.
type Dropout struct {
	win                 tapeView
	ms10                int // frames in 10 ms
	min                 int64
	slopeEdge, peakEdge int // samples beside a hole that must be steep, and large, to be torn
	long                int64
	rate                int

	prev     float32
	run      int64 // samples equal to prev so far
	tear     tear  // what was before the run, once it is long enough
	extreme  float32
	squares  float64 // of all samples that are not zero
	sounding int64

	zeros, leading int64
	longest        Run
	holes          []Hole
	events         Events
	last           wave // the hole before, to tell a waveform
	pending        Hole
	waiting        bool // pending may turn out to be a waveform

	lags    [len(bufferLengths)]repeatRun
	repeats Events
}

// tear is what lies before a run of one value.
type tear struct {
	before    float32 // last sample
	torn      bool
	stepped   bool    // the run begins with a step
	power     float64 // mean square of the 10 ms before
	wholeFile bool    // the recording begins with the run
}

// wave is a hole with the samples beside it.
type wave struct {
	start, end int64
	beside     [4]float32
	is         bool // part of a waveform
}

// NewDropout makes a meter for a rate, and panics on one that is not positive.
func NewDropout(rateHz int) *Dropout { return newDropout(rateHz, &tape{}) }

func newDropout(rateHz int, t *tape) *Dropout {
	if rateHz <= 0 {
		panic(fmt.Sprintf("meter: dropout of rate %d Hz", rateHz))
	}
	ms10 := max(rateHz/100, 16)
	m := &Dropout{ms10: ms10, min: int64(max(rateHz/1000, 8)), rate: rateHz, prev: float32(math.NaN())}
	m.long = int64(holeLongS * float64(rateHz))
	m.slopeEdge, m.peakEdge = max(rateHz/6000, 4), max(rateHz/3000, 8)
	m.win = t.view(max(repeatBack, ms10+int(m.min)+2), 4096, ms10)
	return m
}

// Measure takes the next samples.
func (m *Dropout) Measure(x []float32) {
	for len(x) > 0 {
		x = m.win.tape.put(x)
		m.catchUp()
	}
}

// catchUp looks at what has come in on the tape.
func (m *Dropout) catchUp() {
	for m.win.next() {
		m.scan(m.win.back, m.win.n-m.win.ahead, m.win.n)
		m.win.slide()
	}
}

// scan looks at buf[lo:hi]; samples are there up to end.
func (m *Dropout) scan(lo, hi, end int) {
	const part = 256
	buf := m.win.buf
	for a := lo; a < hi; a += part {
		b := min(a+part, hi)
		if top := math.Float32frombits(m.win.peak(a, b)); top < 1e9 { // NaN and nonsense stay out
			m.extreme = max(m.extreme, top)
			if top > 0 {
				m.squares += roughLook * roughPower(buf[a:b])
				m.sounding += int64(b - a)
			}
		}
		if !kernel.Held(buf[a:b], m.prev) { // as good as always: every sample differs from the one before, and none is zero
			if m.run > 1 || m.prev == 0 {
				m.leave(a, end)
			}
			m.run, m.prev = 1, buf[b-1]
			continue
		}
		prev := m.prev
		for i, v := range buf[a:b] {
			if v == prev {
				m.run++
				if m.run == m.min {
					m.prev = v
					m.enter(a + i)
				}
				continue
			}
			if m.run > 1 || prev == 0 {
				m.prev = prev
				m.leave(a+i, end)
			}
			m.run, prev = 1, v
		}
		m.prev = prev
	}
	m.scanRepeats(lo, hi)
}

// enter notes what lies before a run that has reached the shortest length of a
// hole with the sample at i.
func (m *Dropout) enter(i int) {
	s := i + 1 - int(m.min) // first sample of the run
	v := m.prev
	m.tear = tear{wholeFile: m.win.start+int64(s) <= 0}
	if m.tear.wholeFile {
		return
	}
	buf := m.win.buf
	if finiteSample(buf[s-1]) {
		m.tear.before = buf[s-1]
	}
	e := m.edgeOf(buf[s-m.ms10-1:s+1], false)
	m.tear.power, m.tear.torn = e.power, e.torn
	m.tear.stepped = v != 0 && e.step > holeStep*e.slope
}

// edge is the sound at one side of a run of one value.
type edge struct {
	power float64 // mean square
	slope float64 // RMS difference of neighbours
	step  float64 // difference at the run's end
	torn  bool
}

// edgeOf looks at the sound x beside a run, with one sample of the run at its
// end, or at its start where the run comes before the sound.
func (m *Dropout) edgeOf(x []float32, after bool) (e edge) {
	at := func(k int) float64 { // the sample k before the run's; 0 is the run's
		if after {
			return float64(x[k])
		}
		return float64(x[len(x)-1-k])
	}
	n := len(x) - 1
	v := at(0)
	e.step = math.Abs(at(1) - v)
	var slopes, near, peak float64
	for k := 1; k <= n; k++ {
		d := at(k) - at(k-1)
		e.power += at(k) * at(k)
		if k > 1 {
			slopes += d * d
		}
		if k <= m.slopeEdge {
			near += d * d
		}
		if k <= m.peakEdge {
			peak = max(peak, math.Abs(at(k)-v))
		}
	}
	e.power /= float64(n)
	e.slope = math.Sqrt(slopes / float64(n))
	// A held value lies where the sound was, so that only the slopes tell.
	e.torn = peak > 0 && math.Sqrt(near/float64(min(n, m.slopeEdge))) >= holeTorn*e.slope &&
		(v != 0 || peak >= holeTorn*math.Sqrt(e.power))
	return e
}

// leave ends the run of m.prev before the sample at i.
func (m *Dropout) leave(i, end int) {
	start := m.win.start + int64(i) - m.run
	length := m.run
	if start < 0 { // the zeros before the recording are none of its own
		length += start
		start = 0
	}
	if length <= 0 {
		return
	}
	if m.prev == 0 {
		m.zeros += length
		if start == 0 {
			m.leading = length
		}
		if length > m.longest.Frames {
			m.longest = Run{Frame: start, Frames: length}
		}
	}
	if m.run < m.min || m.tear.wholeFile || start == 0 {
		return
	}
	m.judgeHole(start, length, i, end)
}

// judgeHole decides whether a run of one value is a hole.
func (m *Dropout) judgeHole(start, length int64, i, end int) {
	v, t := m.prev, m.tear
	if v != 0 && (t.stepped || float32(math.Abs(float64(v))) >= holeClipped*m.extreme) {
		return
	}
	h := Hole{Run: Run{Frame: start, Frames: length, Amplitude: t.before}, Held: v != 0, TornIn: t.torn}
	h.BeforeLevel = unit.MeanSquare(t.power)
	w := wave{start: start, end: start + length}
	if i < end {
		e := m.edgeOf(m.win.buf[i-1:i+min(m.ms10, end-i)], true)
		h.TornOut = e.torn && e.power > holeSoft*holeSoft
		h.AfterLevel = unit.MeanSquare(e.power)
		w.beside = [4]float32{t.before, float32(math.Sqrt(t.power)), m.win.buf[i], float32(math.Sqrt(e.power))}
	} else {
		h.ToEnd = true
		w.beside = [4]float32{t.before, float32(math.Sqrt(t.power))}
	}
	least := float64(holeSoft * holeSoft)
	if m.sounding > 0 {
		mean := m.squares / float64(m.sounding)
		switch {
		case length > m.long && !h.TornOut: // a rest comes back softly, a hole does not
			least = max(least, mean*math.Pow(10, -holeLongDB/10))
		case length > m.long/10:
			least = max(least, mean*math.Pow(10, -2*holeLongDB/10))
		}
	}
	if t.power < least || !h.TornIn || h.Held && !h.TornOut && !h.ToEnd {
		return
	}
	m.keepHole(h, w)
}

// keepHole keeps a hole unless it is one of a waveform: near the one before, as
// long as it and with the same samples beside it.
func (m *Dropout) keepHole(h Hole, w wave) {
	same := m.waiting || m.last.is
	if d := (w.end - w.start) - (m.last.end - m.last.start); d < -2 && !h.ToEnd || d > 2 {
		same = false
	}
	if w.start-m.last.start > int64(m.rate/20) || m.last.end == 0 {
		same = false
	}
	beside := w.beside[:]
	if h.ToEnd {
		beside = beside[:2] // nothing came after
	}
	for k, v := range beside {
		if d := math.Abs(float64(v - m.last.beside[k])); d > 0.1*math.Abs(float64(v))+2*lsb16 {
			same = false
		}
	}
	w.is = same
	if same {
		m.waiting = false // the one before was of the waveform as well
	} else {
		m.settle()
		m.pending, m.waiting = h, true
	}
	m.last = w
}

// settle makes the pending hole count.
func (m *Dropout) settle() {
	if !m.waiting {
		return
	}
	m.waiting = false
	m.events.add(m.pending.Run)
	if len(m.holes) < KeptEvents {
		m.holes = append(m.holes, m.pending)
	}
}

// Reading tells what was found so far.
func (m *Dropout) Reading() DropoutReading {
	c := *m
	c.win = m.win.ended()
	c.events, c.repeats, c.holes = m.events.apart(), m.repeats.apart(), slices.Clone(m.holes)
	c.scan(c.win.back, c.win.n, c.win.n)
	var trailing int64
	if c.prev == 0 {
		trailing = min(c.run, c.win.frames())
	}
	if c.run > 0 {
		c.leave(c.win.n, c.win.n)
	}
	c.settle()
	c.endRepeats(c.win.n)
	return DropoutReading{
		Dropouts: c.events, Repeats: c.repeats, Holes: c.holes,
		ZeroFrames: c.zeros, LeadingZeros: c.leading, TrailingZeros: trailing, LongestZero: c.longest,
	}
}
