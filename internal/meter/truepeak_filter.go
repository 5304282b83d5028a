package meter

import (
	"math"

	"tidemark/internal/kernel"
)

// Interpolator chooses how true peak sees between the samples.
type Interpolator uint8

const (
	// WindowedSinc is a Hann-windowed sinc of 49 taps: 4 times the rate below
	// 96 kHz, twice below 192 kHz, none above. Its first phase is the sample
	// itself. BS.1770-5 Annex 2 leaves the filter open; this one lies closer to
	// the truth than the printed table and is in wide use.
	WindowedSinc Interpolator = iota
	// Annex2Table is the filter printed in BS.1770-5 Annex 2: order 48, four
	// phases of 12 taps. It is used with all four phases at every rate below
	// 192 kHz, and its pass-band ripple of some tenths of a dB is part of it.
	Annex2Table
)

const (
	peakMostTaps = 24 // in a phase, of any interpolator
	sincTaps     = 49
)

// peakPhase computes the values that lie at one fraction of the way from frame
// to frame, Σ taps[j]·x[n−len+1+j], in order of time.
type peakPhase struct {
	taps     [peakMostTaps]float32 // the first peakFilter.length are used
	four     [4]float32            // the four taps in the middle
	pair     float32               // Σ|taps| of the two in the middle
	besides2 float32               // Σ|taps| of all others
	besides4 float32               // Σ|taps| of all but the four
}

// peakFilter is an interpolator for one rate.
type peakFilter struct {
	length int // taps in a phase: 12 or 24; 0: no interpolation
	delay  int // frames from the place of a value back from the newest sample that it needs
	phases []peakPhase
	// all are the taps of all phases in a row where the processor computes every
	// value of a group faster than it finds out which of them matter; else nil.
	all []float32
	// harmless is 1 over the largest Σ|taps| of a phase (at least 1): no value
	// exceeds max|x|/harmless.
	harmless float32
}

// peakSlack widens every bound by far more than the rounding of float32 sums
// can matter (24 products of relative error 6e−8).
const peakSlack = 1.0001

func newPeakFilter(rateHz int, kind Interpolator) peakFilter {
	if rateHz >= 192000 {
		return peakFilter{harmless: 1}
	}
	var columns [][]float64 // [phase][k]: the factor of x[n−k]
	f := peakFilter{}
	if kind == Annex2Table {
		f.length, f.delay = 12, 6
		for _, row := range annex2 {
			column := make([]float64, 12)
			for k, n := range row {
				column[k] = float64(n) / 16384
			}
			columns = append(columns, column)
		}
	} else {
		times := 4
		if rateHz >= 96000 {
			times = 2
		}
		f.length, f.delay = (sincTaps-1)/times, (sincTaps-1)/2/times
		for phase := 1; phase < times; phase++ { // phase 0 is the sample
			column := make([]float64, f.length)
			for k := range column {
				column[k] = windowedSinc(k*times+phase, times)
			}
			columns = append(columns, column)
		}
	}
	gain := float32(1)
	for _, column := range columns {
		p := newPeakPhase(column)
		gain = max(gain, p.pair+p.besides2)
		f.phases = append(f.phases, p)
	}
	f.harmless = 1 / (gain * peakSlack)
	if kernel.Path() != "portable" {
		for i := range f.phases {
			f.all = append(f.all, f.phases[i].taps[:f.length]...)
		}
	}
	return f
}

func newPeakPhase(column []float64) peakPhase {
	var p peakPhase
	var pair, four, all float64
	for k, v := range column {
		j := len(column) - 1 - k
		p.taps[j] = float32(v)
		all += math.Abs(v)
		switch j - len(column)/2 {
		case -1, 0:
			pair += math.Abs(v)
			four += math.Abs(v)
		case -2, 1:
			four += math.Abs(v)
		}
	}
	copy(p.four[:], p.taps[len(column)/2-2:])
	p.pair, p.besides2, p.besides4 = float32(pair), float32(all-pair), float32(all-four)
	return p
}

// windowedSinc is tap j of the sinc that interpolates so many times.
func windowedSinc(j, times int) float64 {
	const middle = (sincTaps - 1) / 2
	w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(j)/(sincTaps-1))
	if j == middle {
		return w
	}
	a := math.Pi * float64(j-middle) / float64(times)
	return w * math.Sin(a) / a
}

// annex2 are the taps of BS.1770-5 Annex 2 times 16384, which makes them whole
// numbers: phase by phase, the newest sample first.
var annex2 = func() (phases [4][12]int) {
	phases[0] = [12]int{28, 180, -322, 544, -974, 2250, 15928, -1676, 780, -436, 244, -136}
	phases[1] = [12]int{-478, 480, -848, 1460, -2728, 7620, 12776, -3282, 1664, -954, 542, -310}
	for k := range 12 {
		phases[2][k] = phases[1][11-k]
		phases[3][k] = phases[0][11-k]
	}
	return
}()

// value is one interpolated value from the samples that it needs, w[0] the
// oldest. The sums are always made in the same order.
func (p *peakPhase) value(w []float32) float32 {
	if len(w) == 12 {
		c := (*[12]float32)(p.taps[:12])
		x := (*[12]float32)(w)
		a := c[0]*x[0] + c[4]*x[4] + c[8]*x[8]
		b := c[1]*x[1] + c[5]*x[5] + c[9]*x[9]
		d := c[2]*x[2] + c[6]*x[6] + c[10]*x[10]
		e := c[3]*x[3] + c[7]*x[7] + c[11]*x[11]
		return (a + b) + (d + e)
	}
	x := (*[peakMostTaps]float32)(w)
	var a, b, d, e float32
	for i := 0; i < peakMostTaps; i += 4 {
		a += p.taps[i] * x[i]
		b += p.taps[i+1] * x[i+1]
		d += p.taps[i+2] * x[i+2]
		e += p.taps[i+3] * x[i+3]
	}
	return (a + b) + (d + e)
}
