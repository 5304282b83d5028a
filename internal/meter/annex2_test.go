package meter

import (
	"fmt"
	"math"
	"reflect"
	"testing"

	"tidemark/internal/conform"
	"tidemark/internal/signal"
)

// Rec. ITU-R BS.1770-5 (11/2023) Annex 2: true peak.

const annex2Source = "ITU-R BS.1770-5 (11/2023) Annex 2"

// The taps as printed: phase 2 is phase 1 reversed, phase 3 is phase 0 reversed.
var annex2Printed = [4][12]float64{
	{0.0017089843750, 0.0109863281250, -0.0196533203125, 0.0332031250000, -0.0594482421875, 0.1373291015625,
		0.9721679687500, -0.1022949218750, 0.0476074218750, -0.0266113281250, 0.0148925781250, -0.0083007812500},
	{-0.0291748046875, 0.0292968750000, -0.0517578125000, 0.0891113281250, -0.1665039062500, 0.4650878906250,
		0.7797851562500, -0.2003173828125, 0.1015625000000, -0.0582275390625, 0.0330810546875, -0.0189208984375},
	{-0.0189208984375, 0.0330810546875, -0.0582275390625, 0.1015625000000, -0.2003173828125, 0.7797851562500,
		0.4650878906250, -0.1665039062500, 0.0891113281250, -0.0517578125000, 0.0292968750000, -0.0291748046875},
	{-0.0083007812500, 0.0148925781250, -0.0266113281250, 0.0476074218750, -0.1022949218750, 0.9721679687500,
		0.1373291015625, -0.0594482421875, 0.0332031250000, -0.0196533203125, 0.0109863281250, 0.0017089843750},
}

func TestAnnex2Table(t *testing.T) {
	f := newPeakFilter(48000, Annex2Table)
	if got, want := len(f.phases), len(annex2Printed); got != want {
		t.Fatalf("%d phases, want %d", got, want)
	}
	for p, taps := range annex2Printed {
		var worst, sum float64
		for k, want := range taps {
			got := float64(f.phases[p].taps[11-k]) // kept oldest sample first
			worst = max(worst, math.Abs(got-want))
			sum += got
		}
		conform.Check(t, conform.Row{
			Section: "True peak", Case: fmt.Sprintf("table of Annex 2, phase %d, largest difference of its 12 taps from the 13 printed digits", p),
			Source: annex2Source + ", table of taps", Digits: 6, Measured: worst,
		})
		conform.Check(t, conform.Row{
			Section: "True peak", Case: fmt.Sprintf("table of Annex 2, phase %d, gain at 0 Hz", p), Source: "derived: sum of the printed taps, " + annex2Source,
			Expected: []float64{1.00158691, 0.97302246, 0.97302246, 1.00158691}[p], Under: 1e-8, Over: 1e-8, Digits: 8, Measured: sum,
		})
	}
	for _, rate := range []int{44100, 88200, 96000} {
		if !reflect.DeepEqual(newPeakFilter(rate, Annex2Table), f) {
			t.Errorf("at %d Hz the table is another filter than at 48 kHz", rate)
		}
	}
}

// What the printed filter reads for full-scale sines, the lowest and highest of
// 64 starting phases: its pass-band ripple is part of it. At fs/12 and fs/4 it
// reads up to 0.22 dB high, by itself past the +0.2 dB that EBU Tech 3341 grants
// a meter. The meter reads the samples too, so it can lie above the lowest.
func TestAnnex2TableOnSines(t *testing.T) {
	f := newPeakFilter(48000, Annex2Table)
	for _, c := range []struct {
		name                  string
		part, lowest, highest float64
	}{
		{"0.02 fs", 0.02, 0.002, 0.009}, {"0.05 fs", 0.05, 0.004, 0.053}, {"fs/12", 1. / 12, 0.053, 0.219}, {"0.10 fs", 0.10, -0.047, 0.190},
		{"fs/8", 0.125, -0.042, 0.025}, {"fs/6", 1. / 6, -0.295, 0.023}, {"0.20 fs", 0.20, -0.096, 0.022}, {"fs/4", 0.25, -0.197, 0.220},
		{"0.30 fs", 0.30, -0.091, -0.022}, {"0.35 fs", 0.35, -0.018, 0.045}, {"0.40 fs", 0.40, -0.264, 0.152}, {"0.45 fs", 0.45, -0.455, -0.418},
	} {
		var literal, metered span
		for i := range 64 {
			x := steadySine(c.part, i)
			var most float32
			for at := 400; at < 800; at++ { // where it is steady
				for p := range f.phases {
					most = max(most, abs32(f.phases[p].value(x[at:at+12])))
				}
			}
			literal.add(20 * math.Log10(float64(most)))
			metered.add(truePeakOf(Annex2Table, 48000, x))
		}
		row := func(which string, want, got float64) {
			conform.Check(t, conform.Row{
				Section: "True peak", Case: fmt.Sprintf("table of Annex 2 alone, full-scale sine of %s, %s of 64 phases", c.name, which),
				Source: "derived: the printed filter in double precision, " + annex2Source, Unit: "dBTP",
				Expected: want, Under: 0.001, Over: 0.001, Digits: 3, Measured: got,
			})
		}
		row("lowest", c.lowest, literal.low)
		row("highest", c.highest, literal.up)
		wantSpan(t, c.name+" by the meter", metered, literal.low-1e-6, max(0, literal.up)+1e-4)
		wantNear(t, c.name+" by the meter, highest", metered.up, max(0, literal.up), 0.001)
	}
}

