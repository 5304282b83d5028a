package signal

import (
	"math"
	"slices"
	"testing"
)

func rms(x []float32) float64 {
	var s float64
	for _, v := range x {
		s += float64(v) * float64(v)
	}
	return math.Sqrt(s / float64(len(x)))
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %g, want %g ± %g", what, got, want, tolerance)
	}
}

func TestToneRunsOnAcrossBlocks(t *testing.T) {
	whole := Sine(48000, 997, 0.5, 5000)
	tone := NewTone(48000, 997, 0.5, 0)
	var pieces []float32
	for _, n := range []int{1, 996, 4003} {
		b := make([]float32, n)
		tone.Fill(b)
		pieces = append(pieces, b...)
	}
	if !slices.Equal(pieces, whole) {
		t.Error("a tone in three pieces differs from the whole")
	}
	near(t, "RMS of a sine of 0.5", rms(Sine(48000, 1000, 0.5, 48000)), 0.5/math.Sqrt2, 1e-7)
	near(t, "phase of a quarter turn", float64(firstOf(NewTone(48000, 1000, 1, math.Pi/2))), 1, 1e-7)
}

func firstOf(tone *Tone) float32 {
	b := make([]float32, 1)
	tone.Fill(b)
	return b[0]
}

func TestStepsKeepTimeAndPhase(t *testing.T) {
	x := Steps(48000, 1000, Segment{-20, 1.34}, Segment{-30, 1.66}, Segment{math.Inf(-1), 0.5})
	if got, want := len(x), 168000; got != want {
		t.Fatalf("length %d, want %d", got, want)
	}
	near(t, "level of the first step", rms(x[:64320])*math.Sqrt2, 0.1, 1e-6)
	near(t, "level of the second step", rms(x[64320:144000])*math.Sqrt2, Amplitude(-30), 1e-6)
	near(t, "silent step", rms(x[144000:]), 0, 0)
	want := Sine(48000, 1000, Amplitude(-30), 70000)[69000]
	near(t, "phase runs on", float64(x[69000]), float64(want), 1e-7)
}

func TestNoise(t *testing.T) {
	const n = 1 << 18
	white := White(7, 0.1, n)
	near(t, "RMS of white noise", rms(white), 0.1, 0.001)
	if !slices.Equal(white[:100], White(7, 0.1, 100)) || slices.Equal(white[:100], White(8, 0.1, 100)) {
		t.Error("noise does not follow its seed")
	}
	pink := Pink(7, 0.1, n)
	near(t, "RMS of pink noise", rms(pink), 0.1, 0.01)
	// Each octave of pink noise holds the same power; Haar differences of
	// averages over 2^k frames weigh the spectrum around fs/2^(k+1) alike.
	var levels []float64
	for k := 3; k <= 8; k++ {
		w := 1 << k
		var s float64
		blocks := 0
		for i := 0; i+2*w <= n; i += 2 * w {
			var d float64
			for j := range w {
				d += float64(pink[i+j]) - float64(pink[i+w+j])
			}
			s += d * d / float64(w*w)
			blocks++
		}
		levels = append(levels, 10*math.Log10(s/float64(blocks)))
	}
	for i, l := range levels[1:] {
		near(t, "octave beside octave, dB", l, levels[i], 0.8)
	}
}

func TestShapes(t *testing.T) {
	x := Join(Silence(2), Impulse(3, 1, 0.5))
	if want := []float32{0, 0, 0, 0.5, 0}; !slices.Equal(x, want) {
		t.Errorf("Join: got %v, want %v", x, want)
	}
	if got, want := Delay(x, 1), []float32{0, 0, 0, 0, 0.5}; !slices.Equal(got, want) {
		t.Errorf("Delay: got %v, want %v", got, want)
	}
	if got, want := Quantize([]float32{0.3, -2, 2}, 3), []float32{0.25, -1, 0.75}; !slices.Equal(got, want) {
		t.Errorf("Quantize: got %v, want %v", got, want)
	}
	y := []float32{1, 1, 1, 1, 1}
	Fade(y, 2, 2)
	for i, want := range []float64{0, 0.5, 1, 0.5, 0} {
		near(t, "Fade", float64(y[i]), want, 1e-6)
	}
	z := []float32{1, -3}
	Clip(z, 0.5)
	if want := []float32{0.5, -0.5}; !slices.Equal(z, want) {
		t.Errorf("Clip: got %v, want %v", z, want)
	}
	near(t, "Gain", float64(Gain([]float32{1}, -6)[0]), 0.501187, 1e-6)
	d := []float32{1, 1, 1}
	Decay(d, 2)
	near(t, "Decay", float64(d[2]), math.Exp(-1), 1e-6)
}
