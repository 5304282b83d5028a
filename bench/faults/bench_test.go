package main

import (
	"context"
	"io"
	"reflect"
	"strings"
	"testing"

	"tidemark/bench/faults/harm"
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
