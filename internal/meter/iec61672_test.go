package meter

import (
	"fmt"
	"math"
	"testing"

	"tidemark/internal/conform"
	"tidemark/internal/signal"
	"tidemark/internal/unit"
)

// IEC 61672-1:2013 Table 3: A and C weighting at the nominal frequencies, with
// the class 1 limits. Those are for a whole sound level meter with its
// microphone, so for a filter they are a ceiling. A limit of −∞ is kept as the
// one on the other side. Frequencies are the exact ones, 10^(k/10) Hz.
var iec61672Class1 = []struct{ nominal, a, c, over, under float64 }{
	{10, -70.4, -14.3, 3, 3}, {12.5, -63.4, -11.2, 2.5, 2.5}, {16, -56.7, -8.5, 2, 4}, {20, -50.5, -6.2, 2, 2},
	{25, -44.7, -4.4, 2, 1.5}, {31.5, -39.4, -3, 1.5, 1.5}, {40, -34.6, -2, 1, 1}, {50, -30.2, -1.3, 1, 1},
	{63, -26.2, -0.8, 1, 1}, {80, -22.5, -0.5, 1, 1}, {100, -19.1, -0.3, 1, 1}, {125, -16.1, -0.2, 1, 1},
	{160, -13.4, -0.1, 1, 1}, {200, -10.9, 0, 1, 1}, {250, -8.6, 0, 1, 1}, {315, -6.6, 0, 1, 1},
	{400, -4.8, 0, 1, 1}, {500, -3.2, 0, 1, 1}, {630, -1.9, 0, 1, 1}, {800, -0.8, 0, 1, 1},
	{1000, 0, 0, 0.7, 0.7}, {1250, 0.6, 0, 1, 1}, {1600, 1, -0.1, 1, 1}, {2000, 1.2, -0.2, 1, 1},
	{2500, 1.3, -0.3, 1, 1}, {3150, 1.2, -0.5, 1, 1}, {4000, 1, -0.8, 1, 1}, {5000, 0.5, -1.3, 1.5, 1.5},
	{6300, -0.1, -2, 1.5, 2}, {8000, -1.1, -3, 1.5, 2.5}, {10000, -2.5, -4.4, 2, 3}, {12500, -4.3, -6.2, 2, 5},
	{16000, -6.6, -8.5, 2.5, 16}, {20000, -9.3, -11.2, 3, 3},
}

func TestIEC61672Weightings(t *testing.T) {
	for _, rate := range standardRates {
		worst := map[Weighting]float64{}
		for k, c := range iec61672Class1 {
			hz := math.Pow(10, 1+float64(k)/10)
			for w, want := range map[Weighting]float64{AWeighted: c.a, CWeighted: c.c} {
				got := 20 * math.Log10(gainOfTone(rate, w, hz))
				source := "IEC 61672-1:2013 Table 3, limits of class 1"
				if c.nominal < 16 || c.nominal > 16000 {
					source += " (no lower one there, held to the upper)"
				}
				conform.Check(t, conform.Row{
					Section: "Frequency weightings", Case: fmt.Sprintf("%v weighting at %s, %s", w, hertz(c.nominal), kHz(rate)), Source: source,
					Unit: "dB", Expected: want, Under: c.under, Over: c.over, Digits: 2, Measured: got,
				})
				off := got - 20*math.Log10(w.Gain(unit.Hertz(hz)))
				if math.Abs(off) > math.Abs(worst[w]) {
					worst[w] = off
				}
			}
		}
		for w, off := range worst {
			conform.Check(t, conform.Row{
				Section: "Frequency weightings", Case: fmt.Sprintf("%v weighting, largest distance from the curve of 34 tones from 10 Hz to 20 kHz, %s", w, kHz(rate)),
				Source: "from memory: IEC 61672-1:2013 Annex E; the rounding of Table 3", Unit: "dB", Under: 0.05, Over: 0.05, Digits: 3, Measured: off,
			})
			if math.Abs(off) > 0.018 { // last value: 0.017 at 44.1 kHz
				t.Errorf("%v at %d Hz: %.4f dB off the curve, last value was 0.017", w, rate, off)
			}
		}
	}
}

