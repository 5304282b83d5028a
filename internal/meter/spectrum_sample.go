package meter

import "math"

// softFrames is how a long recording's spectrum is had from part of its windows.
// Those over the mean power so far make most of the spectrum and are all looked
// at; of the others every fourth pair stands for its like. The first stretch is
// looked at whole.
type softFrames struct {
	from   int64     // frame from which windows may be left out
	pairs  int       // so far
	energy float64   // of all of them, by every eighth sample
	soft   int       // pairs under the mean, from there on
	taken  int       // of these, looked at
	power  []float64 // of those
}

const (
	softFromS = 20 // s: a spectrum of less is whole
	softEvery = 4  // pairs of which one is looked at
	roughLook = 8  // samples of which one is looked at for the power
)

// choose says where the powers of the pair of windows in buf, which begins at
// frame start, are added: to loud, to its own, or nowhere (nil).
func (s *softFrames) choose(buf []float32, start int64, loud []float64) []float64 {
	energy := roughPower(buf)
	if !(energy <= math.MaxFloat32) {
		return loud // samples that are no numbers
	}
	mean := s.energy / float64(max(s.pairs, 1))
	s.energy += energy
	s.pairs++
	if start < s.from || energy >= mean {
		return loud
	}
	s.soft++
	if s.soft%softEvery != 1 {
		return nil
	}
	s.taken++
	return s.power
}

// roughPower is Σx² of every eighth sample, in four sums that do not wait for each
// other: for questions about levels to some decibels.
func roughPower(buf []float32) float64 {
	var a, b, c, d float64
	for ; len(buf) >= 4*roughLook; buf = buf[4*roughLook:] {
		v := (*[4 * roughLook]float32)(buf)
		p, q, r, s := float64(v[0]), float64(v[roughLook]), float64(v[2*roughLook]), float64(v[3*roughLook])
		a += p * p
		b += q * q
		c += r * r
		d += s * s
	}
	for i := 0; i < len(buf); i += roughLook {
		a += float64(buf[i]) * float64(buf[i])
	}
	return (a + b) + (c + d)
}

// addTo adds the powers of the soft windows, those not looked at as well, to power.
func (s *softFrames) addTo(power []float64) {
	if s.taken == 0 {
		return
	}
	for k, p := range s.power {
		power[k] += p * float64(s.soft) / float64(s.taken)
	}
}
