package desk

import (
	"slices"
	"testing"

	"tidemark/internal/between"
	"tidemark/internal/unit"
)

func TestTheFirstLookTellsOfTheWholeTake(t *testing.T) {
	hits := make([]float64, hitsPerPair)
	for i := range hits {
		hits[i] = float64(i)
	}
	got := spread(hits)
	first := slices.Clone(got[:hitsForFirstLook])
	if first[0] != 0 || first[len(first)-1] < 0.85*float64(hitsPerPair) {
		t.Errorf("the first look is at hits %v, want them all over the take", first)
	}
	slices.Sort(got)
	if !slices.Equal(got, hits) {
		t.Errorf("%v after spreading, want every hit once", got)
	}
}

func TestAPairBeyondDoubt(t *testing.T) {
	agree := func(change func(r *between.PairReading)) between.PairReading {
		r := between.PairReading{Hits: hitsForFirstLook, DelaySamples: unit.Some(12.0), DelaySharpness: unit.Some(40.0), Polarity: between.Same,
			PolarityConfidence: 0.9, Coherence: unit.Some(0.9), MonoLossMatchedDB: unit.Some[unit.DB](-0.5)}
		change(&r)
		return r
	}
	none := unit.None[float64]()
	for _, c := range []struct {
		name string
		r    between.PairReading
		want bool
	}{
		{"agrees in all", agree(func(r *between.PairReading) {}), true},
		{"on too few hits", agree(func(r *between.PairReading) { r.Hits = 3 }), false},
		{"upside down: to be proved on all hits", agree(func(r *between.PairReading) { r.Polarity = between.Opposite }), false},
		{"not sharp", agree(func(r *between.PairReading) { r.DelaySharpness = unit.Some(7.0) }), false},
		{"half coherent", agree(func(r *between.PairReading) { r.Coherence = unit.Some(0.4) }), false},
		{"thin in mono", agree(func(r *between.PairReading) { r.MonoLossMatchedDB = unit.Some[unit.DB](-3) }), false},
		{"an octave thin in mono", agree(func(r *between.PairReading) {
			r.Octaves = []between.OctaveReading{{NominalHz: 63, MonoLossMatchedDB: unit.Some[unit.DB](-5)}}
		}), false},
		{"nothing in common", agree(func(r *between.PairReading) { r.DelaySamples, r.Coherence = none, unit.Some(0.01) }), true},
		{"something in common, no delay", agree(func(r *between.PairReading) { r.DelaySamples, r.Coherence = none, unit.Some(0.1) }), false},
		{"nobody knows", agree(func(r *between.PairReading) { r.DelaySamples, r.Coherence = none, none }), false},
	} {
		if got := beyondDoubt(c.r); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}
