package meter

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sync"

	"tidemark/internal/fourier"
	"tidemark/internal/unit"
)

// DrumPartial is a frequency at which a struck drum rings.
type DrumPartial struct {
	Hz      float64
	LevelDB float64 // re the strongest, over all strokes
	Mode    Mode    // none where the head is unknown or the partial fits none
}

// DrumReading is how the strokes of one channel ring.
type DrumReading struct {
	Strokes int // that were long enough to be heard ringing
	Head    Head
	// Fundamental is the frequency of the lowest mode: (0,1) of a membrane, (1,1) of
	// a kettledrum. Where that is not heard it follows from those that are; of an
	// unknown head it is the lowest partial within 20 dB of the strongest.
	Fundamental unit.Maybe[unit.Hertz]
	// Principal is the frequency of the strongest partial.
	Principal unit.Maybe[unit.Hertz]
	Partials  []DrumPartial // rising
}

// Limits of the drum meter: common practice, no source, held by the tests.
const (
	drumLowestHz  = 30.0
	drumHighestHz = 1600.0 // where the decimated sound ends
	drumTopHz     = 500.0  // of a named pattern's lowest mode

	drumRateHz = 6000 // about what the sound is brought down to
	drumN      = 4096 // samples of a transform, 0.7 s
	drumHopS   = 0.005
	drumFast   = 4    // hops whose energy is held against the slow one: 20 ms, a period of 50 Hz
	drumRise   = 6.0  // energy that begins a stroke, re the slow energy
	drumSlow   = 0.9  // of the slow energy that is left each hop: a time constant of 50 ms
	drumPause  = 12   // hops without another stroke
	drumFloor  = 1e-6 // mean square under which nothing begins: −60 dB re 1
	drumSoft   = 1e-2 // energy re the loudest stroke under which none begins: −20 dB
	drumLeastS = 0.12 // that a window lasts
	drumFallDB = 6.0  // a second that a stroke falls at least
	drumSure   = 20.0 // dB under the strongest of a late spectrum down to which its partials are believed
)

// drumDelaysS are how long after a stroke windows begin. The stroke itself stretches
// the head, so that its pitch falls for the first tenth of a second; what rings
// later is what the drum is tuned to.
var drumDelaysS = [...]float64{0.03, 0.10, 0.20}

// DrumPitch finds the frequencies of a struck head.
//
// The sound is brought down to about 6 kHz. A stroke begins where the energy of 20
// ms stands 8 dB over what went before, and rings until the next one or for 0.7
// s. Windows that begin 30, 100 and 200 ms after it are transformed, and the power
// spectra of all strokes averaged, each stroke counting the same. The partials
// are the peaks of the first; the later ones, where the partial still rings, say
// more surely where it settles. The pattern of modes that explains most of them
// names them: an ideal membrane's (1 : 1.593 : 2.136 : 2.295 …, zeros of Bessel
// functions) or a kettledrum's (1 : 1.5 : 1.99 : 2.44 : 2.9), each within 2 %. It is
// believed where partials at random would lie as near to modes less than once in
// ten times; a woodblock or a cymbal has no known head.
//
// The lowest mode of a head that is named lies between 30 and 500 Hz. Silence,
// emptiness and sounds that do not die away read as no stroke. Memory does not grow.
type DrumPitch struct {
	in    *pitchInput
	hz    float64
	hop   int
	low   []float32 // the hop that is coming in
	n     int
	ring  [drumFast]float64 // energies of the last hops
	hops  int
	slow  float64
	loud  float64 // energy of the loudest stroke
	since int     // hops since the last stroke

	stroke  bool
	seg     []float32 // what came after the stroke
	strokes int
	sum     [len(drumDelaysS)][]float64 // power spectra over all strokes

	x    []float64
	bins []complex128
}

var drumTransform = sync.OnceValue(func() *fourier.Real { return fourier.NewReal(drumN) })

// NewDrumPitch makes a meter for a rate, and panics on one under 6 kHz.
func NewDrumPitch(rateHz int) *DrumPitch {
	if rateHz < drumRateHz {
		panic(fmt.Sprintf("meter: pitch of drums of rate %d Hz", rateHz))
	}
	m := &DrumPitch{in: newPitchInput(rateHz, drumRateHz), since: drumPause, x: make([]float64, drumN), bins: make([]complex128, drumN/2+1)}
	m.hz = float64(rateHz) / float64(m.in.factor)
	m.hop = int(math.Round(m.hz * drumHopS))
	m.low = make([]float32, m.hop)
	m.seg = make([]float32, 0, drumN+m.hop+int(m.hz*drumDelaysS[len(drumDelaysS)-1]))
	for i := range m.sum {
		m.sum[i] = make([]float64, drumN/2+1)
	}
	return m
}

// Measure takes the next samples.
func (m *DrumPitch) Measure(x []float32) {
	for {
		var made int
		x, made = m.in.push(x, m.low[m.n:])
		if m.n += made; m.n < m.hop {
			return
		}
		m.take()
		m.n = 0
	}
}

