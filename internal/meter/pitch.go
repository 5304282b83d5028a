package meter

import (
	"fmt"
	"math"

	"tidemark/internal/fourier"
	"tidemark/internal/unit"
)

// PitchValue is the pitch at one moment.
type PitchValue struct {
	Hz         float32 // 0 where there is none
	Confidence float32 // 0 … 1: about the share of the power that repeats with the pitch
}

// Defined tells whether there is a pitch.
func (v PitchValue) Defined() bool { return v.Hz > 0 }

// Get is the pitch, undefined where there is none.
func (v PitchValue) Get() unit.Maybe[unit.Hertz] {
	if v.Hz <= 0 {
		return unit.None[unit.Hertz]()
	}
	return unit.Some(unit.Hertz(v.Hz))
}

// PitchReading is the pitch of one channel over its length.
type PitchReading struct {
	// Values are the pitches, one each HopFrames, the first of them at frame First.
	Values    []PitchValue
	First     int64
	HopFrames int64
	// Voiced is how many values are defined.
	Voiced int
	// Stretches are those in which the pitch stays, in order of time: held notes.
	Stretches []PitchStretch
	// Median is the pitch below which half of the values in stretches lie; undefined
	// without a stretch.
	Median unit.Maybe[unit.Hertz]
}

// Limits of the pitch meter. Threshold and search follow the difference function
// of de Cheveigné & Kawahara 2002 (JASA 111, 1917; from memory); the others are
// common practice, no source, held by the tests.
const (
	PitchLowestHz  = 25.0
	PitchHighestHz = 5000.0

	pitchRateHz   = 24000 // about what the sound is brought down to
	pitchHopS     = 0.010
	pitchWindowS  = 0.040 // that is compared with itself later on
	pitchLongS    = 0.020 // the longest lag of several periods
	pitchOver     = 0.10  // that a shorter period may differ more than the best one
	pitchVoiced   = 0.30  // difference above which nothing is voiced
	pitchBetter   = 0.25  // of a period's difference that a multiple of it must be under to be the period, where
	pitchDoubtful = 0.015 // the difference is not under this anyway
	pitchHigher   = 0.5   // the difference above which no minimum is looked at closely
	pitchWorse    = 0.06  // share of the power that several periods may differ more than one
	pitchQuiet    = 1e-8  // mean square under which there is no pitch: −80 dB re 1
)

// Pitch follows the fundamental frequency of a single voice: singing, bass,
// string, reed, whistle.
//
// The sound is brought down to about 24 kHz. Each 10 ms a window x of W = 40 ms
// is compared with the sound τ later:
//
//	d(τ) = Σ_{j<W} (x[j] − x[j+τ])²,   d′(τ) = d(τ) / ((1/τ)·Σ_{i=1..τ} d(i))
//
// d is zero where τ is a period, whatever the harmonics and whether the
// fundamental is among them. The period is the shortest τ whose minimum of d′ is
// no more than 0.1 above the least of all, or twice or three times of it where
// that fits far better. It is then placed between samples in a window about the
// middle, by a polynomial through the values of d around it, and around four,
// sixteen … periods up to 20 ms as long as those fit as well: a steady tone is known
// more finely the farther apart its periods are compared.
//
// Values are from 25 Hz to 5 kHz (at rates under 22 kHz to less than a quarter of
// the rate), of harmonics up to about 9 kHz; they are undefined where d′ is above
// 0.3 and in sound softer than −80 dB. Vibrato reads a tenth less deep than it is,
// for each value is the mean of some 50 ms. The first value lies some 40 ms into
// the sound and the last as much before its end. Silence and emptiness read as no
// value defined.
//
// It keeps 800 bytes for each second of sound, a quarter more at times.
type Pitch struct {
	in         *pitchInput
	low        []float32 // decimated sound from the beginning of the next window
	n          int
	hop        int
	hz         float64 // rate of the decimated sound
	window     int     // W
	least, top int     // lags
	long       int     // of several periods at most
	values     []PitchValue

	transform *fourier.Real
	x         []float64 // the segment: W + top samples, zeros up to the transform's length
	work      []float64
	a, b      []complex128
	d         []float64 // difference at lags 0 … top
	norm      []float64 // what makes it d′: τ/Σd
}

