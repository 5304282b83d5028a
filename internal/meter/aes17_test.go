package meter

import (
	"fmt"
	"math"
	"testing"

	"tidemark/internal/conform"
	"tidemark/internal/signal"
	"tidemark/internal/unit"
)

// AES17-2020: levels re digital full scale.

const aes17Source = "from memory: AES17-2020, definition of 0 dBFS (the rms of a full-scale sine)"

func levelRow(t *testing.T, what, source, unit string, want, tolerance float64, digits int, got float64) {
	t.Helper()
	conform.Check(t, conform.Row{
		Section: "Levels", Case: what, Source: source, Unit: unit,
		Expected: want, Under: tolerance, Over: tolerance, Digits: digits, Measured: got,
	})
}

// rmsOf is the RMS level that a check shows, AES17.
func rmsOf(rate int, x []float32) float64 {
	return number(unit.MeanSquare(measureLevel(rate, x).MeanSquare))
}

func TestAES17FullScale(t *testing.T) {
	for _, rate := range standardRates {
		at := ", " + kHz(rate)
		sine := signal.Sine(rate, 997, 1, rate)
		square := signal.Sine(rate, 997, 1, rate)
		for i, v := range square {
			square[i] = float32(math.Copysign(1, float64(v)))
		}
		levelRow(t, "RMS of a 997 Hz sine, positive peak at full scale"+at, aes17Source, "dBFS", 0, 0.001, 4, rmsOf(rate, sine))
		levelRow(t, "RMS of a full-scale square wave"+at, aes17Source, "dBFS", 3.01, 0.005, 4, rmsOf(rate, square))
		levelRow(t, "crest of a 997 Hz sine"+at, "derived: 20·log10(√2)", "dB", 3.0103, 0.001, 4, number(CrestDB(measureLevel(rate, sine))))
		levelRow(t, "crest of a square wave"+at, "derived: peak is RMS", "dB", 0, 0.001, 4, number(CrestDB(measureLevel(rate, square))))
		levelRow(t, "RMS of a 997 Hz sine at −18 dBFS, the alignment level"+at, "EBU R 68-2000, alignment level (−18 from memory)", "dBFS", -18, 0.001, 4, rmsOf(rate, signal.Scale(sine, signal.Amplitude(-18))))
		levelRow(t, "RMS of a 997 Hz sine at −20 dBFS, the reference level"+at, "from memory: SMPTE RP 155, reference level", "dBFS", -20, 0.001, 4, rmsOf(rate, signal.Scale(sine, signal.Amplitude(-20))))

		dc := signal.Scale(sine, 0.25)
		for i := range dc {
			dc[i] += 0.01
		}
		levelRow(t, "DC of 0.01 of full scale under a sine, mean over full scale"+at, "derived: 20·log10(0.01)", "dB", -40, 0.001, 4, 20*math.Log10(measureLevel(rate, dc).DC))
		levelRow(t, "RMS of DC at full scale"+at, "derived: mean square of 1, "+aes17Source, "dBFS", 3.0103, 1e-4, 4, rmsOf(rate, offset(rate, 1)))
	}
}

// The codes at the ends of the range, as files of integers hold them.
func TestAES17FullScaleCodes(t *testing.T) {
	peak := func(code, bits int) float64 {
		x := signal.Silence(64)
		x[9] = float32(math.Ldexp(float64(code), 1-bits))
		return number(unit.Amplitude[unit.DBFS](measureLevel(48000, x).Peak))
	}
	for _, c := range []struct {
		code, bits int
		want       float64
	}{
		{-32768, 16, 0}, {32767, 16, -0.000265}, {-8388608, 24, 0}, {8388607, 24, -0.00000104},
		{1, 16, -90.308999}, {-1, 24, -138.473798},
	} {
		source := "derived: the code over 2^(bits − 1)"
		levelRow(t, fmt.Sprintf("sample peak of the code %d of %d bits", c.code, c.bits), source, "dBFS", c.want, 1e-6, 6, peak(c.code, c.bits))
	}
}

