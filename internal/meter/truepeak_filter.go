package meter

import "math"

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
	peakMostTaps   = 24 // in a phase, of any interpolator
	peakCentreTaps = 4
	sincTaps       = 49
)

// peakPhase computes the values that lie at one fraction of the way from frame
// to frame, Σ taps[j]·x[n−len+1+j], in order of time.
type peakPhase struct {
	taps   [peakMostTaps]float64 // the first peakFilter.length are used
	centre [peakCentreTaps]float64
	rest   float64 // Σ|taps| without the centre ones
}

// peakFilter is an interpolator for one rate.
type peakFilter struct {
	length int // taps in a phase: 12 or 24; 0: no interpolation
	delay  int // frames from the place of a value back from the newest sample that it needs
	phases []peakPhase
	gain   float64 // largest Σ|taps| of a phase, at least 1: no value exceeds gain·max|x|
}

// peakSlack widens the bounds by far more than float64 rounding can matter.
const peakSlack = 1.00001

func newPeakFilter(rateHz int, kind Interpolator) peakFilter {
	if rateHz >= 192000 {
		return peakFilter{gain: 1}
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
	f.gain = 1
	for _, column := range columns {
		var p peakPhase
		var whole float64
		for k, v := range column {
			j := f.length - 1 - k
			p.taps[j] = v
			whole += math.Abs(v)
			if c := j - f.centreAt(); c >= 0 && c < peakCentreTaps {
				p.centre[c] = v
			} else {
				p.rest += math.Abs(v)
			}
		}
		f.gain = max(f.gain, whole)
		f.phases = append(f.phases, p)
	}
	return f
}

// centreAt is the index of the first centre tap: the value lies between the
// two middle samples, the centre taps are those and their neighbours.
func (f *peakFilter) centreAt() int { return (f.length - peakCentreTaps) / 2 }

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

// peakFIR12 and peakFIR24 are one interpolated value. Four sums side by side,
// always met in the same order.
func peakFIR12(c *[peakMostTaps]float64, w []float64) float64 {
	w = w[:12]
	a := c[0]*w[0] + c[4]*w[4] + c[8]*w[8]
	b := c[1]*w[1] + c[5]*w[5] + c[9]*w[9]
	d := c[2]*w[2] + c[6]*w[6] + c[10]*w[10]
	e := c[3]*w[3] + c[7]*w[7] + c[11]*w[11]
	return (a + b) + (d + e)
}

func peakFIR24(c *[peakMostTaps]float64, w []float64) float64 {
	w = w[:24]
	var a, b, d, e float64
	for i := 0; i < 24; i += 4 {
		a += c[i] * w[i]
		b += c[i+1] * w[i+1]
		d += c[i+2] * w[i+2]
		e += c[i+3] * w[i+3]
	}
	return (a + b) + (d + e)
}
