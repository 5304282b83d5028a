package meter

import (
	"fmt"
	"math"
	"testing"

	"tidemark/internal/conform"
	"tidemark/internal/signal"
	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

// Rec. ITU-R BS.1770-5 (11/2023). Values marked "derived" were computed in
// double precision from the Recommendation's formulas, not read in it.

const bs1770 = "ITU-R BS.1770-5 (11/2023) Annex 1"

// Annex 1, Tables 1 and 2: both filters at 48 kHz, digit by digit.
func TestBS1770Tables(t *testing.T) {
	k := newKCoefficients(48000)
	for _, c := range []struct {
		table, name   string
		printed, ours float64
	}{
		{"Table 1", "b0", 1.53512485958697, k.b0}, {"Table 1", "b1", -2.69169618940638, k.b1}, {"Table 1", "b2", 1.19839281085285, k.b2},
		{"Table 1", "a1", -1.69065929318241, k.a1}, {"Table 1", "a2", 0.73248077421585, k.a2},
		{"Table 2", "a1", -1.99004745483398, k.c1}, {"Table 2", "a2", 0.99007225036621, k.c2},
	} {
		conform.Check(t, conform.Row{
			Section: "Loudness", Case: fmt.Sprintf("K filter, %s, %s at 48 kHz, to all 14 printed digits", c.table, c.name), Source: bs1770 + " " + c.table,
			Expected: c.printed, Under: 5e-15, Over: 5e-15, Digits: 14, Measured: c.ours,
		})
	}

	// The filter itself against the printed difference equations, in another
	// form: its numerators and signs are right as well.
	x := signal.White(1, 0.5, 48000)
	var s kState
	var u1, u2, w1, w2, worst float64 // transposed form
	for _, v := range x {
		ours := math.Sqrt(kEnergy(&k, &s, []float32{v}, 0))
		in := float64(v)
		mid := 1.53512485958697*in + u1
		u1 = -2.69169618940638*in + 1.69065929318241*mid + u2
		u2 = 1.19839281085285*in - 0.73248077421585*mid
		out := mid + w1
		w1 = -2*mid + 1.99004745483398*out + w2
		w2 = mid - 0.99007225036621*out
		worst = max(worst, math.Abs(math.Abs(out)-ours))
	}
	conform.Check(t, conform.Row{
		Section: "Loudness", Case: "K filter, a second of white noise against the printed difference equations, largest difference, 48 kHz",
		Source: bs1770 + " Tables 1 and 2, rounding of doubles", Under: 0, Over: 1e-10, Digits: 6, Measured: worst,
	})
}

// Derived: the coefficients of other rates from the analogue prototype that
// reproduces the tables, by the bilinear transform.
func TestBS1770OtherRates(t *testing.T) {
	for _, c := range []struct {
		rate int
		want kCoefficients
	}{
		{44100, kCoefficients{1.53084123005035, -2.65097999515473, 1.16907907992159, -1.66365511325602, 0.71259542807323, -1.98916967362980, 0.98919903578704}},
		{88200, kCoefficients{1.55751537557965, -2.90562707992635, 1.36133397747221, -1.83091998796233, 0.84414226108785, -1.99457751545034, 0.99458487587805}},
		{96000, kCoefficients{1.55971422897580, -2.92674157825108, 1.37826120231582, -1.84460946989011, 0.85584332293064, -1.99501754472472, 0.99502375904092}},
		{192000, kCoefficients{1.57222721509128, -3.04728305156155, 1.47797134097961, -1.92220223060749, 0.92511773511683, -1.99750722284070, 0.99750877835551}},
	} {
		got := newKCoefficients(c.rate)
		for _, v := range []struct {
			name      string
			got, want float64
		}{
			{"b0", got.b0, c.want.b0}, {"b1", got.b1, c.want.b1}, {"b2", got.b2, c.want.b2},
			{"a1", got.a1, c.want.a1}, {"a2", got.a2, c.want.a2}, {"c1", got.c1, c.want.c1}, {"c2", got.c2, c.want.c2},
		} {
			if math.Abs(v.got-v.want) > 1e-13 {
				t.Errorf("%s at %d Hz: got %.14f, want %.14f", v.name, c.rate, v.got, v.want)
			}
		}
	}
}

// Response of the K filter at 48 kHz, derived from Tables 1 and 2. Measured
// with tones through the meter's own filter, not from its coefficients.
func TestBS1770Response(t *testing.T) {
	response := func(rate int, hz float64) float64 {
		k := newKCoefficients(rate)
		var s kState
		x := tone(rate, 2*rate, hz, 1) // a second is a whole number of half periods at every frequency here
		kEnergy(&k, &s, x[:rate], 0)   // run in
		return 10 * math.Log10(kEnergy(&k, &s, x[rate:], 0)/float64(rate)/0.5)
	}
	for _, c := range []struct{ hz, want float64 }{
		{20, -13.275}, {31.5, -7.790}, {50, -3.934}, {63, -2.664}, {80, -1.732}, {100, -1.133}, {125, -0.728},
		{160, -0.435}, {200, -0.265}, {250, -0.153}, {315, -0.075}, {400, -0.015}, {500, 0.042}, {630, 0.134},
		{800, 0.328}, {997, 0.691}, {1000, 0.698}, {1250, 1.342}, {1600, 2.290}, {2000, 3.071}, {2500, 3.580},
		{3150, 3.848}, {4000, 3.968}, {5000, 4.013}, {6300, 4.032}, {8000, 4.039}, {10000, 4.042}, {16000, 4.043}, {20000, 4.043},
	} {
		conform.Check(t, conform.Row{
			Section: "Loudness", Case: fmt.Sprintf("K filter, gain at %s, 48 kHz", hertz(c.hz)), Source: "derived: response of the filters printed in " + bs1770 + " Tables 1 and 2",
			Unit: "dB", Expected: c.want, Under: 0.001, Over: 0.001, Digits: 3, Measured: response(48000, c.hz),
		})
		// Derived: bilinear warping moves the shelf a little at other rates.
		for rate, most := range map[int]float64{44100: 0.007, 96000: 0.031} {
			wantNear(t, fmt.Sprintf("%g Hz at %d Hz", c.hz, rate), response(rate, c.hz), c.want, most)
		}
	}
}

// loudnessOfSound measures a programme in blocks of the usual length.
func loudnessOfSound(rateHz int, weights []float64, x ...[]float32) *Loudness {
	m := NewLoudness(rateHz, len(x), weights)
	feed(m.Measure, sound.BlockFrames, x...)
	return m
}

func wantLUFS(t *testing.T, what string, got unit.Maybe[unit.LUFS], want, tolerance float64) {
	t.Helper()
	l, ok := got.Get()
	if !ok || !(math.Abs(float64(l)-want) <= tolerance) {
		t.Errorf("%s: got %.4f (defined: %v), want %.4f ± %g LUFS", what, float64(l), ok, want, tolerance)
	}
}

// Annex 1: a 997 Hz sine of 0 dBFS in one of L, C, R reads −3.01 LKFS. The
// Recommendation's filters are those of 48 kHz; at other rates the tolerance is
// the ±0.1 LU that Tech 3341 gives a meter.
func TestBS1770Calibration(t *testing.T) {
	for _, rate := range standardRates {
		x := tone(rate, 2*rate, 997, 1)
		silence := signal.Silence(len(x))
		tolerance, source := 0.1, bs1770+", calibration; tolerance of EBU Tech 3341 v4"
		if rate == 48000 {
			tolerance, source = 0.005, bs1770+", calibration, to the printed digits"
		}
		row := func(what string, want float64, x ...[]float32) {
			got := number(loudnessOfSound(rate, nil, x...).Reading().Integrated)
			conform.Check(t, conform.Row{
				Section: "Loudness", Case: fmt.Sprintf("997 Hz sine of 0 dBFS, %s, %s", what, kHz(rate)), Source: source,
				Unit: "LUFS", Expected: want, Under: tolerance, Over: tolerance, Digits: 3, Measured: got,
			})
			// Off 48 kHz the shelf is warped, and the high pass with its numerator of
			// 1, −2, 1 at every rate lets through up to 0.03 dB less.
			last := map[int]float64{44100: -3.0075, 48000: -3.0103, 88200: -3.0259, 96000: -3.0276, 192000: -3.0373}[rate]
			wantNear(t, fmt.Sprintf("%s at %d Hz, last value", what, rate), got, last, 0.0005)
		}
		row("in L alone", -3.01, x, silence, silence)
		row("in R alone", -3.01, silence, x, silence)
		row("in C alone", -3.01, silence, silence, x)
		row("mono", -3.01, x)
		conform.Check(t, conform.Row{
			Section: "Loudness", Case: "997 Hz sine of 0 dBFS, in both of L and R, " + kHz(rate), Source: "derived: twice the power of one channel, " + source,
			Unit: "LUFS", Under: tolerance, Over: tolerance, Digits: 3, Measured: number(loudnessOfSound(rate, nil, x, x).Reading().Integrated),
		})
	}
	for _, rate := range []int{8000, 22050} { // bilinear warping at low rates
		wantLUFS(t, fmt.Sprintf("mono, %d Hz", rate), loudnessOfSound(rate, nil, signal.Sine(rate, 997, 1, 2*rate)).Reading().Integrated, -3.01, 0.15)
	}
}

// Derived: tones at −23 dBFS peak, from the response above.
func TestBS1770Tones(t *testing.T) {
	for _, rate := range standardRates {
		for _, c := range []struct {
			hz       float64
			channels int
			want     float64
		}{
			{1000, 1, -26.004}, {1000, 2, -22.993}, {50, 2, -27.625}, {100, 2, -24.825}, {440, 2, -23.683}, {10000, 2, -19.649},
		} {
			x := tone(rate, 5*rate, c.hz, signal.Amplitude(-23))
			channels := [][]float32{x, x}[:c.channels]
			got := number(loudnessOfSound(rate, nil, channels...).Reading().Integrated)
			what := []string{"mono", "stereo"}[c.channels-1]
			conform.Check(t, conform.Row{
				Section: "Loudness", Case: fmt.Sprintf("%s at −23 dBFS peak, %s, %s", hertz(c.hz), what, kHz(rate)),
				Source: "derived: response of " + bs1770 + " at 48 kHz; tolerance of EBU Tech 3341 v4", Unit: "LUFS",
				Expected: c.want, Under: 0.1, Over: 0.1, Digits: 3, Measured: got,
			})
			last := 0.005 // the run-in of the filter is part of the first block
			if rate != 48000 {
				last = 0.035 // as in TestBS1770Calibration
			}
			wantNear(t, fmt.Sprintf("%g Hz, %s, at %d Hz", c.hz, what, rate), got, c.want, last)
		}
	}
}

// Annex 1 Table 3: L, R, C count 1.0, surrounds 1.41 (+1.5 dB), the LFE nothing.
// The orders of channels are those of DefaultWeights, which a check uses.
func TestBS1770Weights(t *testing.T) {
	const rate = 48000
	x := signal.Sine(rate, 997, 0.1, rate)
	silence := signal.Silence(len(x))
	surround := 10 * math.Log10(1.41)
	alone := func(channels, c int) *Loudness {
		all := make([][]float32, channels)
		for i := range all {
			all[i] = silence
		}
		all[c] = x
		return loudnessOfSound(rate, nil, all...)
	}
	for _, layout := range []struct {
		name   string
		places []string
	}{
		{"mono", []string{"C"}},
		{"stereo", []string{"L", "R"}},
		{"three channels", []string{"L", "R", "C"}},
		{"four channels", []string{"L", "R", "Ls", "Rs"}},
		{"5.0", []string{"L", "R", "C", "Ls", "Rs"}},
		{"5.1", []string{"L", "R", "C", "LFE", "Ls", "Rs"}},
	} {
		n := len(layout.places)
		for c, place := range layout.places {
			m := alone(n, c)
			got := m.Reading().Integrated
			wantLUFS(t, fmt.Sprintf("%s of %s by itself", place, layout.name), m.ChannelReading(c).Integrated, -23.0103, 0.002)
			if place == "LFE" {
				conform.Check(t, conform.Row{
					Section: "Loudness", Case: "weight of LFE in 5.1: a tone in it alone has a loudness (1) or none (0)", Source: bs1770 + " Table 3",
					Measured: defined(got),
				})
				continue
			}
			gain := 0.0
			if place == "Ls" || place == "Rs" {
				gain = surround
			}
			conform.Check(t, conform.Row{
				Section: "Loudness", Case: fmt.Sprintf("weight of %s in %s, against a mono programme", place, layout.name), Source: bs1770 + " Table 3: 1.0 or 1.41, in dB",
				Unit: "LU", Expected: gain, Under: 0.005, Over: 0.005, Digits: 3, Measured: number(got) - number(alone(1, 0).Reading().Integrated),
			})
		}
	}
	loud := signal.Sine(rate, 50, 1, rate)
	with := loudnessOfSound(rate, nil, x, x, x, loud, x, x).Reading()
	without := loudnessOfSound(rate, nil, x, x, x, silence, x, x).Reading()
	conform.Check(t, conform.Row{
		Section: "Loudness", Case: "5.1 programme at −20 dBFS peak, moved by an LFE at full scale", Source: bs1770 + " Table 3: the LFE is not counted",
		Unit: "LU", Digits: 3, Measured: number(with.Integrated) - number(without.Integrated),
	})
	for c := range 8 { // eight lines of a pass
		wantLUFS(t, fmt.Sprintf("line %d of eight", c), alone(8, c).Reading().Integrated, -23.0103, 0.002)
	}
	got := loudnessOfSound(rate, []float64{0, 0.5}, x, x).Reading().Integrated
	wantLUFS(t, "weights of one's own", got, -23.0103-3.0103, 0.002)
}

// Pooling gates over the blocks of all programmes; the mean of two readings is another number.
func TestBS1770Pooling(t *testing.T) {
	const rate = 48000
	loud := signal.Sine(rate, 1000, signal.Amplitude(-20), 10*rate)
	quiet := signal.Sine(rate, 1000, signal.Amplitude(-40), 30*rate)
	a, b := loudnessOfSound(rate, nil, loud), loudnessOfSound(rate, nil, quiet)
	pooled := PooledIntegrated(a.ProgrammeHops(), b.ProgrammeHops())
	wantLUFS(t, "a loud and a quiet song", pooled, -20+0.698-3.0103-0.691, 0.003)
	r, ok := PooledRange(a.ProgrammeHops(), b.ProgrammeHops()).Get()
	if !ok || math.Abs(float64(r)-20) > 0.001 {
		// The quiet song lies 20 LU below the loud one but less below the mean.
		t.Errorf("range of both: got %v %v, want 20 LU", r, ok)
	}
	if got := PooledIntegrated(); got.Defined() {
		t.Errorf("no programme: got %v, want undefined", got)
	}
}

// At 22.05 kHz a tick of 10 ms is 220.5 frames: windows keep true time.
func TestTicksKeepTrueTime(t *testing.T) {
	for _, rate := range []int{11025, 22050, 44100, 48000, 47952} {
		m := NewLoudness(rate, 1, nil)
		feed(m.Measure, 1000, signal.Silence(rate*20))
		if got, want := m.ticks, int64(2000); got != want {
			t.Errorf("%d Hz: %d ticks in 20 s, want %d", rate, got, want)
		}
		if got, want := m.tickStart(2000), int64(rate)*20; got != want {
			t.Errorf("%d Hz: tick 2000 starts at frame %d, want %d", rate, got, want)
		}
	}
	low := NewLoudness(2000, 1, nil)
	feed(low.Measure, 1000, signal.White(1, 0.1, 20000))
	if got := low.Reading(); got != (LoudnessReading{}) {
		t.Errorf("2 kHz: got %+v, want all undefined", got)
	}
}
