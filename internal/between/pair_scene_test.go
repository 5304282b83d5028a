package between

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// tally is the error distribution of one kind of scene.
type tally struct {
	errors                       []float64
	wrong, unclear, undefined, n int
	over2                        int
}

func runScenes(kind int, scenes, hits int) tally {
	k := sceneKinds[kind]
	var t tally
	for i := range scenes {
		r := rand.New(rand.NewPCG(uint64(kind+1), uint64(i)))
		s := k.make(r)
		p := NewPair(sceneRate, k.maxLag)
		s.windows(r, hits, p.Add)
		got := p.Reading()
		t.n++
		d, ok := got.DelaySamples.Get()
		if !ok {
			t.undefined++
			continue
		}
		e := math.Abs(d - s.delay)
		t.errors = append(t.errors, e)
		if e > 2 {
			t.over2++
		}
		switch got.Polarity {
		case Unclear:
			t.unclear++
		case s.polarity:
		default:
			t.wrong++
		}
	}
	slices.Sort(t.errors)
	return t
}

func (t tally) percentile(q float64) float64 {
	if len(t.errors) == 0 {
		return math.NaN()
	}
	return t.errors[min(len(t.errors)-1, int(q*float64(len(t.errors))))]
}

func TestScenes(t *testing.T) {
	for i, k := range sceneKinds {
		t.Run(k.name, func(t *testing.T) {
			got := runScenes(i, 30, 12)
			t.Logf("%-38s n %d  |error| p50 %.2f p90 %.2f p100 %.2f  over 2: %d  wrong polarity %d  unclear %d  undefined %d",
				k.name, got.n, got.percentile(0.5), got.percentile(0.9), got.percentile(1), got.over2, got.wrong, got.unclear, got.undefined)
		})
	}
}
