package acoustics

import (
	"fmt"
	"math"
	"testing"

	"tidemark/internal/conform"
	"tidemark/internal/unit"
)

// holds checks a value that the page of conformance prints.
func holds(t *testing.T, what, source, unitName string, digits int, got, want, tolerance float64) {
	t.Helper()
	conform.Check(t, conform.Row{Section: "Air and combs", Case: what, Source: source, Unit: unitName, Expected: want, Under: tolerance, Over: tolerance, Digits: digits, Measured: got})
}

const (
	byDistance = "derived: distance / 343.2 m/s"
	byComb     = "derived: notches at (2k+1)/(2·t0), peaks at k/t0, changed about for a flipped copy"
	byDepth    = "derived: peak 20·log10(1 + g), notch 20·log10(1 − g)"
	byRatio    = "derived: −20·log10 of the ratio of distances"
	byHand     = "derived: path lengths by Pythagoras, 343.2 m/s"
	byTape     = "derived: 1 ft = 0.3048 m, 343.2 m/s"
)

// speed is what the tables below are reckoned with: 20 °C.
const speed = 343.2

// Derived: distance / 343.2 m/s.
func TestDistanceAndDelay(t *testing.T) {
	for _, c := range []struct {
		metres              unit.Metres
		ms, at48000, at441k float64
	}{
		{0.05, 0.146, 6.99, 6.42}, {0.10, 0.291, 13.99, 12.85}, {0.17, 0.495, 23.78, 21.84}, {0.30, 0.874, 41.96, 38.55},
		{0.50, 1.457, 69.93, 64.25}, {1, 2.914, 139.86, 128.50}, {2, 5.828, 279.72, 256.99}, {3, 8.741, 419.58, 385.49},
		{5, 14.569, 699.30, 642.48}, {10, 29.138, 1398.60, 1284.97}, {20, 58.275, 2797.20, 2569.93},
	} {
		name := func(s string) string { return fmt.Sprintf("%g m of air, %s", float64(c.metres), s) }
		holds(t, name("time"), byDistance, "ms", 3, 1000*float64(DelayOver(c.metres, speed)), c.ms, 0.0006)
		holds(t, name("48 kHz"), byDistance, "samples", 2, SamplesOver(c.metres, speed, 48000), c.at48000, 0.006)
		holds(t, name("44.1 kHz"), byDistance, "samples", 2, SamplesOver(c.metres, speed, 44100), c.at441k, 0.006)
		near(t, "and back", float64(DistanceOfSamples(SamplesOver(c.metres, speed, 48000), 48000, speed)), float64(c.metres), 1e-12)
		near(t, "and back from time", float64(DistanceOf(DelayOver(c.metres, speed), speed)), float64(c.metres), 1e-12)
	}
}

func TestTapes(t *testing.T) {
	holds(t, "one foot of air", byTape, "ms", 3, 1000*float64(DelayOver(Foot, speed)), 0.888, 0.0006)
	holds(t, "the way of 1 ms", byTape, "m", 4, float64(DistanceOf(0.001, speed)), 0.3432, 1e-9)
	holds(t, "the way of one sample at 48 kHz", byTape, "mm", 2, 1000*float64(DistanceOfSamples(1, 48000, speed)), 7.15, 0.006)
	near(t, "a metre in feet", Feet(1), 3.28084, 1e-5)
	near(t, "a metre in inches", Inches(1), 39.3701, 1e-4)
	near(t, "a metre in centimetres", Centimetres(1), 100, 1e-9)
	feet, inches := FeetInches(1)
	near(t, "feet of a metre", feet, 3, 0)
	near(t, "inches left of a metre", inches, 3.3701, 1e-4)
}

// The 3:1 rule of handbooks (Burroughs 1974, from memory): 20·log10(3) = 9.54 dB.
func TestLevelOverDistance(t *testing.T) {
	for ratio, want := range map[unit.Metres]float64{2: -6.02, 3: -9.54, 4: -12.04, 5: -13.98} {
		got, ok := LevelOver(0.2, 0.2*ratio).Get()
		if !ok {
			t.Fatalf("%g:1 is undefined", float64(ratio))
		}
		holds(t, fmt.Sprintf("level at %g times the distance, free field", float64(ratio)), byRatio, "dB", 2, float64(got), want, 0.006)
	}
	if LevelOver(0, 1).Defined() || LevelOver(1, -1).Defined() {
		t.Error("a level over no distance is defined")
	}
}

