package signal

import "math"

// Noise is a source of repeatable random numbers and of the noises made of
// them. It is a splitmix64 generator: any seed is a good one.
type Noise struct {
	state uint64
	pink  [pinkStages]float64
}

// NewNoise starts a source; equal seeds give equal noise.
func NewNoise(seed uint64) *Noise { return &Noise{state: seed} }

// Uint64 is the next 64 random bits.
func (n *Noise) Uint64() uint64 {
	n.state += 0x9e3779b97f4a7c15
	z := n.state
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// Uniform is the next number in −1 … +1, evenly spread (RMS 1/√3).
func (n *Noise) Uniform() float64 {
	return float64(int64(n.Uint64()))*0x1p-63 + 0x1p-64
}

// Gauss is the next number of a normal distribution with mean 0 and RMS 1
// (Box and Muller's method).
func (n *Noise) Gauss() float64 {
	u := float64(n.Uint64()>>11+1) * 0x1p-53 // (0, 1]: its logarithm exists
	v := float64(n.Uint64()>>11) * 0x1p-53
	return math.Sqrt(-2*math.Log(u)) * math.Cos(2*math.Pi*v)
}

// FillWhite writes normally distributed white noise of the given RMS.
func (n *Noise) FillWhite(dst []float32, rms float64) {
	for i := range dst {
		dst[i] = float32(rms * n.Gauss())
	}
}

// pinkStages one-pole low-passes an octave apart, from half the sample rate
// down, make the pink slope over ten octaves.
const pinkStages = 12

// FillPink writes pink noise (−3 dB an octave within about half a dB, over ten
// octaves up to a quarter of the sample rate) of the given RMS.
//
// It is the sum of independent low-passed noises of equal power whose corner
// frequencies lie an octave apart: the many Lorentz curves add up to 1/f.
func (n *Noise) FillPink(dst []float32, rms float64) {
	scale := rms * math.Sqrt(3.0/pinkStages)
	for i := range dst {
		var sum float64
		for k := range n.pink {
			// One pole at radius r keeps the variance r²·v + (1−r²)·u: equal power in each stage.
			n.pink[k] = pinkPole[k]*n.pink[k] + pinkGain[k]*n.Uniform()
			sum += n.pink[k]
		}
		dst[i] = float32(scale * sum)
	}
}

var pinkPole, pinkGain = func() (pole, gain [pinkStages]float64) {
	for k := range pole {
		pole[k] = math.Exp(-math.Pi / float64(int(1)<<k))
		gain[k] = math.Sqrt(1 - pole[k]*pole[k])
	}
	return
}()

// White is normally distributed white noise of the given RMS.
func White(seed uint64, rms float64, frames int) []float32 {
	x := make([]float32, frames)
	NewNoise(seed).FillWhite(x, rms)
	return x
}

// Pink is pink noise of the given RMS, see FillPink. Its lowest octaves need
// some thousand frames to come up; they are run in before the first sample.
func Pink(seed uint64, rms float64, frames int) []float32 {
	n := NewNoise(seed)
	n.FillPink(make([]float32, 1<<pinkStages), rms)
	x := make([]float32, frames)
	n.FillPink(x, rms)
	return x
}
