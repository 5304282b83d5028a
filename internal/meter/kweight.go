package meter

import "math"

// K-weighting, Rec. ITU-R BS.1770-5 Annex 1: a high shelf for the head, then a
// high pass (RLB). The Recommendation prints both filters for 48 kHz only
// (Tables 1 and 2). These analogue parameters reproduce the printed values and
// give the same response at any other rate through the bilinear transform.
const (
	shelfHz     = 1681.974450955533
	shelfQ      = 0.7071752369554196
	shelfGainDB = 3.999843853973347
	shelfSlope  = 0.4996667741545416 // exponent of the gain in the middle of the shelf
	highPassHz  = 38.13547087602444
	highPassQ   = 0.5003270373238773
)

// kCoefficients are the two biquads for one rate:
//
//	v[n] = b0·x[n] + b1·x[n−1] + b2·x[n−2] − a1·v[n−1] − a2·v[n−2]
//	y[n] = v[n] − 2·v[n−1] + v[n−2] − c1·y[n−1] − c2·y[n−2]
//
// The numerator of the high pass is 1, −2, 1 at every rate, as printed.
type kCoefficients struct {
	b0, b1, b2, a1, a2 float64
	c1, c2             float64
}

// newKCoefficients derives the filters for a rate.
func newKCoefficients(rateHz int) kCoefficients {
	var c kCoefficients
	vh := math.Pow(10, shelfGainDB/20)
	vb := math.Pow(vh, shelfSlope)
	k := math.Tan(math.Pi * shelfHz / float64(rateHz))
	a0 := 1 + k/shelfQ + k*k
	c.b0 = (vh + vb*k/shelfQ + k*k) / a0
	c.b1 = 2 * (k*k - vh) / a0
	c.b2 = (vh - vb*k/shelfQ + k*k) / a0
	c.a1 = 2 * (k*k - 1) / a0
	c.a2 = (1 - k/shelfQ + k*k) / a0

	k = math.Tan(math.Pi * highPassHz / float64(rateHz))
	a0 = 1 + k/highPassQ + k*k
	c.c1 = 2 * (k*k - 1) / a0
	c.c2 = (1 - k/highPassQ + k*k) / a0
	return c
}

// kState is the memory of both filters for one channel, direct form I: in it
// each new output needs the one before it last of all, so that the chain from
// sample to sample is one product and one difference, half as long as in the
// transposed form. The poles lie close to 1 and ask for float64.
type kState struct {
	x1, x2, v1, v2, y1, y2 float64
}

// kQuiet is a filter memory that no longer matters (−600 dB). Below it the
// memory is cleared: left alone it would sink into denormal numbers, which
// processors compute very slowly.
const kQuiet = 1e-30

// settle clears a memory that has died away. Callers do so at fixed places of
// the recording only, never at the end of a block.
func (s *kState) settle() {
	if math.Abs(s.v1)+math.Abs(s.v2)+math.Abs(s.y1)+math.Abs(s.y2) < kQuiet {
		s.v1, s.v2, s.y1, s.y2 = 0, 0, 0, 0
	}
}

// kEnergy filters x, adds the squares of the output to sum one by one, and
// returns it. A sample that is not finite makes the sum so as well.
func kEnergy(c *kCoefficients, s *kState, x []float32, sum float64) float64 {
	b0, b1, b2, a1, a2, c1, c2 := c.b0, c.b1, c.b2, c.a1, c.a2, c.c1, c.c2
	x1, x2, v1, v2, y1, y2 := s.x1, s.x2, s.v1, s.v2, s.y1, s.y2
	for _, in := range x {
		x0 := float64(in)
		v0 := ((b0*x0 + b1*x1 + b2*x2) - a2*v2) - a1*v1
		y0 := (((v0 + v2) - (v1 + v1)) - c2*y2) - c1*y1
		sum += y0 * y0
		x2, x1 = x1, x0
		v2, v1 = v1, v0
		y2, y1 = y1, y0
	}
	*s = kState{x1, x2, v1, v2, y1, y2}
	return sum
}