// quantized is a sine (or silence, for amplitude 0) rounded to so many bits,
// and the error that rounding made. Dither: 0 none, 1 rectangular, 2 triangular,
// the sum of so many independent numbers of ±½ step.
func quantized(rate, n, bits, dither int, amplitude float64) (x, wrong []float32) {
	steps := math.Ldexp(1, bits-1)
	noise := signal.NewNoise(uint64(bits + 100*dither))
	x, wrong = make([]float32, n), make([]float32, n)
	for i := range x {
		v := amplitude * math.Sin(2*math.Pi*math.Mod(997*float64(i)/float64(rate), 1))
		d := 0.0
		for range dither {
			d += noise.Uniform() / 2
		}
		q := math.Round(v*steps+d) / steps
		x[i], wrong[i] = float32(q), float32(q-v)
	}
	return x, wrong
}

// Quantisation noise, with Δ = 2^(1−bits): Δ²/12 without dither, Δ²/6 with
// rectangular, Δ²/4 with triangular dither, whatever the signal.
func TestAES17QuantisationNoise(t *testing.T) {
	const rate, n = 48000, 1 << 19
	const source = "derived: Lipshitz, Wannamaker and Vanderkooy, JAES 40(5) 1992"
	for _, c := range []struct {
		bits                         int
		none, triangular, aes17, snr float64
	}{
		{16, -101.10, -96.33, -93.32, 98.09},
		{20, -125.18, -120.41, -117.40, 122.17},
		{24, -149.27, -144.49, -141.48, 146.26},
	} {
		amplitude := 1 - math.Ldexp(1, 2-c.bits) // room for the dither
		plain := func(x []float32) float64 { return rmsOf(rate, x) - unit.SineOffsetDB }
		of := func(what string) string { return fmt.Sprintf("%d bits, %s", c.bits, what) }
		const tolerance = 0.05 // half a million samples scatter by about 0.01 dB

		x, wrong := quantized(rate, n, c.bits, 0, amplitude)
		levelRow(t, of("rounding error of a full-scale sine, no dither, re 1.0"), source+", Δ²/12", "dB", c.none, tolerance, 2, plain(wrong))
		levelRow(t, of("full-scale sine over its rounding error, no dither"), "derived: 6.02·bits + 1.76", "dB", c.snr, tolerance, 2, rmsOf(rate, x)-rmsOf(rate, wrong))
		_, wrong = quantized(rate, n, c.bits, 1, amplitude)
		levelRow(t, of("error with rectangular dither, over that without"), source+", Δ²/6", "dB", 3.01, tolerance, 2, plain(wrong)-c.none)
		_, wrong = quantized(rate, n, c.bits, 2, amplitude)
		levelRow(t, of("error of a full-scale sine, triangular dither, re 1.0"), source+", Δ²/4", "dB", c.triangular, tolerance, 2, plain(wrong))
		x, _ = quantized(rate, n, c.bits, 2, 0)
		levelRow(t, of("RMS of silence with triangular dither"), source+", Δ²/4 re a full-scale sine", "dBFS", c.aes17, tolerance, 2, rmsOf(rate, x))
		m := NewBits()
		m.Measure(x)
		levelRow(t, of("bits used by silence with triangular dither"), "derived: the last bit is set at random", "bits", float64(c.bits), 0, 0, float64(m.Reading().Used))
		w := NewWeightedLevel(rate, ZWeighted)
		w.Measure(x)
		wantNear(t, of("Z-weighted level of dither"), number(w.Reading().Level), rmsOf(rate, x), 1e-9)
	}
}

// White dither weighs less in dB(A): the mean of the squared curve.
func TestAES17NoiseFloorsInDBA(t *testing.T) {
	for _, rate := range standardRates {
		x, _ := quantized(rate, 1<<19, 16, 2, 0)
		m := NewWeightedLevel(rate, AWeighted)
		m.Measure(x)
		levelRow(t, "16 bits, A-weighted level of silence with triangular dither, "+kHz(rate),
			"derived: −93.32 dBFS and the mean of the squared curve of IEC 61672-1 Annex E up to half the rate", "dBFS",
			-93.32+whiteNoiseGain(AWeighted, rate), 0.1, 2, number(m.Reading().Level))
	}
}
