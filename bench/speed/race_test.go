package main

import (
	"errors"
	"math"
	"strings"
	"testing"
)

func TestRacesRunInTurnAndForgetTheFirstRound(t *testing.T) {
	var order []string
	runner := func(name string) contestant {
		n := 0.0
		return contestant{name, func() (cost, error) {
			order = append(order, name)
			n++
			return cost{wall: n}, nil
		}}
	}
	costs, err := race(2, runner("a"), runner("b"))
	if err != nil {
		t.Fatal(err)
	}
	if got, want := strings.Join(order, ""), "ababab"; got != want {
		t.Errorf("ran %s, want %s", got, want)
	}
	for i, c := range costs {
		if len(c) != 2 || c[0].wall != 2 || c[1].wall != 3 {
			t.Errorf("contestant %d: %v, want the second and third run", i, c)
		}
	}
	_, err = race(1, contestant{"c", func() (cost, error) { return cost{}, errors.New("no disk") }})
	if err == nil || err.Error() != "c: no disk" {
		t.Errorf("got %v, want the failure with its contestant", err)
	}
}

func TestRatiosAreTakenRoundByRound(t *testing.T) {
	a := []cost{{wall: 1}, {wall: 20}, {wall: 4}}
	b := []cost{{wall: 2}, {wall: 10}, {wall: 4}}
	if got, want := ratios(a, b, wall), (spread{1, 0.5, 2, 3}); got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if got := spreadOf([]float64{4, 1, 2, 3}).median; got != 2.5 {
		t.Errorf("median of an even number: got %v, want 2.5", got)
	}
}

func TestExponentIsTheSlopeInLogarithms(t *testing.T) {
	x := []float64{1, 2, 4, 8}
	for _, e := range []float64{0, 1, 1.5, 2} {
		var y []float64
		for _, v := range x {
			y = append(y, 7*math.Pow(v, e))
		}
		if got := exponent(x, y); math.Abs(got-e) > 1e-12 {
			t.Errorf("got %v, want %v", got, e)
		}
	}
}

func TestGoalsAreJudgedOnTheirLimit(t *testing.T) {
	for _, c := range []struct {
		goal  goal
		value float64
		want  string
	}{
		{goal{}, 1, ""},
		{atMost(16), 16, "≤ 16: met"},
		{atMost(16), 16.1, "≤ 16: **missed**"},
		{atLeast(3), 3, "≥ 3: met"},
		{atLeast(3), 2.9, "≥ 3: **missed**"},
		{atLeast(3), math.NaN(), "≥ 3: **missed**"},
		{atMost(3), math.NaN(), "≤ 3: **missed**"},
	} {
		if got := c.goal.judge(c.value); got != c.want {
			t.Errorf("%v of %v: got %q, want %q", c.value, c.goal, got, c.want)
		}
	}
}
