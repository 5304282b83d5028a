package meter

import (
	"fmt"
	"math"
	"slices"

	"tidemark/internal/kernel"
)

// Click is one impulse that does not belong to the sound around it.
type Click struct {
	Frame     int64
	Frames    int64   // width
	Amplitude float64 // largest prediction residual
	OverDB    float64 // residual over the robust residual around it
}

// ClickReading lists the clicks of one channel.
type ClickReading struct {
	Count     int
	Clicks    []Click  // the first KeptEvents
	PerSecond []uint16 // clicks in each second of the recording
}

// Limits of the click meter. Order, residual and robust σ are published (see
// arOrder; K is given as 3 to 8 for restoration, where a false alarm costs
// little); the others are common practice, no source, held by the tests.
const (
	clickCell     = 32   // frames of a cell at 48 kHz: 0.67 ms
	clickAround   = 120  // cells looked at on either side: 80 ms
	clickNearby   = 60   // cells whose lower quartile is the level around: 40 ms
	clickScreen   = 8.0  // largest second difference re the mean around it
	clickLeast    = 4e-4 // second difference below which nothing is a click
	clickReturn   = 2.5  // the sound beside a click is within this of the level around
	clickRing     = 0.01 // or this far below the click
	clickRise     = 6.0  // the sound after a hit has this much more energy than before
	clickK        = 18.0 // residual of a click re the robust residual around it: 25 dB
	clickKAmong   = 40.0 // the same where other places are missed about as much: 32 dB
	clickSame     = 0.35 // pulses of one pitch are this alike
	clickPitch    = 0.03 // and this steady
	clickVoice    = 0.45 // pulses of one voice are this alike
	clickWaver    = 0.03 // and this steady
	clickBurst    = 45   // cells of the longest burst: 30 ms
	clickBurstK   = 10.0 // a burst re the level around
	clickPerS     = 40   // times a second that the model is asked before it must have said click half the time
	clickSure     = 12   // times that the model is asked before a second is known to be full of clicks
	clickModel    = 1024 // samples on either side that it is made from
	clickGap      = 96   // samples on either side that it is not
	clickEdgeCell = 8    // cells at both ends of a recording in which nothing is a click
)

// Clicks finds impulses that do not belong to the sound: single samples, bursts
// up to 2 ms, steps, and the crackle of a bad connector.
//
// A cheap look at every sample comes first: the second difference
// |x[n] − 2x[n−1] + x[n−2]|, which shuns low and loves high frequencies, as its
// mean and maximum of each cell of 0.67 ms (at 96 kHz and above the difference
// reaches over more samples). A cell that stands out 8 times over the cells 1.3
// to 3 ms before and after is looked at again:
//   - 1.3 to 3 ms after it the level must be what it was as long before (what is
//     struck rings on), and it must stand out over the quieter part of the 40 ms
//     on either side too;
//   - the sound must not be much louder after it than before (a hit begins a sound);
//   - it must not be one of many alike at one distance (the edges of a pitch);
//   - a model of the sound around, of order 32, must miss it by 18 times what it
//     misses elsewhere, forwards and backwards, 40 times where it misses other
//     places as much, and must not miss them at one distance (a voice's pulses).
//
// A burst up to 30 ms in which clicks are too dense to stand alone counts as one
// if it ends as abruptly as it began; a struck sound dies away instead.
//
// PerSecond takes two bytes for each second of the recording. Silence and
// emptiness read as no click.
type Clicks struct {
	win    tapeView
	rate   int
	m      int // difference reaches over this many samples: 48 kHz and its multiples
	cell   int // frames of a cell
	mean   []float32
	most   []float32 // of each cell of win.buf
	known  int       // cells computed
	pulse  pulses
	last   int64 // frame at which the last click or burst ended
	second int64 // that asked and found are about
	asked  int
	found  int
	ar     autoregression
	x, e   []float64
	both   []float64
	sorted []float64
	count  int
	kept   []Click
	per    []uint16
}