// Derived: the curve in code has the decimals of the analytic form.
func TestIEC61672Curve(t *testing.T) {
	for _, c := range []struct{ k, a, c float64 }{
		{10, -70.43, -14.33}, {13, -50.45, -6.24}, {15, -39.44, -3.01}, {20, -19.14, -0.30}, {25, -6.61, 0.02},
		{30, 0, 0}, {34, 1.27, -0.30}, {40, -2.49, -4.41}, {43, -9.32, -11.25},
	} {
		hz := unit.Hertz(math.Pow(10, c.k/10))
		wantNear(t, fmt.Sprintf("A at %.1f Hz", hz), 20*math.Log10(AWeighted.Gain(hz)), c.a, 0.006)
		wantNear(t, fmt.Sprintf("C at %.1f Hz", hz), 20*math.Log10(CWeighted.Gain(hz)), c.c, 0.006)
		wantNear(t, fmt.Sprintf("Z at %.1f Hz", hz), ZWeighted.Gain(hz), 1, 0)
	}
	wantNear(t, "A, taken back at 1 kHz", 20*math.Log10(AWeighted.shape(1000)), -2.000, 0.0005)
	wantNear(t, "C, taken back at 1 kHz", 20*math.Log10(CWeighted.shape(1000)), -0.062, 0.0005)
}

// gainOfTone runs a tone through the filter and weighs what comes out at its
// frequency (with a Hann window), after the filter has run in.
func gainOfTone(rate int, w Weighting, hz float64) float64 {
	runIn, n := rate/4, rate/4
	if hz < 50 {
		n = rate // ten periods of the lowest
	}
	x := tone(rate, runIn+n, hz, 1)
	before := amplitudeOf(x[runIn:], rate, hz)
	NewWeightingFilter(rate, w).Filter(x, x)
	return amplitudeOf(x[runIn:], rate, hz) / before
}

// amplitudeOf is the amplitude of a sine in x, by a Hann-windowed sum at its frequency.
func amplitudeOf(x []float32, rate int, hz float64) float64 {
	turn := complex(math.Cos(2*math.Pi*hz/float64(rate)), -math.Sin(2*math.Pi*hz/float64(rate)))
	open := complex(math.Cos(2*math.Pi/float64(len(x))), math.Sin(2*math.Pi/float64(len(x))))
	at, along, sum := complex(1, 0), complex(1, 0), complex(0, 0)
	for _, v := range x {
		sum += complex((1-real(along))*float64(v), 0) * at
		at *= turn
		along *= open
	}
	return 2 * math.Hypot(real(sum), imag(sum)) / float64(len(x))
}

// Between the listed frequencies and at other rates: the response that the
// tones above measure is the one of the coefficients, and it follows the curve
// up to 0.46 of the rate as the doc comment says.
func TestWeightingFollowsTheCurveAtAnyRate(t *testing.T) {
	for rate := 2000; rate <= 800000; rate = rate*17/15 + 7 {
		for _, w := range []Weighting{AWeighted, CWeighted} {
			f := NewWeightingFilter(rate, w)
			for hz := 4.0; hz < 0.46*float64(rate); hz *= 1.02 {
				off := 20 * math.Log10(f.Gain(unit.Hertz(hz))/w.Gain(unit.Hertz(hz)))
				if !(math.Abs(off) <= 0.07) {
					t.Errorf("%v at %.1f Hz, rate %d: %.4f dB off the curve", w, hz, rate, off)
				}
			}
			for i, s := range f.sections { // poles within the unit circle
				if !(math.Abs(s.a2) < 1 && math.Abs(s.a1) < 1+s.a2) {
					t.Errorf("%v, rate %d: section %d does not die away: %+v", w, rate, i, s)
				}
			}
		}
	}
	for _, hz := range []float64{25, 1000, 15000} {
		f := NewWeightingFilter(44100, AWeighted)
		wantNear(t, fmt.Sprintf("tone of %g Hz against the coefficients", hz), gainOfTone(44100, AWeighted, hz)/f.Gain(unit.Hertz(hz)), 1, 1e-4)
	}
}

// The filter in pieces, in place, and Z.
func TestWeightingFilterInPieces(t *testing.T) {
	x := signal.Pink(1, 0.1, 5000)
	x[700] = float32(math.NaN())
	for _, w := range []Weighting{AWeighted, CWeighted, ZWeighted} {
		want := make([]float32, len(x))
		NewWeightingFilter(48000, w).Filter(want, x)
		y := signal.Copy(x)
		f := NewWeightingFilter(48000, w)
		for at, n := 0, 1; at < len(y); at, n = at+n, n*2+1 {
			n = min(n, len(y)-at)
			f.Filter(y[at:at+n], y[at:at+n])
		}
		for i := range y {
			if y[i] != want[i] {
				t.Fatalf("%v, frame %d: got %v, want %v", w, i, y[i], want[i])
			}
			if w == ZWeighted && i != 700 && y[i] != x[i] || i == 700 && w == ZWeighted && y[i] != 0 {
				t.Fatalf("Z, frame %d: got %v, want %v", i, y[i], x[i])
			}
		}
	}
}

