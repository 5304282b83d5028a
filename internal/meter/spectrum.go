package meter

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"tidemark/internal/kernel"
	"tidemark/internal/unit"
)

// Band is one third-octave band.
type Band struct {
	NominalHz float64               // 25, 31.5, 40 …
	CenterHz  float64               // exact base-10 mid-band frequency, IEC 61260-1
	Level     unit.Maybe[unit.DBFS] // AES17
}

// SpectrumReading is the average third-octave spectrum of one channel, from
// 25 Hz up to the last whole band below half the sample rate, at most 20 kHz.
type SpectrumReading struct {
	Bands []Band
}

// nominals are the nominal mid-band frequencies from 25 Hz to 20 kHz, IEC
// 61260-1:2014 x = −16 … 13.
var nominals = [...]float64{
	25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000,
	1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000, 10000, 12500, 16000, 20000,
}

const (
	lowestBand = -16
	firstHigh  = -3 // 500 Hz: bands from here on come from the full rate
	lowN       = 4096
)

// bandHz is the exact mid-band frequency 1000·10^(x/10) Hz.
func bandHz(x int) float64 { return 1000 * math.Pow(10, float64(x)/10) }

// Spectrum measures the average third-octave spectrum.
//
// Power is summed over the bins of Fourier transforms that lie in a band (in part
// at its edges): at the full rate in windows of some 85 ms for the bands from
// 500 Hz up, at about 3 kHz in windows of 1.4 s for those below. A window is flat
// but for its ends, which overlap with the next by a quarter so that the squares
// of both add to one: every sample counts the same, and the bands add up to the
// power of the sound. Held to the class 1 limits of IEC 61260-1:2014, Table 1.
//
// Sampled, it looks at part of the windows past the first 20 s only: at those over
// the mean power so far, and at every fourth pair of the others, which stands for
// its like. On music of some minutes the bands differ by some hundredths to tenths
// of a dB from those of the whole: enough for a line's colour, not for comparing prints.
//
// Silence and emptiness leave the levels undefined.
type Spectrum struct {
	high, low *bandFrames
	sound     *lowSound
	rate      int
	top       int // x of the last band
}

// NewSpectrum makes a meter for a rate, and panics on one under 2 kHz.
func NewSpectrum(rateHz int) *Spectrum {
	return newSpectrum(rateHz, &tape{}, nil, &workSpace{})
}

// newSpectrum makes a meter that looks at a tape and is handed the low part of the
// sound, or makes its own.
func newSpectrum(rateHz int, t *tape, low *lowSound, work *workSpace) *Spectrum {
	if rateHz < 2000 {
		panic(fmt.Sprintf("meter: spectrum of rate %d Hz", rateHz))
	}
	if low == nil {
		low = newLowSound(rateHz)
	}
	m := &Spectrum{sound: low, rate: rateHz, top: lowestBand - 1}
	for x := lowestBand; x < lowestBand+len(nominals) && bandHz(x)*math.Pow(10, 0.05) <= float64(rateHz)/2; x++ {
		m.top = x
	}
	n := 512
	for 12*n < rateHz {
		n *= 2
	}
	m.high, m.low = newBandFrames(n, t, work), newBandFrames(lowN, &tape{}, work)
	return m
}

// Measure takes the next samples.
func (m *Spectrum) Measure(x []float32) {
	m.high.measure(x)
	for more := true; more; {
		var low []float32
		low, x, more = m.sound.next(x)
		m.measureLow(low)
	}
}

// sample makes the meter look at part of the windows only.
func (m *Spectrum) sample() {
	m.high.soft = &softFrames{from: softFromS * int64(m.rate), power: make([]float64, len(m.high.power))}
}

// catchUp takes samples that somebody else has put on the tape, measureLow those of
// the low part.
func (m *Spectrum) catchUp(frames int) {
	m.high.frames += int64(frames)
	m.high.catchUp()
}
func (m *Spectrum) measureLow(low []float32) { m.low.measure(low) }

// Reading tells the spectrum so far.
func (m *Spectrum) Reading() SpectrumReading {
	frames := m.high.frames
	high, low := m.high.ended(nil), m.low.ended(m.sound.ended())
	dec := m.sound.dec

	var r SpectrumReading
	highBins, lowBins := high.bins(), low.bins()
	lowHz := float64(m.rate) / float64(dec.factor())
	for x := lowestBand; x <= m.top; x++ {
		b := Band{NominalHz: nominals[x-lowestBand], CenterHz: bandHz(x)}
		if frames > 0 {
			var power float64
			if x >= firstHigh {
				power = high.band(highBins, b.CenterHz, float64(m.rate), nil)
			} else {
				power = low.band(lowBins, b.CenterHz, lowHz, dec.gain) * float64(dec.factor())
			}
			b.Level = unit.MeanSquare(power / float64(frames))
		}
		r.Bands = append(r.Bands, b)
	}
	return r
}

