package between

import "math"

// Polarity is which way up line B hears the source against line A.
type Polarity string

// The polarities.
const (
	Same     Polarity = "same"
	Opposite Polarity = "opposite"
	Unclear  Polarity = "unclear"
)

// PolarityLimit is the confidence under which a polarity is Unclear.
const PolarityLimit = 0.4

// votesAgree is the share of hits with the same sign that leaves no doubt;
// half of them say nothing. fewHits is what one and two hits are trusted.
// Common practice, held to the scene tests.
const votesAgree = 0.75

var fewHits = [...]float64{0, 0.5, 0.85}

// polarity tells the sign of the arrival, and how sure it is: 1 where no peak
// of the other sign comes near and the hits agree, 0 where one is as high.
func (c *comparison) polarity(b peak) (Polarity, float64) {
	rival := 0.0
	for _, e := range c.extrema(c.score) {
		if (e.height > 0) != (b.height > 0) {
			rival = math.Abs(e.height)
			break
		}
	}
	confidence := 1 - rival/math.Abs(b.height)
	// The share of hits whose own correlation at that lag has this sign.
	agree := 0
	i := int(math.Round(b.lag)) + c.p.reach
	for _, h := range c.hit {
		if (h[i] > 0) == (b.height > 0) {
			agree++
		}
	}
	share := float64(agree) / float64(len(c.hit))
	confidence = max(0, min(1, confidence)) * max(0, min(1, (share-0.5)/(votesAgree-0.5)))
	// One window may hold something else altogether, and be quite sure of it.
	if n := len(c.hit); n < len(fewHits) {
		confidence *= fewHits[n]
	}
	switch {
	case confidence < PolarityLimit:
		return Unclear, confidence
	case b.height > 0:
		return Same, confidence
	}
	return Opposite, confidence
}