// take looks whether a stroke begins in the hop in low, and keeps it where one rings.
func (m *DrumPitch) take() {
	e := 0.0
	for _, v := range m.low {
		e += float64(v) * float64(v)
	}
	if !(e < 1e6) { // samples that are no numbers
		m.stroke, m.seg, m.slow, m.ring = false, m.seg[:0], 0, [drumFast]float64{}
		return
	}
	m.ring[m.hops%drumFast] = e / float64(m.hop)
	m.hops++
	m.since++
	fast := 0.0
	for _, v := range m.ring {
		fast += v / drumFast
	}
	if fast > drumRise*m.slow && fast > drumFloor && fast > drumSoft*m.loud && m.since >= drumPause {
		m.end()
		m.stroke, m.since = true, 0
	}
	if m.since < drumPause {
		m.loud = max(m.loud, fast) // the blow's highest energy comes a little later
	}
	m.slow = drumSlow*m.slow + (1-drumSlow)*fast
	if m.stroke {
		if len(m.seg)+m.hop > cap(m.seg) {
			m.end()
			return
		}
		m.seg = append(m.seg, m.low...)
	}
}

// end adds the spectra of the stroke that rings.
func (m *DrumPitch) end() {
	defer func() { m.stroke, m.seg = false, m.seg[:0] }()
	first := int(m.hz * drumDelaysS[0])
	least := int(m.hz * drumLeastS)
	if !m.stroke || len(m.seg) < first+least {
		return
	}
	power := 0.0
	for _, v := range m.seg[first:] {
		power += float64(v) * float64(v)
	}
	if power <= 0 || !m.dies(m.seg[first:]) {
		return
	}
	m.strokes++
	for i, delay := range drumDelaysS {
		at := int(m.hz * delay)
		if len(m.seg) < at+least {
			return
		}
		x := m.seg[at:min(len(m.seg), at+drumN)]
		clear(m.x)
		in := m.hop // fades in over a hop, out over all the rest
		for k, v := range x {
			w := 0.5 + 0.5*math.Cos(math.Pi*float64(k)/float64(len(x)))
			if k < in {
				w *= 0.5 - 0.5*math.Cos(math.Pi*float64(k)/float64(in))
			}
			m.x[k] = w * float64(v)
		}
		drumTransform().Forward(m.bins, m.x)
		for k, b := range m.bins {
			m.sum[i][k] += (real(b)*real(b) + imag(b)*imag(b)) / power
		}
	}
}

// dies tells whether a sound falls as quickly as a drum's, from its first quarter
// to its last: what begins and stays is no stroke.
func (m *DrumPitch) dies(x []float32) bool {
	quarter := len(x) / 4
	var early, late float64
	for i := range quarter {
		a, b := float64(x[i]), float64(x[len(x)-quarter+i])
		early, late = early+a*a, late+b*b
	}
	return late < early*math.Pow(10, -drumFallDB/10*0.75*float64(len(x))/m.hz)
}

// Reading tells how the drum rings so far, the stroke that still does among it.
func (m *DrumPitch) Reading() DrumReading {
	c := *m
	c.seg = slices.Clone(m.seg)
	for i := range c.sum {
		c.sum[i] = slices.Clone(m.sum[i])
	}
	c.x, c.bins = make([]float64, drumN), make([]complex128, drumN/2+1)
	c.end()
	r := DrumReading{Strokes: c.strokes}
	if c.strokes == 0 {
		return r
	}
	binHz := c.hz / drumN
	r.Partials = drumPeaks(c.sum[0], binHz)
	for _, late := range c.sum[1:] {
		settle(r.Partials, drumPeaks(late, binHz))
	}
	if len(r.Partials) == 0 {
		return r
	}
	f := fitModes(r.Partials)
	r.Head = f.head
	hz := f.hz
	strongest := r.Partials[0]
	for i, p := range r.Partials {
		if f.head != HeadUnknown {
			r.Partials[i].Mode = f.modes[i]
			if f.modes[i] == drumFirst(f.head) {
				hz = p.Hz
			}
		} else if hz == 0 && p.LevelDB > -drumSure {
			hz = p.Hz
		}
		if p.LevelDB > strongest.LevelDB {
			strongest = p
		}
	}
	r.Fundamental, r.Principal = unit.Some(unit.Hertz(hz)), unit.Some(unit.Hertz(strongest.Hz))
	return r
}

func drumFirst(h Head) Mode {
	if h == HeadKettle {
		return Mode{1, 1}
	}
	return Mode{0, 1}
}

// settle moves partials to where they ring later on: at most 6 % lower, a little
// higher by chance, and only those that are still strong. Each later one is what
// the nearest of them has become.
func settle(partials, late []DrumPartial) {
	level := make([]float64, len(partials))
	to := make([]float64, len(partials))
	for _, q := range late {
		if q.LevelDB <= -drumSure {
			continue
		}
		near := -1
		for i, p := range partials {
			if r := q.Hz / p.Hz; r > 0.94 && r < 1.01 && (near < 0 || math.Abs(q.Hz-p.Hz) < math.Abs(q.Hz-partials[near].Hz)) {
				near = i
			}
		}
		if near >= 0 && (to[near] == 0 || q.LevelDB > level[near]) {
			to[near], level[near] = q.Hz, q.LevelDB
		}
	}
	for i, hz := range to {
		if hz > 0 {
			partials[i].Hz = hz
		}
	}
	slices.SortFunc(partials, func(p, q DrumPartial) int { return cmp.Compare(p.Hz, q.Hz) })
}