// NewPitch makes a meter for a rate, and panics on one under 2 kHz.
func NewPitch(rateHz int) *Pitch {
	if rateHz < 2000 {
		panic(fmt.Sprintf("meter: pitch of rate %d Hz", rateHz))
	}
	m := &Pitch{in: newPitchInput(rateHz, pitchRateHz)}
	m.hz = float64(rateHz) / float64(m.in.factor)
	m.hop = int(math.Round(m.hz * pitchHopS))
	m.window = int(m.hz * pitchWindowS)
	m.least = int(m.hz / min(PitchHighestHz*1.01, m.hz/4.2))
	m.top = int(math.Ceil(m.hz/PitchLowestHz*1.006)) + pitchTaps
	m.long = int(m.hz * pitchLongS)
	n := 4
	for n < m.window+m.top {
		n *= 2
	}
	m.transform = fourier.NewReal(n)
	m.low = make([]float32, m.window+m.top)
	m.x, m.work = make([]float64, n), make([]float64, n)
	m.a, m.b = make([]complex128, n/2+1), make([]complex128, n/2+1)
	m.d, m.norm = make([]float64, m.top+1), make([]float64, m.top+1)
	return m
}

// Measure takes the next samples.
func (m *Pitch) Measure(x []float32) {
	for {
		var made int
		x, made = m.in.push(x, m.low[m.n:])
		if m.n += made; m.n < len(m.low) {
			return
		}
		m.values = append(m.values, m.analyse())
		m.n = copy(m.low, m.low[m.hop:])
	}
}

// Reading tells the pitch so far.
func (m *Pitch) Reading() PitchReading {
	r := PitchReading{
		Values:    m.values[:len(m.values):len(m.values)],
		First:     int64(len(m.low) * m.in.factor / 2),
		HopFrames: int64(m.hop * m.in.factor),
	}
	r.summarise()
	return r
}

// analyse is the pitch of the segment in low.
func (m *Pitch) analyse() PitchValue {
	mean := 0.0
	for _, v := range m.low {
		mean += float64(v)
	}
	mean /= float64(len(m.low))
	power := 0.0
	for i, v := range m.low {
		u := float64(v) - mean
		m.x[i] = u
		power += u * u
	}
	if power /= float64(len(m.low)); !(power > pitchQuiet && power < 1e6) { // or samples that are no numbers
		return PitchValue{}
	}
	m.difference()
	lag, off, ok := m.period()
	if !ok {
		return PitchValue{}
	}
	hz := m.hz / m.refine(lag)
	if hz < PitchLowestHz*0.995 || hz > PitchHighestHz*1.005 {
		return PitchValue{}
	}
	return PitchValue{Hz: float32(hz), Confidence: float32(max(0, 1-off))}
}

// difference fills d and norm: d(τ) = Σx[j]² + Σx[j+τ]² − 2·Σx[j]·x[j+τ], the
// last by transforms. They are as long as the segment, so that nothing wraps.
func (m *Pitch) difference() {
	w := m.window
	clear(m.work)
	copy(m.work, m.x[:w])
	m.transform.Forward(m.a, m.work)
	m.transform.Forward(m.b, m.x)
	for k, a := range m.a {
		b := m.b[k]
		m.b[k] = complex(real(a)*real(b)+imag(a)*imag(b), real(a)*imag(b)-imag(a)*real(b))
	}
	m.transform.Inverse(m.work, m.b)
	first := 0.0
	for _, v := range m.x[:w] {
		first += v * v
	}
	later, sum := first, 0.0
	m.d[0], m.norm[0] = 0, 0
	for lag := 1; lag <= m.top; lag++ {
		gone, come := m.x[lag-1], m.x[lag-1+w]
		later += come*come - gone*gone
		d := max(0, first+later-2*m.work[lag])
		sum += d
		m.d[lag] = d
		m.norm[lag] = 0
		if sum > 0 {
			m.norm[lag] = float64(lag) / sum
		}
	}
}

