package band

import "math"

// groove is the time that the band shares: beats to seconds, with a tempo that
// breathes by a percent or so, as a band's does without a click.
type groove struct {
	beats []float64 // seconds of each beat, from the first of the count-in
	swing float64   // share of an eighth that its first sixteenth takes: 0.5 is straight
	slips []float64 // what all players are early or late together, by sixteenth
}

// newGroove lays out n beats from the second first on. push is the tempo's
// factor at a beat: a chorus leans forward.
func newGroove(d dice, first, bpm, swing float64, n int, push func(beat int) float64) *groove {
	g := &groove{swing: swing}
	t, wander := first, 0.0
	for b := 0; b <= n; b++ {
		g.beats = append(g.beats, t)
		wander = 0.92*wander + d.near(0, 0.0025)
		t += 60 / (bpm * push(b) * (1 + wander))
	}
	for i := 0; i <= 4*n; i++ {
		g.slips = append(g.slips, d.near(0, 0.0022))
	}
	return g
}

// at is the second of a beat, fractions swung.
func (g *groove) at(beat float64) float64 {
	eighth := math.Floor(2 * beat)
	u := 2*beat - eighth
	if u < 0.5 {
		u *= 2 * g.swing
	} else {
		u = g.swing + (u-0.5)*2*(1-g.swing)
	}
	b := (eighth + u) / 2
	i := max(0, min(len(g.beats)-2, int(b)))
	return g.beats[i] + (b-float64(i))*(g.beats[i+1]-g.beats[i])
}

// feel is how one player stands to the groove: late by lag seconds on the
// whole, and by chance with slip.
type feel struct {
	*groove
	lag, slip float64
	dice      dice
}

// hit is when the player really plays what is written at beat.
func (f feel) hit(beat float64) float64 {
	s := int(math.Round(4 * beat))
	return f.at(beat) + f.slips[max(0, min(len(f.slips)-1, s))] + f.lag + f.dice.near(0, f.slip)
}
