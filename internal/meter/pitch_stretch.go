package meter

import (
	"math"
	"slices"

	"tidemark/internal/unit"
)

// PitchStretch is a stretch in which the pitch stays: a held note, vibrato and all.
type PitchStretch struct {
	Frame  int64      // of its first value
	Frames int64      // up to a hop behind its last
	Hz     unit.Hertz // its median
	// SpreadCents is the median distance of its values from that: 0 for a steady
	// tone, 0.7 of its depth for vibrato.
	SpreadCents float64
}

// Limits of a stretch: common practice, no source. A vibrato of ±50 cents at 6 Hz
// moves 19 cents in 10 ms.
const (
	stretchLeastS = 0.08 // length
	stretchStep   = 45.0 // cents from one value to the next
	stretchWide   = 80.0 // cents that a value may lie off the mean so far
	stretchDrift  = 25.0 // cents from the mean of the first half to that of the second: more is a glide
)

// summarise fills what follows from the values.
func (r *PitchReading) summarise() {
	const least = int(stretchLeastS / pitchHopS)
	var all, cents []float64
	sum := 0.0
	finish := func(end int) {
		n := len(cents)
		if n >= least && math.Abs(meanOf(cents[:n/2])-meanOf(cents[n-n/2:])) <= stretchDrift {
			first := end - n
			s := PitchStretch{Frame: r.First + int64(first)*r.HopFrames, Frames: int64(n) * r.HopFrames}
			all = append(all, cents...)
			slices.Sort(cents)
			mid := middleOf(cents)
			s.Hz = unit.Hertz(math.Exp2(mid / 1200))
			for i := range cents {
				cents[i] = math.Abs(cents[i] - mid)
			}
			slices.Sort(cents)
			s.SpreadCents = middleOf(cents)
			r.Stretches = append(r.Stretches, s)
		}
		cents, sum = cents[:0], 0
	}
	for i, v := range r.Values {
		if !v.Defined() {
			finish(i)
			continue
		}
		r.Voiced++
		c := 1200 * math.Log2(float64(v.Hz))
		if n := len(cents); n > 0 && (math.Abs(c-cents[n-1]) > stretchStep || math.Abs(c-sum/float64(n)) > stretchWide) {
			finish(i)
		}
		cents = append(cents, c)
		sum += c
	}
	finish(len(r.Values))
	if len(all) > 0 {
		slices.Sort(all)
		r.Median = unit.Some(unit.Hertz(math.Exp2(middleOf(all) / 1200)))
	}
}

// Tuning is how many cents above equal temperament the stretches lie, −50 to 50,
// where the A above middle C has a Hz: their mean around the circle of a semitone,
// the longer ones counting more. It is undefined without a stretch, and where they
// agree so little that the mean means nothing: a fretless player, or singing
// that drifts by a quarter tone. It panics where a is not positive.
func (r PitchReading) Tuning(a float64) unit.Maybe[float64] {
	const agree = 0.5 // length of the mean vector: values spread by less than ±25 cents or so
	checkHz(a)
	var x, y, weight float64
	for _, s := range r.Stretches {
		_, c := NearestNote(float64(s.Hz), a)
		sin, cos := math.Sincos(2 * math.Pi * c / 100)
		w := float64(s.Frames)
		x, y, weight = x+w*cos, y+w*sin, weight+w
	}
	if weight == 0 || math.Hypot(x, y) < agree*weight {
		return unit.None[float64]()
	}
	return unit.Some(100 * math.Atan2(y, x) / (2 * math.Pi))
}

func meanOf(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// middleOf is the median of sorted values.
func middleOf(x []float64) float64 {
	n := len(x)
	return (x[(n-1)/2] + x[n/2]) / 2
}
