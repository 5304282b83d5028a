package main

import (
	"cmp"
	"context"
	"io"
	"reflect"
	"slices"
	"strings"
	"testing"

	"tidemark/bench/faults/curve"
	"tidemark/bench/faults/harm"
	"tidemark/internal/judge"
)

func TestPlansFollowFromTheSeed(t *testing.T) {
	a, b := plans(settings{seed: 7, hours: 1}), plans(settings{seed: 7, hours: 1})
	if !reflect.DeepEqual(a, b) {
		t.Error("the same seed gave other sessions")
	}
	if reflect.DeepEqual(a, plans(settings{seed: 8, hours: 1})) {
		t.Error("another seed gave the same sessions")
	}
	var s float64
	styles := map[string]bool{}
	for _, p := range a {
		s += p.seconds
		styles[p.style] = true
	}
	if s < 3600 || s > 3600+180 {
		t.Errorf("an hour's plan lasts %.0f s", s)
	}
	if len(styles) != 8 {
		t.Errorf("got %d styles, want all 8", len(styles))
	}
}

func TestWrongCallsAreRefusedWithASentence(t *testing.T) {
	for _, c := range []struct {
		name, want string
		args       []string
	}{
		{"an unknown kind", `no kind "sour"`, []string{"--kinds", "sour", "--synthetic"}},
		{"no recorded sounds", "--fetch", []string{"--cache", t.TempDir()}},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := run(context.Background(), c.args, io.Discard, io.Discard)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want something with %q", err, c.want)
			}
		})
	}
}

func TestResultsNameTheFlagsThatMatterAndNoPlaces(t *testing.T) {
	s := settings{seed: 4, hours: 0.5, wounded: 2, kinds: harm.Kinds[:2], keep: "somewhere", temporary: "elsewhere", synthetic: true}
	if got, want := s.line(), "--seed 4 --hours 0.5 --wounded 2 --kinds dead,noisy --synthetic --write"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestCurvesNameTheFlagsThatMatter(t *testing.T) {
	s := settings{seed: 4, kinds: curveKinds()[:2], temporary: "elsewhere", synthetic: true,
		curves: curveFlags{on: true, takes: 3, trials: 2, seconds: 20, file: "somewhere"}}
	if got, want := s.curveLine(), "--curves --seed 4 --takes 3 --trials 2 --seconds 20 --kinds dead,noisy --write"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	s.kinds = curveKinds()
	if got, want := s.curveLine(), "--curves --seed 4 --takes 3 --trials 2 --seconds 20 --write"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Every rule of the judge has a ladder, so that a new kind cannot be forgotten.
func TestEveryRuleHasACurve(t *testing.T) {
	kinds := curveKinds()
	for _, r := range judge.Rules {
		if !slices.Contains(kinds, r.Kind) {
			t.Errorf("%s is judged and has no ladder in curve", r.Kind)
		}
	}
	for _, l := range curve.Ladders {
		rising, falling := slices.IsSorted(l.Steps), slices.IsSortedFunc(l.Steps, func(a, b float64) int { return cmp.Compare(b, a) })
		if len(l.Steps) == 0 || !rising && !falling || (l.Line == nil) == (l.Folder == nil) || (l.Line != nil) != (l.Fits != nil) || l.What == "" || l.Unit == "" {
			t.Errorf("%s is not a ladder: %d steps, rising %v, falling %v", l, len(l.Steps), rising, falling)
		}
		if l.Log && min(l.Steps[0], l.Steps[len(l.Steps)-1]) <= 0 {
			t.Errorf("%s compares ratios of strengths that are not over zero", l)
		}
	}
}