func TestWeightingRefusesWrongCalls(t *testing.T) {
	for name, call := range map[string]func(){
		"a rate that carries no 1 kHz":      func() { NewWeightingFilter(1999, AWeighted) },
		"a weighting that there is not":     func() { NewWeightedLevel(48000, CWeighted+1) },
		"a destination that is too short":   func() { NewWeightingFilter(48000, ZWeighted).Filter(make([]float32, 1), make([]float32, 2)) },
		"a level at a rate of nothing, too": func() { NewWeightedLevel(0, ZWeighted) },
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

// Equivalent levels by the curve: tones, and white noise, whose weighted power
// is the mean of the curve's square over all frequencies (derived).
func TestWeightedLevelOfKnownSounds(t *testing.T) {
	for _, rate := range standardRates {
		n := 4 * rate
		noise := signal.White(1, signal.Amplitude(-80-unit.SineOffsetDB), n) // −80 dBFS
		level := func(w Weighting, x []float32) float64 {
			m := NewWeightedLevel(rate, w)
			m.Measure(x)
			return number(m.Reading().Level)
		}
		plain := level(ZWeighted, noise)
		for _, w := range []Weighting{AWeighted, CWeighted} {
			conform.Check(t, conform.Row{
				Section: "Frequency weightings", Case: fmt.Sprintf("white noise, %v-weighted level over the plain one, %s", w, kHz(rate)),
				Source: "derived: mean of the squared curve of IEC 61672-1 Annex E from 0 Hz to half the rate", Unit: "dB",
				Expected: whiteNoiseGain(w, rate), Under: 0.1, Over: 0.1, Digits: 2, Measured: level(w, noise) - plain,
			})
			conform.Check(t, conform.Row{
				Section: "Frequency weightings", Case: fmt.Sprintf("full-scale sine of 1 kHz, %v-weighted level, %s", w, kHz(rate)),
				Source: "derived: 0 dB at 1 kHz (IEC 61672-1) and a full-scale sine at 0 dBFS (AES17-2020, from memory)", Unit: "dBFS",
				Under: 0.01, Over: 0.01, Digits: 3, Measured: level(w, signal.Sine(rate, 1000, 1, n)),
			})
		}
		if got, want := plain, number(unit.MeanSquare(measureLevel(rate, noise).MeanSquare)); math.Abs(got-want) > 1e-9 {
			t.Errorf("Z-weighted level at %d Hz: got %v, want %v as the plain level", rate, got, want)
		}
	}
}

// whiteNoiseGain is what a weighting makes of the level of white noise in dB: the
// mean of the squared curve from 0 Hz to half the rate.
func whiteNoiseGain(w Weighting, rate int) float64 {
	const steps = 20000
	var power float64
	for i := range steps {
		g := w.Gain(unit.Hertz((float64(i) + 0.5) / steps * float64(rate) / 2))
		power += g * g / steps
	}
	return 10 * math.Log10(power)
}

func TestWeightedLevelStates(t *testing.T) {
	m := NewWeightedLevel(48000, AWeighted)
	if got, want := m.Reading(), (WeightedLevelReading{Weighting: AWeighted}); got != want {
		t.Errorf("nothing: got %+v, want %+v", got, want)
	}
	m.Measure(signal.Silence(500))
	if got, want := m.Reading(), (WeightedLevelReading{Weighting: AWeighted, Frames: 500}); got != want {
		t.Errorf("silence: got %+v, want %+v", got, want)
	}
	m.Measure([]float32{float32(math.NaN()), float32(math.Inf(-1)), 0.5})
	if got := m.Reading(); got.BadSamples != 2 || got.Frames != 503 || !got.Level.Defined() {
		t.Errorf("two bad samples and a click: got %+v", got)
	}
	// An offset weighs nothing: zero at 0 Hz. What is left is its start.
	m = NewWeightedLevel(48000, AWeighted)
	m.Measure(offset(48000, 0.5))
	first := m.energy
	m.Measure(offset(48000, 0.5))
	if got := m.energy - first; got > 1e-20 {
		t.Errorf("an offset goes on to weigh %g", got)
	}
}

func BenchmarkWeightedLevel(b *testing.B) {
	x := signal.White(1, 0.1, 48000)
	m := NewWeightedLevel(48000, AWeighted)
	for b.Loop() {
		m.Measure(x)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(x)), "ns/sample")
}
