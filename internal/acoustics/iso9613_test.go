package acoustics

import (
	"fmt"
	"math"
	"testing"

	"tidemark/internal/unit"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.6g, want %.6g ± %g", what, got, want, tolerance)
	}
}

// Speed of sound: ISO 9613-1:1993 clause 8 and the handbook formula (both from
// memory), at the precision they are tabulated with.
func TestSpeedOfSound(t *testing.T) {
	for _, c := range []struct{ celsius, simple, iso, msPerMetre float64 }{
		{0, 331.30, 331.29, 3.018}, {5, 334.32, 334.30, 2.991}, {10, 337.31, 337.30, 2.965},
		{15, 340.28, 340.26, 2.939}, {18, 342.04, 342.03, 2.924}, {20, 343.21, 343.20, 2.914},
		{22, 344.38, 344.37, 2.904}, {25, 346.13, 346.11, 2.889}, {30, 349.02, 349.00, 2.865},
		{35, 351.89, 351.87, 2.842},
	} {
		t.Run(fmt.Sprintf("%g °C", c.celsius), func(t *testing.T) {
			name := fmt.Sprintf("air of %g °C: ", c.celsius)
			holds(t, name+"speed of sound, handbook formula", "from memory: 331.3·√(1 + t/273.15)", "m/s", 2, SpeedOfSoundSimple(c.celsius), c.simple, 0.006)
			holds(t, name+"speed of sound", "from memory: ISO 9613-1:1993 clause 8", "m/s", 2, SpeedOfSound(c.celsius), c.iso, 0.006)
			holds(t, name+"time over a metre", "from memory: 331.3·√(1 + t/273.15)", "ms", 3, 1000*float64(DelayOver(1, SpeedOfSoundSimple(c.celsius))), c.msPerMetre, 0.0006)
		})
	}
	near(t, "change per degree at 20 °C", SpeedOfSound(20.5)-SpeedOfSound(19.5), 0.586, 0.001)
	near(t, "cents from 20 to 30 °C", 1200*math.Log2(SpeedOfSound(30)/SpeedOfSound(20)), 29.0, 0.05)
}

// octave is the exact base-10 mid-band frequency of k octaves over 1 kHz.
func octave(k float64) unit.Hertz { return unit.Hertz(1000 * math.Pow(10, 0.3*k)) }

// ISO 9613-1:1993 Table 1, dB/km at exact mid-bands, by a general acoustics
// library's page-cited transcription; half a unit in its last digit and 0.5 %.
func TestAbsorptionTable1(t *testing.T) {
	for _, c := range []struct {
		celsius, humidity float64
		f                 unit.Hertz
		want, digit       float64
	}{
		{10, 70, octave(0), 3.66, 0.01}, {20, 50, octave(0), 4.66, 0.01}, {10, 50, octave(2), 46.7, 0.1},
		{20, 50, octave(1), 9.86, 0.01}, {15, 50, octave(0), 4.16, 0.01}, {25, 50, octave(0), 5.68, 0.01},
		{15, 100, 10000, 105, 1}, {30, 50, octave(2), 24.5, 0.1}, {0, 20, octave(1), 34.6, 0.1}, {25, 100, octave(1), 11.4, 0.1},
	} {
		t.Run(fmt.Sprintf("%g °C %g %% %.0f Hz", c.celsius, c.humidity, float64(c.f)), func(t *testing.T) {
			got := 1000 * float64(Air{Celsius: c.celsius, HumidityPercent: c.humidity}.Absorption(c.f))
			digits := max(0, int(math.Round(-math.Log10(c.digit))))
			holds(t, fmt.Sprintf("absorption at %g °C, %g %%, %.0f Hz", c.celsius, c.humidity, float64(c.f)), "ISO 9613-1:1993 Table 1, by a general acoustics library's page-cited transcription; tolerance half its last digit and 0.5 %, our own", "dB/km", digits, got, c.want, c.digit/2+0.005*c.want)
		})
	}
}

// The same formula by octave bands, computed apart from this code; and ISO
// 9613-2:1996 Table 2 at 20 °C and 70 %.
func TestAbsorptionByOctave(t *testing.T) {
	for _, c := range []struct {
		celsius, humidity float64
		want              [8]float64
	}{
		{15, 50, [8]float64{0.479, 1.22, 2.24, 4.16, 10.8, 36.2, 129, 399}},
		{20, 30, [8]float64{0.615, 1.42, 2.52, 5.01, 14.1, 48.5, 166, 460}},
		{20, 50, [8]float64{0.445, 1.32, 2.73, 4.66, 9.86, 29.4, 104, 359}},
		{20, 70, [8]float64{0.339, 1.13, 2.8, 4.98, 9.02, 22.9, 76.6, 276}},
		{25, 50, [8]float64{0.399, 1.32, 3.23, 5.68, 10.2, 25.7, 85.4, 306}},
	} {
		for k, want := range c.want {
			got := 1000 * float64(Air{Celsius: c.celsius, HumidityPercent: c.humidity}.Absorption(octave(float64(k-3))))
			near(t, fmt.Sprintf("%g °C %g %% octave %d", c.celsius, c.humidity, k), got, want, 0.005*want)
		}
	}
}
