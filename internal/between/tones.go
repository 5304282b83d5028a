package between

import (
	"math"
	"slices"
)

// Limits of removeTones. Common practice.
const (
	toneOverFloor  = 12.0  // power of a bin re the floor around it that makes it a tone
	restAfterTones = 0.003 // −25 dB: with less left, a window holds nothing but tones
)

// removeTones empties the bins of steady tones from both spectra of a window
// that has no hit in it: hum and its harmonics, whistles, held notes. They are
// coherent between any two lines of a building and carry no arrival. The floor
// is the lower third of 64 neighbouring bins. It reports whether sound is left.
func removeTones(a, b []complex64) bool {
	before := [2]float64{}
	after := [2]float64{}
	tone := make([]bool, len(a))
	const span = 64
	power := make([]float64, 0, span)
	for i, s := range [2][]complex64{a, b} {
		for at := 0; at < len(s); at += span {
			part := s[at:min(len(s), at+span)]
			power = power[:0]
			for _, x := range part {
				e := energy(x)
				power = append(power, e)
				before[i] += e
			}
			slices.Sort(power)
			floor := power[len(power)/3]
			for k, x := range part {
				// Twelve times the lower third of an exponential distribution is
				// passed by noise once in 130 bins.
				if energy(x) > toneOverFloor*floor {
					tone[at+k] = true
				}
			}
		}
	}
	for k := range a {
		if tone[k] || k > 0 && tone[k-1] || k+1 < len(tone) && tone[k+1] {
			a[k], b[k] = 0, 0
		}
		after[0] += energy(a[k])
		after[1] += energy(b[k])
	}
	return after[0] > restAfterTones*before[0] && after[1] > restAfterTones*before[1] && !math.IsNaN(after[0]+after[1])
}

// energy is |x|².
func energy(x complex64) float64 {
	re, im := float64(real(x)), float64(imag(x))
	return re*re + im*im
}
