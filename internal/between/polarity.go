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
	other := -1
	if b.height < 0 {
		other = 1
	}
	confidence := 1.0
	if rival, ok := c.p.l.tallest(c.score, other); ok {
		confidence = 1 - math.Abs(rival.height/b.height)
	}
	// The share of hits whose own correlation at that lag has this sign.
	share := float64(c.agree) / float64(len(c.p.kept))
	confidence = max(0, min(1, confidence)) * max(0, min(1, (share-0.5)/(votesAgree-0.5)))
	// One window may hold something else altogether, and be quite sure of it.
	if n := len(c.p.kept); n < len(fewHits) {
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
