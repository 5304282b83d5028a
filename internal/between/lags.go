package between

import (
	"fmt"
	"math"

	"tidemark/internal/fourier"
)

// Tuning of what pairs share. All common practice, held to the figures that tests print.
const (
	// pieceS is how much of a hit is transformed, at least; the length follows
	// from the next power of two (0.14 s at 48 kHz and 10 ms of lag).
	pieceS = 0.12
	// lagMarginS is how far beyond the largest lag correlations are kept: it is
	// the half-width of the window under which coherence is smoothed.
	lagMarginS = 0.020
	// gridHz is the least rate of the grid of lags: the highest octave, to 22.4
	// kHz, lies under half of it. A recording of a higher rate has its spectra cut
	// there, since nothing above speaks about a delay; between the steps of the
	// grid the delay is found exactly all the same.
	gridHz = 44800
	// fadeInS and fadeOutShare shape the ends of a window.
	fadeInS      = 0.012
	fadeOutShare = 0.25
	// whitenFloor is the power re the loudest bin under which nothing is raised: −120 dB.
	whitenFloor = 1e-12
)

// Lags is what all pairs of one sample rate and one largest lag share:
// transforms, windows and work space. Hits and Pairs that are made by it belong
// to it, and only one of them may be at work at a time.
type Lags struct {
	rate          float64 // of the recordings
	grid          float64 // rate of the grid of lags: rate/step
	step          int
	least         int // frames under which a stretch tells nothing
	maxLag, reach int // steps; reach = maxLag + margin
	piece         int // frames transformed at once

	input *fourier.Real32 // of pieces
	long  *fourier.Real32 // the same length of time on the grid
	short *fourier.Real32 // of correlations, at least 2·reach
	bands [octaves][2]int // bins of the long transform: first and one past the last
	low   int             // bins under 20 Hz
	one   []float64       // 1/n for as many bins as are averaged
	fade  []float32       // the window of a whole piece
	flank []float32       // Hann flank of lag windows, from 1 to 0 over the margin
	tilt  []float64       // weight of each bin of the short transform, 0 for those that may not speak

	x, y           []float32 // work space: of pieces, of correlations
	cross, phase   []complex64
	full           []complex64
	power, running []float64
	hann           []float32 // the window of what is steady
	steady         [2]*Hit
	work           *comparison
}

// NewLags prepares for a sample rate in Hz and the largest delay to look for, in
// frames, either way. It panics on a rate or lag that is not positive.
func NewLags(rateHz, maxLagFrames int) *Lags {
	if rateHz <= 0 || maxLagFrames <= 0 {
		panic(fmt.Sprintf("between: NewLags wants a positive rate and lag, got %d Hz and %d frames", rateHz, maxLagFrames))
	}
	l := &Lags{rate: float64(rateHz), step: 1, least: max(2*maxLagFrames, 64)}
	for l.rate/float64(2*l.step) >= gridHz {
		l.step *= 2
	}
	l.grid = l.rate / float64(l.step)
	l.maxLag = (maxLagFrames + l.step - 1) / l.step
	l.reach = l.maxLag + max(int(lagMarginS*l.grid), 16)
	m := 64
	for m < 2*l.reach {
		m *= 2
	}
	n := m
	for float64(n-l.reach) < pieceS*l.grid {
		n *= 2
	}
	l.piece = (n - l.reach) * l.step
	l.input, l.long, l.short = fourier.NewReal32(n*l.step), fourier.NewReal32(n), fourier.NewReal32(m)
	for i := range l.bands {
		lo, hi := octaveEdges(i)
		at := func(hz float64) int { return min(n/2+1, int(math.Ceil(hz*float64(n)/l.grid))) }
		l.bands[i] = [2]int{at(lo), at(hi)}
	}
	l.low = int(20*float64(n)/l.grid) + 1
	l.one = make([]float64, max(10, n/12)+2)
	for i := range l.one {
		l.one[i] = 1 / float64(i)
	}
	l.fade = tukey(l.piece, int(fadeInS*l.rate))
	l.flank = make([]float32, l.reach-l.maxLag)
	for i := range l.flank {
		l.flank[i] = float32(0.5 + 0.5*math.Cos(math.Pi*float64(i)/float64(len(l.flank))))
	}
	l.tilt = make([]float64, m/2+1)
	for k := range l.tilt {
		if f := float64(k) * l.grid / float64(m); f >= lowHz && f <= min(highHz, 0.45*l.grid) {
			l.tilt[k] = math.Pow(f, -octaveTilt)
		}
	}
	l.x, l.y = make([]float32, n*l.step), make([]float32, max(n, m))
	l.full = make([]complex64, n*l.step/2+1)
	l.cross, l.phase = make([]complex64, n/2+1), make([]complex64, m/2+1)
	l.power, l.running = make([]float64, n/2+1), make([]float64, n/2+2)
	return l
}

// tukey is a window that rises over the first in frames and falls over its last quarter.
func tukey(n, in int) []float32 {
	w := make([]float32, n)
	out := int(fadeOutShare * float64(n))
	for i := range w {
		v := 1.0
		if i < in {
			v = 0.5 - 0.5*math.Cos(math.Pi*(float64(i)+0.5)/float64(in))
		}
		if j := n - 1 - i; j < out {
			v = 0.5 - 0.5*math.Cos(math.Pi*(float64(j)+0.5)/float64(out))
		}
		w[i] = float32(v)
	}
	return w
}