// period is the period in samples by the segment's d′, and the value there.
func (m *Pitch) period() (lag, off float64, ok bool) {
	end := m.top - pitchTaps/2
	best := math.Inf(1)
	for i := m.least; i < end; i++ {
		best = min(best, m.d[i]*m.norm[i])
	}
	if best > pitchHigher {
		return 0, 0, false
	}
	// The least between samples may be less than the best of samples, so ask anew.
	limit := min(best+pitchOver, pitchVoiced)
	for i := m.least; i < end; i++ {
		if m.d[i]*m.norm[i] > pitchHigher || m.d[i] > m.d[i-1] || m.d[i] >= m.d[i+1] {
			continue
		}
		if lag, off = m.between(i); off <= limit {
			ok = true
			break
		}
	}
	if !ok {
		return 0, 0, false
	}
	if off < pitchDoubtful {
		return lag, off, true
	}
	for k := 2.0; k <= 3 && k*lag < float64(end-2); k++ {
		i := int(math.Round(k * lag))
		for d := m.d[i]; m.d[i-1] < d; d = m.d[i] {
			i--
		}
		for d := m.d[i]; i < end && m.d[i+1] < d; d = m.d[i] {
			i++
		}
		if l, o := m.between(i); math.Abs(l-k*lag) < 0.03*l+1 && o < pitchBetter*off {
			return l, o, true
		}
	}
	return lag, off, true
}

// between is the least d′ within a sample of a lag, and where.
func (m *Pitch) between(i int) (lag, off float64) {
	at, least := 0, m.d[i]
	var v [2*pitchPhases + 1]float64
	for s := range v {
		v[s] = m.interpolated(i, s-pitchPhases)
		if v[s] < least {
			at, least = s-pitchPhases, v[s]
		}
	}
	shift := 0.0
	if s := at + pitchPhases; s > 0 && s < len(v)-1 {
		if bend := v[s-1] - 2*v[s] + v[s+1]; bend > 0 {
			shift = 0.5 * (v[s-1] - v[s+1]) / bend
		}
	}
	return float64(i) + (float64(at)+shift)/pitchPhases, max(0, least) * m.norm[i]
}

// interpolated is d at lag i + s/pitchPhases, |s| ≤ pitchPhases.
func (m *Pitch) interpolated(i, s int) float64 {
	if s < 0 {
		i--
		s += pitchPhases
	}
	if s == pitchPhases {
		i++
		s = 0
	}
	sum := 0.0
	for k, t := range pitchKernel[s] {
		j := i + k - pitchTaps/2 + 1
		if j < 0 {
			j = -j
		}
		sum += t * m.d[min(j, m.top)]
	}
	return sum
}

const (
	pitchTaps   = 8 // of the kernel: enough for sound that ends at a third of the rate
	pitchPhases = 8 // places between samples
)

// pitchKernel interpolates: a sinc under a window of Hann's shape.
var pitchKernel = func() (k [pitchPhases][pitchTaps]float64) {
	for s := range k {
		for i := range k[s] {
			t := float64(i-pitchTaps/2+1) - float64(s)/pitchPhases
			k[s][i] = 1
			if t != 0 {
				k[s][i] = math.Sin(math.Pi*t) / (math.Pi * t) * (0.5 + 0.5*math.Cos(math.Pi*t/(pitchTaps/2)))
			}
		}
		sum := 0.0
		for _, v := range k[s] {
			sum += v
		}
		for i := range k[s] {
			k[s][i] /= sum
		}
	}
	return
}()