// NewClick makes a meter for a rate, and panics on one that is not positive.
func NewClick(rateHz int) *Clicks { return newClick(rateHz, &tape{}) }

func newClick(rateHz int, t *tape) *Clicks {
	if rateHz <= 0 {
		panic(fmt.Sprintf("meter: click of rate %d Hz", rateHz))
	}
	m := max(1, (rateHz+24000)/48000)
	cell := clickCell * m
	n := 2*(clickModel+clickGap+arOrder) + 1
	c := &Clicks{
		rate: rateHz, m: m, cell: cell,
		win: t.view(clickAround*cell, 64*cell, clickAround*cell),
		x:   make([]float64, n), e: make([]float64, n), both: make([]float64, n), sorted: make([]float64, 0, n),
		kept: make([]Click, 0, KeptEvents),
		last: -1, second: -1,
	}
	c.ar.windowed = make([]float64, clickModel)
	cells := 2*clickAround + 64
	c.mean, c.most = make([]float32, cells), make([]float32, cells)
	c.known = clickAround
	return c
}

// Measure takes the next samples.
func (m *Clicks) Measure(x []float32) {
	for len(x) > 0 {
		x = m.win.tape.put(x)
		m.catchUp()
	}
}

// catchUp looks at what has come in on the tape.
func (m *Clicks) catchUp() {
	for m.win.next() {
		m.fill(m.win.n)
		m.scan(clickAround, clickAround+64)
		m.win.slide()
		copy(m.mean, m.mean[64:])
		copy(m.most, m.most[64:])
		m.known -= 64
	}
}

// fill computes the cells of buf[:end] that are not known yet.
func (m *Clicks) fill(end int) {
	n := end/m.cell - m.known
	if n <= 0 {
		return
	}
	// The difference at a sample is about it and the ones before it.
	x := m.win.buf[m.known*m.cell-2*m.m : end]
	kernel.Bend(x, m.m, m.cell, m.mean[m.known:m.known+n], m.most[m.known:m.known+n])
	m.known += n
}

// scan looks at the cells lo to hi.
func (m *Clicks) scan(lo, hi int) {
	mean, most := m.mean, m.most
	for c := lo; c < hi; c++ {
		peak := most[c]
		if !(peak > clickLeast) || !(peak < 1e6) {
			continue
		}
		before := min(mean[c-2], mean[c-3], mean[c-4])
		if peak <= clickScreen*before {
			continue
		}
		if m.win.start+int64(c*m.cell) < int64(clickEdgeCell*m.cell) || c+clickEdgeCell >= m.known {
			continue
		}
		if after := min(mean[c+2], mean[c+3], mean[c+4]); peak > clickScreen*after {
			if peak >= most[c-1] && peak >= most[c+1] {
				m.single(c)
			}
		} else if mean[c] > clickBurstK*before {
			m.burst(c)
		}
	}
}

// quartile is the lower quartile of the mean of cells.
func (m *Clicks) quartile(lo, hi int) float32 {
	s := m.sorted[:0]
	for _, v := range m.mean[max(lo, 0):min(hi, m.known)] {
		s = append(s, float64(v))
	}
	if len(s) == 0 {
		return 0
	}
	slices.Sort(s)
	return float32(s[len(s)/4])
}

// difference is the second difference at buf[i].
func (m *Clicks) difference(i int) float32 {
	b := m.win.buf
	return b[i] - 2*b[i-m.m] + b[i-2*m.m]
}

// loudest is where the second difference of a cell is largest.
func (m *Clicks) loudest(c int) int {
	at := c * m.cell
	for i := at; i < at+m.cell; i++ {
		if d := m.difference(i); d == m.most[c] || d == -m.most[c] {
			return i
		}
	}
	return at
}