// Worked examples, derived.
func TestWorkedExamples(t *testing.T) {
	t.Run("close microphone at 0.30 m and room microphone at 1.00 m", func(t *testing.T) {
		d := DelayOver(0.70, speed)
		name := func(s string) string { return "close microphone at 0.30 m, room microphone at 1.00 m: " + s }
		holds(t, name("time"), byHand, "ms", 3, 1000*float64(d), 2.040, 0.0006)
		holds(t, name("48 kHz"), byHand, "samples", 2, SamplesOver(0.70, speed, 48000), 97.90, 0.006)
		n := NewComb(d, 0, false).Notches(2)
		holds(t, name("first notch"), byHand, "Hz", 1, float64(n[0]), 245.1, 0.06)
		holds(t, name("second notch"), byHand, "Hz", 1, float64(n[1]), 735.4, 0.06)
		holds(t, name("level"), byHand, "dB", 2, float64(LevelOver(0.3, 1).Or(0)), -10.46, 0.006)
	})
	t.Run("source and microphone 1.2 m high, 2.0 m apart", func(t *testing.T) {
		direct, floor := FloorBounce(1.2, 1.2, 2)
		near(t, "direct", float64(direct), 2, 1e-12)
		name := func(s string) string { return "source and microphone 1.2 m high, 2.0 m apart: " + s }
		holds(t, name("way by the floor"), byHand, "m", 3, float64(floor), 3.124, 0.0006)
		d := DelayOver(floor-direct, speed)
		holds(t, name("time"), byHand, "ms", 3, 1000*float64(d), 3.275, 0.0006)
		level := LevelOver(direct, floor).Or(0)
		holds(t, name("reflection"), byHand, "dB", 2, float64(level), -3.87, 0.006)
		n := NewComb(d, level, false).Notches(2)
		holds(t, name("first notch"), byHand, "Hz", 1, float64(n[0]), 152.7, 0.06)
		holds(t, name("second notch"), byHand, "Hz", 1, float64(n[1]), 458.0, 0.06)
	})
	t.Run("snare 3.0 m from overheads, 0.05 m from its own", func(t *testing.T) {
		holds(t, "snare 3.0 m from overheads, 0.05 m from its own: time", byHand, "ms", 3, 1000*float64(DelayOver(2.95, speed)), 8.596, 0.0006)
		holds(t, "snare 3.0 m from overheads, 0.05 m from its own: 48 kHz", byHand, "samples", 1, SamplesOver(2.95, speed, 48000), 412.6, 0.06)
	})
	t.Run("kick in and out 0.45 m apart", func(t *testing.T) {
		holds(t, "kick in and out 0.45 m apart: time", byHand, "ms", 3, 1000*float64(DelayOver(0.45, speed)), 1.311, 0.0006)
		holds(t, "kick in and out 0.45 m apart: first notch", byHand, "Hz", 1, float64(NewComb(DelayOver(0.45, speed), 0, false).Notches(1)[0]), 381.3, 0.06)
	})
}

// Derived: notches at (2k+1)/(2·t0).
func TestCombNotches(t *testing.T) {
	for ms, want := range map[float64][]float64{
		0.1: {5000, 15000}, 0.25: {2000, 6000, 10000}, 0.5: {1000, 3000, 5000}, 1: {500, 1500, 2500},
		2: {250, 750, 1250}, 3: {166.7, 500, 833.3}, 5: {100, 300, 500}, 10: {50, 150, 250},
	} {
		c := NewComb(unit.Seconds(ms/1000), -3, false)
		flipped := NewComb(unit.Seconds(ms/1000), -3, true)
		notches, peaks := c.Notches(len(want)), flipped.Peaks(len(want))
		for i, w := range want {
			holds(t, fmt.Sprintf("copy %g ms late, notch %d", ms, i+1), byComb, "Hz", 1, float64(notches[i]), w, 0.06)
			holds(t, fmt.Sprintf("flipped copy %g ms late, peak %d", ms, i+1), byComb, "Hz", 1, float64(peaks[i]), w, 0.06)
			near(t, "level there", float64(c.At(notches[i]).Or(0)), float64(c.Notch().Or(0)), 1e-6)
			near(t, "level there, flipped", float64(flipped.At(notches[i]).Or(0)), float64(c.Peak()), 1e-6)
		}
	}
	if got := NewComb(0.001, 0, true).Notches(1)[0]; got != 0 {
		t.Errorf("first notch of a flipped copy %g Hz, want 0", float64(got))
	}
}

// Derived: peak 20·log10(1 + g), notch 20·log10(1 − g).
func TestCombDepth(t *testing.T) {
	for _, c := range []struct{ level, peak, notch, ripple float64 }{
		{-3, 4.65, -10.69, 15.34}, {-6, 3.53, -6.04, 9.57}, {-9.5424, 2.50, -3.52, 6.02}, {-10, 2.39, -3.30, 5.69},
		{-12, 1.95, -2.51, 4.46}, {-15, 1.42, -1.70, 3.12}, {-18, 1.03, -1.17, 2.20}, {-20, 0.83, -0.92, 1.74}, {-30, 0.27, -0.28, 0.55},
	} {
		k := NewComb(0.001, unit.DB(c.level), false)
		name := func(s string) string { return fmt.Sprintf("copy at %.4g dB, %s", c.level, s) }
		holds(t, name("peak"), byDepth, "dB", 2, float64(k.Peak()), c.peak, 0.006)
		holds(t, name("notch"), byDepth, "dB", 2, float64(k.Notch().Or(0)), c.notch, 0.006)
		holds(t, name("ripple"), byDepth, "dB", 2, float64(k.Ripple().Or(0)), c.ripple, 0.006)
	}
	equal := NewComb(0.001, 0, false)
	holds(t, "copy at 0 dB, peak", byDepth, "dB", 2, float64(equal.Peak()), 6.02, 0.006)
	if equal.Notch().Defined() || equal.Ripple().Defined() || equal.At(500).Defined() {
		t.Error("an equal copy cancels, but its notch is defined")
	}
}

func TestWrongCallsPanic(t *testing.T) {
	for name, call := range map[string]func(){
		"absolute zero":        func() { SpeedOfSound(-273.15) },
		"absolute zero simple": func() { SpeedOfSoundSimple(math.NaN()) },
		"absorption":           func() { Air{Celsius: -300}.Absorption(1000) },
		"comb without delay":   func() { NewComb(0, 0, false) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			call()
		}()
	}
}
