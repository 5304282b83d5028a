package meter

import (
	"fmt"
	"math"
	"slices"

	"tidemark/internal/kernel"
)

// Onset is the beginning of a hit or note.
type Onset struct {
	Frame  int64   // where the rise starts, within about 1 ms
	RiseDB float64 // fast level after against slow level before
	Peak   float32 // largest |x| within 10 ms after it
}

// OnsetReading lists the strongest onsets of a channel, spread over its
// length: at most KeptOnsets, in order of time.
type OnsetReading struct {
	Count  int
	Onsets []Onset
}

// KeptOnsets is how many onsets a channel keeps at most.
const KeptOnsets = 512

// Limits of the onset meter: common practice, no source.
const (
	onsetRise   = 8.0  // energy of 2 ms against the slow energy: 9 dB
	onsetFloor  = 1e-6 // mean square (after emphasis) under which nothing begins: −60 dB re 1
	onsetWeak   = 1e-4 // energy re the largest so far under which nothing begins: −40 dB
	onsetPause  = 30   // ms without a further onset
	onsetSlowMs = 40.0 // time constant of the slow energy
	onsetBack   = 24   // ms kept before the ones looked at
	onsetAhead  = 12   // ms that must have come
	onsetTilt   = 0.9  // emphasis x[n] − 0.9·x[n−1]: attacks are bright
	onsetHops   = 128  // ring of hop energies: a power of two above back, step and ahead together
	onsetMaxDB  = 60.0 // rise out of silence
)

// Onsets finds where hits and notes begin.
//
// It follows the energy of 1 ms hops of the emphasised sound, fast over 2 ms and
// slow with a time constant of 40 ms. Where fast exceeds slow by 9 dB, the frame
// is sought backwards at the steepest rise. Of each stretch of time it keeps the
// strongest onset; when the stretches no longer fit, they double in length.
//
// Silence and emptiness read as no onset.
type Onsets struct {
	win   tapeView
	hop   int   // frames in a hop, 1 ms
	hops  int64 // hops looked at
	slow  float64
	top   float64 // largest hop energy so far
	last  int64   // hop of the last onset
	fade  float64 // of the slow energy, each hop
	width int64   // frames of a stretch
	count int
	kept  [KeptOnsets]Onset
	score [KeptOnsets]float64 // 0: none
	e     [onsetHops]float64  // energies of hops, by hop number; up to onsetAhead beyond hops
	known int64               // hops whose energy is known
}

// NewOnset makes a meter for a rate, and panics on one that is not positive.
func NewOnset(rateHz int) *Onsets { return newOnset(rateHz, &tape{}) }

func newOnset(rateHz int, t *tape) *Onsets {
	if rateHz <= 0 {
		panic(fmt.Sprintf("meter: onset of rate %d Hz", rateHz))
	}
	hop := max(rateHz/1000, 1)
	return &Onsets{
		hop: hop, win: t.view((onsetBack+1)*hop, 32*hop, onsetAhead*hop),
		fade: math.Exp(-float64(hop) * 1000 / float64(rateHz) / onsetSlowMs), width: int64(max(rateHz/10, 1)), last: -onsetPause,
	}
}

// Measure takes the next samples.
func (m *Onsets) Measure(x []float32) {
	for len(x) > 0 {
		x = m.win.tape.put(x)
		m.catchUp()
	}
}

// catchUp looks at what has come in on the tape.
func (m *Onsets) catchUp() {
	for m.win.next() {
		m.scan(m.win.back, m.win.n-m.win.ahead, m.win.n)
		m.win.slide()
	}
}