// workSpace is room for one transform at a time, whoever makes it: the meters of a
// Set take turns, so that the room stays in the processor's cache.
type workSpace struct {
	room []kernel.Lanes
	most int // length of the longest transform it was made for
}

// of is room for transforms of a plan.
func (w *workSpace) of(p *kernel.PowerPlan) []kernel.Lanes {
	if p.Len() > w.most {
		w.room, w.most = p.NewWork(), p.Len()
	}
	return w.room
}

// bandFrames adds up the power spectra of overlapping windows, two at a time.
type bandFrames struct {
	shape  *bandShape
	work   []kernel.Lanes // shared by the meters of one Set, for the time of a call
	win    tapeView       // two windows, of which the second begins three quarters later
	frames int64          // samples taken in
	power  []float64      // Σ|X[k]|², in the plan's order
	soft   *softFrames    // nil: every window is looked at
}

// bandShape is what windows of one length share.
type bandShape struct {
	plan   *kernel.PowerPlan
	window []float32
}

var bandShapes sync.Map // of *bandShape by length

// shapeOf makes the window: flat, with ends sin(π/2·sin²) over a quarter, whose
// squares add to one with those of the next window.
func shapeOf(n int) *bandShape {
	if s, ok := bandShapes.Load(n); ok {
		return s.(*bandShape)
	}
	s := &bandShape{plan: kernel.NewPowerPlan(n), window: make([]float32, n)}
	lap := n / 4
	for i := range s.window {
		s.window[i] = 1
		if e := min(i, n-1-i); e < lap {
			q := math.Sin(math.Pi / 2 * (float64(e) + 0.5) / float64(lap))
			s.window[i] = float32(math.Sin(math.Pi / 2 * q * q))
		}
	}
	kept, _ := bandShapes.LoadOrStore(n, s)
	return kept.(*bandShape)
}

func newBandFrames(n int, t *tape, work *workSpace) *bandFrames {
	f := &bandFrames{shape: shapeOf(n), power: make([]float64, n)}
	// The first window begins a quarter early, so that the first sample counts in full.
	f.win = t.view(n/4, 2*(n-n/4), 0)
	f.work = work.of(f.shape.plan)
	return f
}

func (f *bandFrames) measure(x []float32) {
	f.frames += int64(len(x))
	for len(x) > 0 {
		x = f.win.tape.put(x)
		f.catchUp()
	}
}

// catchUp looks at what has come in on the tape.
func (f *bandFrames) catchUp() {
	for f.win.next() {
		sum := f.power
		if f.soft != nil {
			sum = f.soft.choose(f.win.buf, f.win.start, sum)
		}
		if sum != nil {
			f.add(sum, f.win.buf)
		}
		f.win.slide()
	}
}

// add adds the power spectra of the first and the last window in buf to sum. One
// with samples that are no numbers is left out.
func (f *bandFrames) add(sum []float64, buf []float32) {
	n := len(f.shape.window)
	a, b := buf[:n], buf[len(buf)-n:]
	if !f.shape.plan.Add(sum, a, b, f.shape.window, f.work) {
		f.shape.plan.Add(sum, a, nil, f.shape.window, f.work)
		f.shape.plan.Add(sum, b, nil, f.shape.window, f.work)
	}
}

// bins are the powers by bin.
func (f *bandFrames) bins() []float64 {
	b := make([]float64, len(f.shape.window)/2+1)
	f.shape.plan.Fold(b, f.power)
	return b
}

// ended is a copy that has heard the rest as well, and in which the last samples
// count in full.
func (f *bandFrames) ended(rest []float32) *bandFrames {
	c := *f
	c.power, c.soft = slices.Clone(f.power), nil
	if f.soft != nil {
		f.soft.addTo(c.power)
	}
	held := f.win.ended()
	all := slices.Concat(held.buf, rest, make([]float32, 2*f.win.length)) // until the last sample has left the laps
	c.win.tape = &tape{store: all, n: len(all), start: f.win.start}
	c.catchUp()
	return &c
}

// band is Σx² of the band around center at the sample rate, from the powers of the
// bins; gain, if given, is the gain of a filter before it at a frequency in parts
// of the rate.
func (f *bandFrames) band(bins []float64, center, rate float64, gain func(float64) float64) float64 {
	n := float64(len(f.shape.window))
	half := math.Pow(10, 0.05)
	lo, hi := center/half*n/rate, center*half*n/rate // in bins
	var sum float64
	for k := max(int(lo-0.5), 1); k < len(bins) && float64(k)-0.5 < hi; k++ {
		share := min(float64(k)+0.5, hi) - max(float64(k)-0.5, lo)
		if share <= 0 {
			continue
		}
		p := bins[k] * share
		if gain != nil {
			g := gain(float64(k) / n)
			p /= g * g
		}
		sum += p
	}
	return 2 * sum / n // by Parseval: Σ|X|² = N·Σ(w·x)², and both halves of the spectrum
}
