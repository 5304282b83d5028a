package meter

import (
	"math"
	"sync"

	"tidemark/internal/kernel"
)

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

// kQuiet is a filter memory that no longer matters (−600 dB). Below it a memory is
// cleared: left alone it would sink into denormal numbers, which processors
// compute very slowly.
const kQuiet = 1e-30

// kPlans are the filters in use, by rate.
var kPlans sync.Map // of *kernel.KPlan

// kPlanOf is the filter for a rate, prepared for ticks of 10 ms.
func kPlanOf(rateHz int) *kernel.KPlan {
	if p, ok := kPlans.Load(rateHz); ok {
		return p.(*kernel.KPlan)
	}
	p, _ := kPlans.LoadOrStore(rateHz, newKCoefficients(rateHz).plan(rateHz/tickSeconds, longestTick(rateHz)))
	return p.(*kernel.KPlan)
}

// plan prepares the filter for stretches of some lengths.
func (c kCoefficients) plan(lengths ...int) *kernel.KPlan {
	return kernel.NewKPlan(kernel.KCoefficients{B0: c.b0, B1: c.b1, B2: c.b2, A1: c.a1, A2: c.a2, C1: c.c1, C2: c.c2}, lengths...)
}