// scan looks at the hops of buf[lo:hi]; samples are there up to end.
func (m *Onsets) scan(lo, hi, end int) {
	if i := lo + int(m.known-m.hops)*m.hop; i+m.hop <= end {
		var energies [onsetHops]float32
		e := energies[:(end-i)/m.hop]
		kernel.Tilted(e, m.win.buf[i-1:end], m.hop, onsetTilt)
		for _, v := range e {
			if !(v < 1e12) { // NaN and nonsense begin nothing
				v = 0
			}
			m.e[m.known&(onsetHops-1)] = float64(v) / float64(m.hop)
			m.known++
		}
	}
	for i := lo; i+m.hop <= hi; i += m.hop {
		h := m.hops
		if h == 0 {
			m.slow = m.at(0) // a recording that begins in a sound begins no note
		}
		fast := (m.at(h) + m.at(h+1)) / 2
		m.top = max(m.top, fast)
		if fast > onsetRise*m.slow && fast > onsetFloor && fast > onsetWeak*m.top && h-m.last >= onsetPause {
			m.last = h
			m.found(i, h, end)
		}
		m.slow = m.fade*m.slow + (1-m.fade)*m.at(h)
		m.hops++
	}
}

// at is the energy of a hop; 0 where it is not known yet.
func (m *Onsets) at(h int64) float64 {
	if h < 0 || h >= m.known {
		return 0
	}
	return m.e[h&(onsetHops-1)]
}

// found places the onset that hop h, at buf[i], gave away.
func (m *Onsets) found(i int, h int64, end int) {
	// The rise began where the energy was last near the slow one.
	first := h + 1
	for k := int64(0); k < onsetBack-2 && h-k > 0; k++ {
		if m.at(h-k) <= 2*m.slow+onsetFloor/16 {
			first = h - k
			break
		}
		first = h - k
	}
	// In there and the first loud hop: the steepest rise of quarter hops.
	quarter := max(m.hop/4, 1)
	from := i + int(first-h)*m.hop
	best, frame := -1.0, from
	before := m.quarterPeak(from-quarter, quarter)
	for k := from; k < min(i+2*m.hop, end-quarter); k += quarter {
		now := m.quarterPeak(k, quarter)
		if rise := now - before; rise > best {
			best, frame = rise, k
		}
		before = now
	}
	loud := 0.0
	for k := int64(0); k < 10; k++ {
		loud = max(loud, (m.at(h+k)+m.at(h+k+1))/2)
	}
	o := Onset{Frame: max(m.win.start+int64(frame), 0), RiseDB: onsetMaxDB}
	if m.slow > 0 {
		o.RiseDB = min(10*math.Log10(loud/m.slow), onsetMaxDB)
	}
	o.Peak = finitePeak(m.win.buf[frame:max(frame, min(frame+10*m.hop, end))])
	m.count++
	m.keep(o)
}

// quarterPeak is the largest emphasised sample of a quarter hop.
func (m *Onsets) quarterPeak(i, n int) (peak float64) {
	for k := i; k < i+n; k++ {
		peak = max(peak, math.Abs(float64(m.win.buf[k]-onsetTilt*m.win.buf[k-1])))
	}
	return peak
}

// keep keeps the onset if it is the strongest of its stretch of time.
func (m *Onsets) keep(o Onset) {
	for o.Frame/m.width >= KeptOnsets {
		for k := range m.kept {
			var s float64
			var v Onset
			if 2*k < KeptOnsets {
				v, s = m.kept[2*k], m.score[2*k]
				if m.score[2*k+1] > s {
					v, s = m.kept[2*k+1], m.score[2*k+1]
				}
			}
			m.kept[k], m.score[k] = v, s
		}
		m.width *= 2
	}
	k := o.Frame / m.width
	if s := float64(o.Peak) * math.Sqrt(o.RiseDB); s > m.score[k] {
		m.kept[k], m.score[k] = o, s
	}
}

// Reading tells the onsets so far.
func (m *Onsets) Reading() OnsetReading {
	c := *m
	c.win = m.win.ended()
	pad := (c.hop - (c.win.n-c.win.back)%c.hop) % c.hop // the last hop is filled up with zeros
	n := min(c.win.n+pad, len(c.win.buf))
	c.scan(c.win.back, n, n)
	r := OnsetReading{Count: c.count}
	for k, s := range c.score {
		if s > 0 {
			r.Onsets = append(r.Onsets, c.kept[k])
		}
	}
	slices.SortFunc(r.Onsets, func(a, b Onset) int { return int(a.Frame - b.Frame) })
	return r
}
