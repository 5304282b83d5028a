package curve

import (
	"context"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"tidemark/bench/faults/harm"
	"tidemark/bench/faults/material"
	"tidemark/internal/model"
)

func TestCrossings(t *testing.T) {
	ten := []int{10, 10, 10, 10}
	for _, c := range []struct {
		name  string
		steps []float64
		log   bool
		k     []int
		share float64
		want  float64
		side  int
	}{
		{"between two steps on a straight line", []float64{0, 1, 2, 3}, false, []int{0, 4, 8, 10}, 0.5, 1.25, 0},
		{"strengths may fall", []float64{-1, -2, -4, -6}, false, []int{0, 0, 10, 10}, 0.5, -3, 0},
		{"by ratio", []float64{1, 10, 100, 1000}, true, []int{0, 0, 10, 10}, 0.5, math.Sqrt(1000), 0},
		{"there at the first step", []float64{5, 6, 7, 8}, false, []int{9, 10, 10, 10}, 0.5, 5, -1},
		{"not there at the last", []float64{5, 6, 7, 8}, false, []int{0, 0, 1, 2}, 0.5, 8, 1},
		{"a dip is pooled with what was before it", []float64{0, 1, 2, 3}, false, []int{0, 6, 2, 10}, 0.5, 2 + 1./6, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, side := Crossing(c.steps, c.log, c.k, ten, c.share)
			if math.Abs(got-c.want) > 1e-9 || side != c.side {
				t.Errorf("got %g, side %d, want %g, %d", got, side, c.want, c.side)
			}
		})
	}
}

func count(found, tries int) Count { return Count{Tries: tries, Heard: found} }

func TestACurveThatSurelyFallsIsToldFromChance(t *testing.T) {
	for _, c := range []struct {
		name string
		in   []Count
		want bool
	}{
		{"rising", []Count{count(0, 20), count(10, 20), count(20, 20)}, true},
		{"a dip within the intervals", []Count{count(0, 20), count(12, 20), count(9, 20), count(20, 20)}, true},
		{"a fall beyond them", []Count{count(0, 20), count(19, 20), count(4, 20)}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := (Result{Steps: c.in}).Monotone(); got != c.want {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

// One tiny ladder of three kinds of evidence: a level, an event, a file.
func TestCurvesRiseFromNothingToAll(t *testing.T) {
	steps := map[string][]float64{
		"dc_offset, constant": {-90, -55, -51, -49, -20},
		"dropout, zeros":      {0.1, 1.05, 20},
		"short, ends early":   {0.02, 0.48, 0.52, 5},
	}
	var ladders []*Ladder
	for _, l := range Ladders {
		if s := steps[l.String()]; s != nil {
			short := *l
			short.Steps = s
			ladders = append(ladders, &short)
		}
	}
	if len(ladders) != len(steps) {
		t.Fatalf("%d ladders of %d found", len(ladders), len(steps))
	}
	set := Settings{Seed: 3, Takes: 2, Trials: 3, Seconds: 12, RateHz: 16000, Jobs: 2, Ladders: ladders}
	results, err := Run(context.Background(), set, material.Synthetic())
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range results {
		first, last := r.Steps[0], r.Steps[len(r.Steps)-1]
		if first.Tries < 4 || last.Tries < 4 {
			t.Errorf("%s: %d and %d tries", r.Ladder, first.Tries, last.Tries)
		}
		if first.Found() != 0 || last.Found() != last.Tries {
			t.Errorf("%s: got %d of %d at the weakest and %d of %d at the strongest, want none and all", r.Ladder, first.Found(), first.Tries, last.Found(), last.Tries)
		}
		if !r.Monotone() {
			t.Errorf("%s falls: %+v", r.Ladder, r.Steps)
		}
		if r.Zero.Tries == 0 || r.Zero.Found() != 0 {
			t.Errorf("%s: found without a fault in %d of %d", r.Ladder, r.Zero.Found(), r.Zero.Tries)
		}
	}
	set.Ladders, set.Jobs, results = ladders[2:], 1, results[2:]
	again, err := Run(context.Background(), set, material.Synthetic())
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(results, again) {
		t.Error("one worker gave other numbers than two")
	}
}

// What is kept of lines that nothing was done to must not change a word: the
// findings about single lines are those of the whole check of the same folder.
func TestAKeptTakeIsJudgedLikeTheFolder(t *testing.T) {
	take, err := NewTake(material.Synthetic(), 11, "rock", 14, 16000)
	if err != nil {
		t.Fatal(err)
	}
	at, ok := take.one(rand.New(rand.NewPCG(1, 1)), openAndPlays)
	if !ok {
		t.Fatal("no open line plays")
	}
	x := slices.Clone(take.sound[at])
	s := harm.Listen(x, take.RateHz)
	r := rand.New(rand.NewPCG(2, 2))
	harm.Hiss(x, -40, 0, r)
	if _, ok := hole(false)(s, take.Lines[at], 20, r); !ok {
		t.Fatal("no place for a hole")
	}
	clicks(s, burst(s, 20, 1, r), 35, r)
	shift(x, 0.02)

	lines := make([]int, len(take.Lines))
	for i := range lines {
		lines[i] = i
	}
	f := take.folder(0, lines...)
	f.put(f.lines[at].File, take.sheet(), x)
	whole, err := f.check(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	alone := []model.Kind{model.KindDead, model.KindNoisy, model.KindHum, model.KindCrackle, model.KindDropout, model.KindClipped,
		model.KindHot, model.KindLow, model.KindDCOffset, model.KindWrongDepth}
	pick := func(all []model.Finding) []model.Finding {
		var out []model.Finding
		for _, f := range all {
			if slices.Contains(alone, f.Kind) {
				f.Files = nil // a pair's file is split in the folder
				out = append(out, f)
			}
		}
		return out
	}
	got, want := pick(take.judged(at, x)), pick(whole)
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v\nwant %+v", got, want)
	}
	for _, k := range []model.Kind{model.KindNoisy, model.KindDropout, model.KindDCOffset} {
		if !slices.ContainsFunc(got, func(f model.Finding) bool { return f.Kind == k }) {
			t.Errorf("nothing said of %s, which was planted", k)
		}
	}
}