// steadySine is a full-scale sine of a part of the rate from one of 64 phases.
// It is faded, since a hard start is no sine.
func steadySine(part float64, phase int) []float32 {
	x := make([]float32, 1200)
	signal.NewTone(1, part, 1, 2*math.Pi*float64(phase)/64).Fill(x)
	signal.Fade(x, 400, 400)
	return x
}

func truePeakOf(kind Interpolator, rate int, x []float32) float64 {
	m := NewTruePeak(rate, kind)
	m.Measure(x)
	return number(m.Reading().Max)
}

// peaksOfSines is the lowest and highest reading over 64 starting phases.
func peaksOfSines(kind Interpolator, rate int, part float64) (s span) {
	for i := range 64 {
		s.add(truePeakOf(kind, rate, steadySine(part, i)))
	}
	return s
}

// The windowed sinc on full-scale sines of the frequencies of the true-peak
// cases of EBU Tech 3341 and below them, to the tolerance of those: up to 12 kHz
// at 48 kHz and its multiples, whatever the phase. At 192 kHz it reads the samples.
func TestWindowedSincOnSines(t *testing.T) {
	for _, rate := range standardRates {
		base := lowRate(rate)
		for _, part := range []float64{0.02, 0.05, 1. / 12, 0.10, 0.125, 1. / 6, 0.20, 0.25} {
			hz := part * float64(base)
			s := peaksOfSines(WindowedSinc, rate, hz/float64(rate))
			for which, got := range map[string]float64{"lowest": s.low, "highest": s.up} {
				conform.Check(t, conform.Row{
					Section: "True peak", Case: fmt.Sprintf("windowed sinc, full-scale sine of %s, %s of 64 phases, %s", hertz(hz), which, kHz(rate)),
					Source: "derived: 0 dBTP; tolerance of the true-peak cases of EBU Tech 3341 v4 Table 1", Unit: "dBTP",
					Under: 0.4, Over: 0.2, Digits: 3, Measured: got,
				})
			}
		}
	}
}

// Annex 2, Attachment 1: an interpolator that looks n times a sample reads a
// sine low by up to 20·log10(cos(π·f/(n·fs))). With an even number of samples a
// period there is a phase that comes to just that. n is 4 below 96 kHz, 2 below
// 192 kHz, 1 from there. The tolerance is our own: the filter's ripple.
func TestWorstUnderRead(t *testing.T) {
	for _, rate := range standardRates {
		n := 4.0
		if rate >= 192000 {
			n = 1
		} else if rate >= 96000 {
			n = 2
		}
		for _, parts := range []float64{4, 6, 8} {
			bound := 20 * math.Log10(math.Cos(math.Pi/parts/n))
			conform.Check(t, conform.Row{
				Section: "True peak", Case: fmt.Sprintf("worst under-read of a sine of fs/%g, windowed sinc, %g looks a sample, %s", parts, n, kHz(rate)),
				Source: annex2Source + ", Attachment 1; tolerance our own", Unit: "dB",
				Expected: bound, Under: 0.03, Over: 0.03, Digits: 3, Measured: peaksOfSines(WindowedSinc, rate, 1/parts).low,
			})
		}
	}
	// The same bound for what cases 20 to 23 become when their tones move up with
	// the rate, a period of 24 kHz at 96 kHz. The last value shows that the
	// windowed sinc stops short there; the four phases of the table do not.
	wide := betweenSamples(24000)
	for offset, last := range []float64{-0.152, -0.546, -0.152, -0.546} {
		x := everyNth(wide, 4, offset)
		signal.Fade(x, 960, 960)
		got := truePeakOf(WindowedSinc, 96000, x)
		conform.Check(t, conform.Row{
			Section: "True peak", Case: fmt.Sprintf("a period of 24 kHz at 1.00 among 16 kHz at 0.50, decimated by 4 at offset %d, 96 kHz, windowed sinc", offset),
			Source: annex2Source + ", Attachment 1: at most 0.688 dB low at fs/4 with twice the rate", Unit: "dBTP", Under: 0.688, Over: 0.2, Digits: 2, Measured: got,
		})
		wantNear(t, fmt.Sprintf("24 kHz at 96 kHz, offset %d, last value", offset), got, last, 0.0015)
	}
}
