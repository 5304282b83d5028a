package acoustics

import (
	"math"
	"testing"

	"tidemark/internal/unit"
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
		near(t, "ms", 1000*float64(DelayOver(c.metres, speed)), c.ms, 0.00051)
		near(t, "samples at 48 kHz", SamplesOver(c.metres, speed, 48000), c.at48000, 0.0051)
		near(t, "samples at 44.1 kHz", SamplesOver(c.metres, speed, 44100), c.at441k, 0.0051)
		near(t, "and back", float64(DistanceOfSamples(SamplesOver(c.metres, speed, 48000), 48000, speed)), float64(c.metres), 1e-12)
		near(t, "and back from time", float64(DistanceOf(DelayOver(c.metres, speed), speed)), float64(c.metres), 1e-12)
	}
}

func TestTapes(t *testing.T) {
	near(t, "one foot in ms", 1000*float64(DelayOver(Foot, speed)), 0.888, 0.00051)
	near(t, "one ms in metres", float64(DistanceOf(0.001, speed)), 0.3432, 1e-9)
	near(t, "one sample in mm", 1000*float64(DistanceOfSamples(1, 48000, speed)), 7.15, 0.0051)
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
		near(t, "level", float64(got), want, 0.0051)
	}
	if LevelOver(0, 1).Defined() || LevelOver(1, -1).Defined() {
		t.Error("a level over no distance is defined")
	}
}

// Worked examples, derived.
func TestWorkedExamples(t *testing.T) {
	t.Run("close microphone at 0.30 m and room microphone at 1.00 m", func(t *testing.T) {
		d := DelayOver(0.70, speed)
		near(t, "ms", 1000*float64(d), 2.040, 0.00051)
		near(t, "samples", SamplesOver(0.70, speed, 48000), 97.90, 0.0051)
		n := NewComb(d, 0, false).Notches(2)
		near(t, "first notch", float64(n[0]), 245.1, 0.051)
		near(t, "second notch", float64(n[1]), 735.4, 0.051)
		near(t, "level", float64(LevelOver(0.3, 1).Or(0)), -10.46, 0.0051)
	})
	t.Run("source and microphone 1.2 m high, 2.0 m apart", func(t *testing.T) {
		direct, floor := FloorBounce(1.2, 1.2, 2)
		near(t, "direct", float64(direct), 2, 1e-12)
		near(t, "by the floor", float64(floor), 3.124, 0.00051)
		d := DelayOver(floor-direct, speed)
		near(t, "ms", 1000*float64(d), 3.275, 0.00051)
		level := LevelOver(direct, floor).Or(0)
		near(t, "reflection", float64(level), -3.87, 0.0051)
		n := NewComb(d, level, false).Notches(2)
		near(t, "first notch", float64(n[0]), 152.7, 0.051)
		near(t, "second notch", float64(n[1]), 458.0, 0.051)
	})
	t.Run("snare 3.0 m from overheads, 0.05 m from its own", func(t *testing.T) {
		near(t, "ms", 1000*float64(DelayOver(2.95, speed)), 8.596, 0.00051)
		near(t, "samples", SamplesOver(2.95, speed, 48000), 412.6, 0.051)
	})
	t.Run("kick in and out 0.45 m apart", func(t *testing.T) {
		near(t, "ms", 1000*float64(DelayOver(0.45, speed)), 1.311, 0.00051)
		near(t, "first notch", float64(NewComb(DelayOver(0.45, speed), 0, false).Notches(1)[0]), 381.3, 0.051)
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
			near(t, "notch", float64(notches[i]), w, 0.051)
			near(t, "peak of the flipped copy", float64(peaks[i]), w, 0.051)
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
		near(t, "peak", float64(k.Peak()), c.peak, 0.0051)
		near(t, "notch", float64(k.Notch().Or(0)), c.notch, 0.0051)
		near(t, "ripple", float64(k.Ripple().Or(0)), c.ripple, 0.0051)
	}
	equal := NewComb(0.001, 0, false)
	near(t, "peak of an equal copy", float64(equal.Peak()), 6.02, 0.0051)
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
