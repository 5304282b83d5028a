package meter

import (
	"math"

	"tidemark/internal/kernel"
)

// pitchInput brings a sound down by a whole number, ending it at a third of the
// rate that remains.
type pitchInput struct {
	factor int
	taps   []float32
	buf    []float32 // from the first sample that the next output needs
	n      int
}

// pitchInputTaps for each sample that remains: a window of Blackman's shape makes
// a transition 5.5 over the length wide, here 0.23 of the lower rate, and 74 dB.
const pitchInputTaps = 24

// newPitchInput brings rateHz down to about toHz, or leaves it where it is less.
func newPitchInput(rateHz, toHz int) *pitchInput {
	m := &pitchInput{factor: max(1, int(math.Round(float64(rateHz)/float64(toHz))))}
	n := pitchInputTaps*m.factor + 1
	taps := make([]float64, n)
	const edge = 0.385 // of the lower rate: half down; all is down from a half on
	sum := 0.0
	for i := range taps {
		t := (float64(i) - float64(n-1)/2) * edge * 2 / float64(m.factor)
		p := 2 * math.Pi * (float64(i) + 1) / float64(n+1)
		taps[i] = 0.42 - 0.5*math.Cos(p) + 0.08*math.Cos(2*p)
		if t != 0 {
			taps[i] *= math.Sin(math.Pi*t) / (math.Pi * t)
		}
		sum += taps[i]
	}
	for _, v := range taps {
		m.taps = append(m.taps, float32(v/sum))
	}
	// Zeros before the sound: output n lies at the time of input n·factor.
	m.buf = make([]float32, n+512*m.factor)
	m.n = n / 2
	return m
}

// push filters the samples of x that fit, writes what comes out to out[:made],
// and returns the rest of x. It makes no more than len(out) samples.
func (m *pitchInput) push(x, out []float32) (rest []float32, made int) {
	for {
		k := copy(m.buf[m.n:], x)
		m.n += k
		x = x[k:]
		outs := min(max(m.n-len(m.taps)+m.factor, 0)/m.factor, len(out)-made)
		kernel.Decimate(out[made:made+outs], m.buf[:m.n], m.taps, m.factor)
		made += outs
		m.n = copy(m.buf, m.buf[outs*m.factor:m.n])
		if len(x) == 0 || made == len(out) {
			return x, made
		}
	}
}
