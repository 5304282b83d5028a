package meter

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidemark/internal/signal"
	"tidemark/internal/unit"
)

// What must hold for any sound: gain moves every level by itself, polarity
// changes nothing, silence at the end moves no gated loudness.

// allLevels are the levels of a mono sound that gain must move.
func allLevels(rate int, x []float32) map[string]unit.Maybe[float64] {
	plain := func(v float64, ok bool) unit.Maybe[float64] {
		if !ok {
			return unit.None[float64]()
		}
		return unit.Some(v)
	}
	level := measureLevel(rate, x)
	tp := NewTruePeak(rate, WindowedSinc)
	tp.Measure(x)
	table := NewTruePeak(rate, Annex2Table)
	table.Measure(x)
	loudness := loudnessOfSound(rate, nil, x).Reading()
	v := map[string]unit.Maybe[float64]{}
	peak, ok := unit.Amplitude[unit.DBFS](level.Peak).Get()
	v["sample peak"] = plain(float64(peak), ok)
	rms, ok := unit.MeanSquare(level.MeanSquare).Get()
	v["RMS"] = plain(float64(rms), ok)
	t, ok := tp.Reading().Max.Get()
	v["true peak, windowed sinc"] = plain(float64(t), ok)
	t, ok = table.Reading().Max.Get()
	v["true peak, table"] = plain(float64(t), ok)
	m, ok := loudness.MaxMomentary.Get()
	v["largest momentary"] = plain(float64(m), ok)
	m, ok = loudness.MaxShortTerm.Get()
	v["largest short-term"] = plain(float64(m), ok)
	m, ok = loudness.Integrated.Get()
	v["integrated"] = plain(float64(m), ok)
	return v
}

// drawProgramme draws some seconds of pink noise in steps.
func drawProgramme(t *rapid.T, rate int) []float32 {
	noise := signal.NewNoise(rapid.Uint64().Draw(t, "seed"))
	var x []float32
	for range rapid.IntRange(1, 3).Draw(t, "steps") {
		y := make([]float32, rapid.IntRange(rate/4, 2*rate).Draw(t, "frames"))
		noise.FillPink(y, signal.Amplitude(rapid.Float64Range(-40, -15).Draw(t, "level")))
		x = append(x, y...)
	}
	return x
}

func TestPropertyGainMovesEveryLevel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const rate = 8000
		x := drawProgramme(t, rate)
		// Within ±15 dB every part stays above the absolute gate of −70 LUFS.
		gain := rapid.Float64Range(-15, 15).Draw(t, "gain")
		before, after := allLevels(rate, x), allLevels(rate, signal.Gain(x, gain))
		for name, want := range before {
			got := after[name]
			if got.Defined() != want.Defined() || math.Abs(got.Or(0)-want.Or(0)-gain) > 1e-3 && want.Defined() {
				t.Fatalf("%s: got %v, want %v moved by %g dB", name, got, want, gain)
			}
		}
	})
}

func TestPropertyPolarityChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const rate = 48000
		x := drawSound(t, rate/2)
		want := allLevels(rate, x)
		for name, got := range allLevels(rate, signal.Scale(x, -1)) {
			if got != want[name] {
				t.Fatalf("%s: got %v, want %v", name, got, want[name])
			}
		}
	})
}

// Silence appended after a second in which the sound has died away adds only
// gating blocks below the gate. The filter's ringing ends in the last block.
func TestPropertySilenceAtTheEndMovesNoGatedLoudness(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const rate = 8000
		x := signal.Join(drawProgramme(t, rate), signal.Silence(rate))
		silence := signal.Silence(rapid.IntRange(1, 5*rate).Draw(t, "silence"))
		want := loudnessOfSound(rate, nil, x).Reading()
		got := loudnessOfSound(rate, nil, signal.Join(x, silence)).Reading()
		if got.Integrated != want.Integrated || got.MaxMomentary != want.MaxMomentary {
			t.Fatalf("got %+v, want %+v", got, want)
		}
	})
}

// Loudness and true peak take samples that are no number for 0; stereo leaves their frames out.
func TestBadSamplesReadAsIfTheyWereNotThere(t *testing.T) {
	const rate = 48000
	zeroed := signal.Pink(9, 0.1, rate)
	broken := signal.Copy(zeroed)
	other := signal.Pink(10, 0.1, rate)
	var keptL, keptR []float32
	for i := range broken {
		switch {
		case i%977 == 5:
			broken[i], zeroed[i] = float32(math.NaN()), 0
		case i%1501 == 7:
			broken[i], zeroed[i] = float32(math.Inf(1)), 0
		default:
			keptL, keptR = append(keptL, zeroed[i]), append(keptR, other[i])
		}
	}
	if got, want := loudnessOfSound(rate, nil, broken).Reading(), loudnessOfSound(rate, nil, zeroed).Reading(); got != want || !got.Integrated.Defined() {
		t.Errorf("loudness: got %+v, want %+v", got, want)
	}
	a, b := NewTruePeak(rate, WindowedSinc), NewTruePeak(rate, WindowedSinc)
	a.Measure(broken)
	b.Measure(zeroed)
	if got, want := a.Reading(), b.Reading(); got != want || !got.Max.Defined() {
		t.Errorf("true peak: got %+v, want %+v", got, want)
	}
	got, want := measureStereo(broken, other), measureStereo(keptL, keptR)
	wantNear(t, "correlation", got.Correlation.Or(9), want.Correlation.Or(-9), 1e-12)
	wantNear(t, "mono loss", float64(got.MonoLoss.Or(9)), float64(want.MonoLoss.Or(-9)), 1e-12)
}
