package band

import "math"

// reedTable is one period of a free reed: the puffs of air that a tongue lets
// through, a spectrum that falls slowly. 2048 points and one for the edge.
type reedTable [2049]float32

// newReedTable sums the harmonics that stay below a third of the rate.
func newReedTable(hz, fs float64) *reedTable {
	t := &reedTable{}
	n := int(math.Min(0.33*fs, 9500) / hz)
	for k := 1; k <= max(1, n); k++ {
		f := float64(k) * hz
		// Falls by 5 dB an octave, with the box's two soft peaks.
		a := math.Pow(float64(k), -0.85) * (1 + 0.9*hump(f, 950, 500) + 0.7*hump(f, 2900, 1200)) * math.Exp(-f/5200)
		for i := range t {
			t[i] += float32(a * math.Sin(2*math.Pi*float64(k*i%2048)/2048+0.6*float64(k%5)))
		}
	}
	return t
}

func hump(f, mid, width float64) float64 {
	u := (f - mid) / width
	return math.Exp(-u * u)
}

// reeds plays one key: two tongues, tuned apart by beatHz. air is the bellows'
// pressure from 0 to 1 over the note.
func reeds(d dice, fs, midi, holdS, beatHz float64, air func(s float64) float64) []float32 {
	const release = 0.05
	x := frames(holdS+4*release, fs)
	hz := midiHz(midi) * d.near(1, 0.0006)
	table := newReedTable(hz, fs)
	for k := range 2 {
		f := hz + (float64(k)-0.5)*beatHz
		phase := d.Float64() * 2048
		// A reed takes some rounds to speak; a low one longer.
		speak := decay(0.012+3/hz, fs)
		up, g, gs := 1.0, 1.0, decay(release/3, fs)
		hold := int(holdS * fs)
		level, press := 0.0, 0.0
		for i := range x {
			if i&63 == 0 {
				press = air(float64(i) / fs)
			}
			// Pressure moves smoothly, and pulls a strong reed flat by a few cents.
			level += 0.002 * (press - level)
			up *= speak
			if i > hold {
				g *= gs
			}
			j := int(phase)
			u := float32(phase - float64(j))
			s := table[j] + u*(table[j+1]-table[j])
			x[i] += s * float32(0.055*level*(1-up)*g)
			phase += f * (1 - 0.0012*level) * 2048 / fs
			if phase >= 2048 {
				phase -= 2048
			}
		}
	}
	// The button, and air past it.
	burst(x, fs, d.hiss(), bandpass(1700, 1.2, fs), 0.0005, 0.006, 0.04)
	fadeOut(x, 0.01, fs)
	return x
}
