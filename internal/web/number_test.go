package web

import (
	"math"
	"strings"
	"testing"
)

func TestNumbersAreWrittenForReading(t *testing.T) {
	for _, c := range []struct{ name, got, want string }{
		{"minus is a minus sign", number(-18, 1), "−18.0"},
		{"no negative zero", number(-0.04, 1), "0.0"},
		{"not a number", number(math.NaN(), 1), missing},
		{"infinite", number(math.Inf(-1), 1), missing},
		{"seconds that are no number", measure(math.NaN(), "s"), missing + "\u00a0s"},
		{"a coordinate that is no number", px(math.Inf(1)), "0"},
		{"undefined", maybe(opt{}, 1), missing},
		{"plus where direction matters", signed(is(0.31), 2), "+0.31"},
		{"no plus on a zero", signed(is(0.001), 2), "0.00"},
		{"decibels to a tenth", measure(-3, "dBFS"), "−3.0\u00a0dBFS"},
		{"counts whole", measure(31, "runs"), "31\u00a0runs"},
		{"milliseconds to hundredths", measure(0.125, "ms"), "0.12\u00a0ms"},
		{"short times as they are", measure(0.05, "s"), "0.05\u00a0s"},
		{"clock", clock(72.34), "1:12.3"},
		{"clock rounds over the minute", clock(59.97), "1:00.0"},
		{"clock past an hour", clock(3725.4), "1:02:05.4"},
		{"clock before the start", clock(-3), "−0:03.0"},
		{"length rounds", length(75.6), "1:16"},
		{"time of day", ofDay(52920), "14:42:00"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.got != c.want {
				t.Errorf("got %q, want %q", c.got, c.want)
			}
		})
	}
}

func TestShoreIsDrawnToScale(t *testing.T) {
	e := []Hop{{1, 0.1}, {0, 0}, {0.001, 0.00001}}
	water, peak, cols := shore(e)
	// 0 dBFS is the top (0), −20 dBFS a third down (33), −60 and below the bed (100).
	if want := "M0 100v-67l1 0"; cols != 3 || !strings.HasPrefix(strings.ReplaceAll(water, "h1", "l1 0"), want) {
		t.Errorf("water %q of %d steps, want it to begin %q", water, cols, want)
	}
	if want := "M0 0h1l1 100h1"; peak != want {
		t.Errorf("peak %q, want %q", peak, want)
	}
	long := make([]Hop, 36000) // an hour
	for i := range long {
		long[i] = Hop{float32(i%7) / 7, float32(i%5) / 9}
	}
	water, peak, cols = shore(long)
	if cols != barColumns || len(water)+len(peak) > 12*barColumns {
		t.Errorf("an hour takes %d steps and %d bytes, want %d and at most %d", cols, len(water)+len(peak), barColumns, 12*barColumns)
	}
}

func TestTicksAreRoundAndFew(t *testing.T) {
	for _, d := range []float64{0.4, 3, 75.2, 240, 3599, 3725, 36000, 200000} {
		k := ticks(d)
		if len(k) == 0 || len(k) > 29 || k[0].Text != "0:00" {
			t.Errorf("%g s: %d ticks, first %v", d, len(k), k)
		}
	}
	if ticks(0) != nil || ticks(math.NaN()) != nil {
		t.Error("a pass without a length has ticks")
	}
}

func TestLadderKeepsOrderAndEnds(t *testing.T) {
	if a, b := ladderX(0.3, 10), ladderX(3, 10); !(0 < a && a < b && b < 0.95) {
		t.Errorf("0.3 ms at %g, 3 ms at %g", a, b)
	}
	if got := ladderX(1e6, 10); got > 0.951 {
		t.Errorf("a delay off the scale stands at %g, want it on the end", got)
	}
}