// single decides whether the peak of cell c is a click.
func (m *Clicks) single(c int) {
	peak, at := m.most[c], m.loudest(c)
	frame := m.win.start + int64(at)
	if frame < m.last+int64(3*clickCell*m.m) || m.pitched(at, peak) {
		return
	}
	before := min(m.mean[c-2], m.mean[c-3], m.mean[c-4], m.mean[c-5])
	after := min(m.mean[c+2], m.mean[c+3], m.mean[c+4], m.mean[c+5])
	ring := clickRing * peak
	if after > max(clickReturn*before, ring) || before > max(clickReturn*after, ring) ||
		peak <= clickScreen*max(m.quartile(c-clickNearby, c-1), m.quartile(c+2, c+clickNearby+1)) {
		return
	}
	if m.begins(at, at, peak) || m.borders(at) {
		return
	}
	click, ok := m.unpredicted(at)
	if !ok {
		return
	}
	m.keep(click)
}

// begins says whether a sound begins with the peaks from buf[a] to buf[b]: the
// slopes of the 3 to 10 ms after it have much more energy than those before.
func (m *Clicks) begins(a, b int, peak float32) bool {
	energy := func(lo, hi int) (s float64) {
		lo, hi = max(lo, 1), min(hi, m.win.n)
		for i := lo; i < hi; i++ {
			d := float64(m.win.buf[i] - m.win.buf[i-1])
			s += d * d
		}
		return s / float64(max(hi-lo, 1))
	}
	ms := m.rate / 1000
	tail := float64(peak) / 300 // a step through a coupling capacitor dies away slowly
	return energy(b+3*ms, b+10*ms) > clickRise*energy(a-25*ms, a-3*ms)+tail*tail
}

// borders says whether on one side, and one only, lies a run of one value: then
// this is the edge of a hole or of an edit.
func (m *Clicks) borders(at int) bool {
	still := func(lo, hi int) bool {
		for i := max(lo, 0); i < min(hi, m.win.n); i++ {
			if m.win.buf[i] != m.win.buf[lo] {
				return false
			}
		}
		return true
	}
	ms, gap := m.rate/1000, 4*m.m
	return still(at-gap-ms, at-gap) != still(at+gap, at+gap+ms)
}

// unpredicted asks a model of the sound around buf[at] whether it could have
// known what is there.
func (m *Clicks) unpredicted(at int) (Click, bool) {
	second := (m.win.start + int64(at)) / int64(m.rate)
	if second != m.second {
		m.second, m.asked, m.found = second, 0, 0
	}
	if m.asked >= clickPerS && 2*m.found < m.asked {
		return Click{}, false
	}
	if m.asked >= clickSure && 4*m.found >= 3*m.asked { // a second full of crackle needs no further proof
		c := at / m.cell
		peak, around := float64(m.most[c]), float64(max(m.mean[c-4], m.mean[c+4], clickLeast/16))
		return Click{Frame: m.win.start + int64(at), Frames: 1, Amplitude: peak / 2, OverDB: 20 * math.Log10(peak/around)}, true
	}
	m.asked++
	// At 48 kHz, by the mean of neighbours where the rate is a multiple.
	x, d := m.x, m.m
	half := len(x) / 2
	for i := range x {
		var s float64
		for k := range d {
			if j := at + (i-half)*d - k + d/2; j >= 0 && j < m.win.n {
				s += float64(m.win.buf[j])
			}
		}
		x[i] = s / float64(d)
	}
	m.ar.fit(x[half-clickGap-clickModel:half-clickGap], x[half+clickGap+1:half+clickGap+1+clickModel])
	m.ar.residual(m.e, m.both, x)
	s := m.sorted[:0]
	for i := arOrder; i < len(x)-arOrder; i++ {
		if i < half-clickGap || i > half+clickGap {
			s = append(s, math.Abs(m.e[i]))
		}
	}
	slices.Sort(s)
	sigma := max(s[len(s)/2]/0.6745, 1e-9)
	place, peak := half, 0.0
	for i := half - clickCell; i <= half+clickCell; i++ {
		if m.both[i] > peak {
			place, peak = i, m.both[i]
		}
	}
	if !(peak > clickK*sigma) || peak < clickLeast/4 {
		return Click{}, false
	}
	if others, steady := m.voiced(place, peak); steady || others && peak <= clickKAmong*sigma {
		return Click{}, false
	}
	m.found++
	lo, hi := place, place
	least := max(peak/10, clickK/3*sigma)
	for i := max(place-clickGap, 0); i <= min(place+clickGap, len(x)-1); i++ {
		if m.both[i] >= least {
			lo, hi = min(lo, i), max(hi, i)
		}
	}
	return Click{
		Frame:  m.win.start + int64(at+(lo-half)*d),
		Frames: int64((hi - lo + 1) * d), Amplitude: peak, OverDB: 20 * math.Log10(peak/sigma),
	}, true
}

// burst decides whether the cells from c on are a burst that ends as abruptly
// as it began.
func (m *Clicks) burst(c int) {
	frame := m.win.start + int64(c*m.cell)
	if frame < m.last+int64(3*clickCell*m.m) {
		return
	}
	first := m.loudest(c)
	if m.pitched(first, m.most[c]) {
		return
	}
	base := max(m.quartile(c-clickNearby, c-1), clickLeast/16)
	if m.mean[c-2] > clickReturn*base {
		return
	}
	end, sum := 0, m.mean[c]+m.mean[c+1]
	for j := c + 2; j <= c+clickBurst && j+2 < m.known; j++ {
		if m.mean[j] <= clickReturn*base && m.mean[j+1] <= clickReturn*base {
			end = j
			break
		}
		sum += m.mean[j]
	}
	if end == 0 {
		return
	}
	level := sum / float32(end-c)
	atStart, atEnd := max(m.mean[c], m.mean[c+1]), max(m.mean[end-1], m.mean[end-2])
	if level < clickBurstK*base || atStart < level/4 || atEnd < level/3 || atEnd < 6*base {
		return
	}
	if m.quartile(end+1, end+clickNearby) > clickReturn*base || m.begins(c*m.cell, end*m.cell, m.most[c]) || m.borders(c*m.cell) {
		return
	}
	m.keep(Click{Frame: frame, Frames: int64((end - c) * m.cell), Amplitude: float64(slices.Max(m.most[c:end])), OverDB: 20 * math.Log10(float64(level/base))})
}

// keep counts a click.
func (m *Clicks) keep(c Click) {
	m.count++
	m.last = c.Frame + c.Frames
	if len(m.kept) < KeptEvents {
		m.kept = append(m.kept, c)
	}
	for second := c.Frame / int64(m.rate); int64(len(m.per)) <= second; {
		m.per = append(m.per, 0)
	}
	if p := &m.per[c.Frame/int64(m.rate)]; *p < math.MaxUint16 {
		*p++
	}
}

// Reading tells the clicks so far.
func (m *Clicks) Reading() ClickReading {
	c := *m
	c.win = m.win.ended()
	c.kept, c.per = slices.Clone(m.kept), slices.Clone(m.per)
	c.mean, c.most = slices.Clone(m.mean), slices.Clone(m.most)
	c.x, c.e, c.both = slices.Clone(m.x), slices.Clone(m.e), slices.Clone(m.both)
	c.sorted = make([]float64, 0, cap(m.sorted))
	c.ar.windowed = slices.Clone(m.ar.windowed)
	c.fill(c.win.n)
	c.scan(clickAround, c.known)
	for seconds := (c.win.frames() + int64(c.rate) - 1) / int64(c.rate); int64(len(c.per)) < seconds; {
		c.per = append(c.per, 0)
	}
	return ClickReading{Count: c.count, Clicks: c.kept, PerSecond: c.per}
}
