package meter

import (
	"fmt"
	"math"
	"testing"

	"tidemark/internal/signal"
	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

func measureLevel(rate int, x []float32) LevelReading {
	m := NewLevel(rate)
	m.Measure(x)
	return m.Reading()
}

func wantNear(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %g, want %g ± %g", what, got, want, tolerance)
	}
}

// AES17-2020, definition of 0 dBFS (from memory): the RMS of a full-scale sine
// reads 0 dBFS, that of a full-scale square wave +3.01. Crest: 3.01 and 0 dB.
func TestLevelOfKnownWaves(t *testing.T) {
	const rate = 48000
	square := signal.Sine(rate, 1000, 1, rate)
	for i, v := range square {
		square[i] = 1
		if v < 0 {
			square[i] = -1
		}
	}
	for _, c := range []struct {
		name                  string
		x                     []float32
		rms, peak, crest, tol float64
	}{
		{"full-scale sine", signal.Sine(rate, 1000, 1, rate), 0, 0, 3.0103, 1e-4},
		{"sine at −18 dBFS", signal.Sine(rate, 1000, signal.Amplitude(-18), rate), -18, -18, 3.0103, 1e-4},
		{"full-scale square wave", square, 3.0103, 0, 0, 1e-4},
		{"white noise of RMS 0.1", signal.White(1, 0.1, 10*rate), -20 + 3.0103, -6.2, 13.8, 0.6},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := measureLevel(rate, c.x)
			wantNear(t, "RMS", float64(unit.MeanSquare(r.MeanSquare).Or(-999)), c.rms, min(c.tol, 0.05))
			wantNear(t, "peak", float64(unit.Amplitude[unit.DBFS](r.Peak).Or(-999)), c.peak, c.tol)
			wantNear(t, "crest", float64(CrestDB(r).Or(-999)), c.crest, c.tol)
		})
	}
	if got := CrestDB(LevelReading{}); got.Defined() {
		t.Errorf("crest of silence: got %v, want undefined", got)
	}
}

func TestLevelPeakOffsetAndHops(t *testing.T) {
	for _, rate := range []int{44100, 48000, 96000} {
		hop := rate / 10
		x := signal.Sine(rate, 100, 0.25, 5*hop+hop/2)
		for i := range x {
			x[i] += 0.125
		}
		for i := hop; i < 2*hop; i++ {
			x[i] = 0
		}
		x[3*hop+17], x[4*hop+1] = -0.9, 0.9
		r := measureLevel(rate, x)
		if got, want := r.PeakFrame, int64(3*hop+17); got != want {
			t.Errorf("%d Hz: peak at frame %d, want the first of two, %d", rate, got, want)
		}
		wantNear(t, "peak", r.Peak, float64(float32(0.9)), 0)
		if got, want := len(r.Hops), 6; got != want || r.HopFrames != hop {
			t.Fatalf("%d Hz: %d hops of %d frames, want %d of %d (the last is half full)", rate, got, r.HopFrames, want, hop)
		}
		wantNear(t, "mean square of a hop", float64(r.Hops[0].MeanSquare), 0.25*0.25/2+0.125*0.125, 1e-6)
		wantNear(t, "peak of a hop", float64(r.Hops[0].Peak), 0.375, 1e-4)
		if r.Hops[1] != (Hop{Bright: r.Hops[1].Bright}) {
			t.Errorf("%d Hz: silent hop is %+v", rate, r.Hops[1])
		}
		// Σ(x[n]−x[n−1])² of a sine: power times (2·sin(πf/fs))².
		step := 2 * math.Sin(math.Pi*100/float64(rate))
		wantNear(t, "brightness of a sine", float64(r.Hops[5].Bright), 0.25*0.25/2*step*step, 1e-8)
		whole := 0.125 * float64(len(x)-hop) / float64(len(x))
		wantNear(t, "DC", r.DC, whole, 1e-4)
		if short := measureLevel(rate, x[:hop+hop/2-1]); len(short.Hops) != 1 {
			t.Errorf("%d Hz: %d hops with less than half a hop over, want 1", rate, len(short.Hops))
		}
	}
}

// The mean is exact, not merely close: float64 sums of samples that are whole
// multiples of 2^−15 have no rounding.
func TestLevelOfSixteenBitSoundIsExact(t *testing.T) {
	x := signal.Quantize(signal.White(5, 0.2, 50001), 16)
	var sum, square float64
	for _, v := range x {
		sum += float64(v)
		square += float64(v) * float64(v)
	}
	r := measureLevel(44100, x)
	if got, want := r.MeanSquare, square/float64(len(x)); got != want {
		t.Errorf("mean square: got %v, want %v", got, want)
	}
	if got, want := r.DC, sum/float64(len(x)); got != want {
		t.Errorf("DC: got %v, want %v", got, want)
	}
}

func TestLevelLeavesOutBadSamples(t *testing.T) {
	const rate = 48000
	good := signal.Sine(rate, 1000, 0.5, rate)
	var x []float32
	for i, v := range good {
		if i%1000 == 3 {
			x = append(x, float32(math.NaN()), float32(math.Inf(-1)))
		}
		x = append(x, v)
	}
	got, want := measureLevel(rate, x), measureLevel(rate, good)
	if got.BadSamples != 96 || got.Frames != rate+96 {
		t.Errorf("got %d bad samples in %d frames, want 96 in %d", got.BadSamples, got.Frames, rate+96)
	}
	wantNear(t, "mean square", got.MeanSquare, want.MeanSquare, 1e-12)
	wantNear(t, "peak", got.Peak, want.Peak, 0)
	if v := x[got.PeakFrame]; math.Abs(float64(v)) != got.Peak {
		t.Errorf("peak frame %d holds %g, want %g", got.PeakFrame, v, got.Peak)
	}
	only := measureLevel(rate, []float32{float32(math.NaN()), float32(math.NaN())})
	if want := (LevelReading{Frames: 2, BadSamples: 2, HopFrames: 4800, Hops: []Hop{}}); fmt.Sprint(only) != fmt.Sprint(want) {
		t.Errorf("nothing but bad samples: got %+v, want %+v", only, want)
	}
}

func TestTidemark(t *testing.T) {
	const rate = 48000
	noise := signal.White(1, signal.Amplitude(-70-3.01), 10*rate) // a floor of −70 dBFS, AES17
	playing := signal.Join(
		signal.Sine(rate, 440, signal.Amplitude(-30), 4*rate),
		signal.Sine(rate, 440, signal.Amplitude(-20), 4*rate),
		signal.Sine(rate, 440, signal.Amplitude(-8), rate/10),
	)
	r := Tidemark(measureLevel(rate, signal.Join(signal.Silence(rate), noise, playing)))
	for _, c := range []struct {
		name string
		got  unit.Maybe[unit.DBFS]
		want float64
	}{
		{"floor", r.Floor, -70}, {"low end of the usual range", r.UsualLow, -30}, {"high end", r.UsualHigh, -20},
		{"highest hop", r.Highest, -8}, {"peak", r.Peak, -8},
	} {
		v, ok := c.got.Get()
		if !ok || math.Abs(float64(v)-c.want) > 0.2 {
			t.Errorf("%s: got %.2f (defined: %v), want %g dBFS", c.name, float64(v), ok, c.want)
		}
	}
	wantNear(t, "headroom", float64(r.Headroom.Or(-1)), 8, 0.01)
	if !r.Steady {
		t.Error("a noise floor is not called steady")
	}

	soft := signal.Sine(rate, 440, 0.1, 10*rate)
	for i := range soft { // dies away by 60 dB: soft playing, no floor
		soft[i] *= float32(math.Pow(10, -3*float64(i)/float64(len(soft))))
	}
	if r := Tidemark(measureLevel(rate, soft)); r.Steady {
		t.Error("the end of a note is called a steady floor")
	}
	if r := Tidemark(measureLevel(rate, noise[:rate])); r.Steady {
		t.Error("one second is called a steady floor")
	}
	if got := Tidemark(measureLevel(rate, signal.Silence(rate))); got != (TidemarkReading{}) {
		t.Errorf("digital silence: got %+v, want all undefined", got)
	}
	below := Tidemark(measureLevel(rate, signal.White(1, signal.Amplitude(-90), rate)))
	if below.UsualLow.Defined() || !below.Floor.Defined() {
		t.Errorf("noise under the gate: got %+v, want a floor and no usual range", below)
	}
	over := Tidemark(measureLevel(rate, signal.Sine(rate, 440, 2, rate)))
	wantNear(t, "headroom above full scale", float64(over.Headroom.Or(0)), -6.0206, 0.001)
}

func TestBits(t *testing.T) {
	noise := signal.White(3, 0.2, 5000)
	for _, c := range []struct {
		name string
		x    []float32
		want BitsReading
	}{
		{"nothing", nil, BitsReading{}},
		{"silence", signal.Silence(100), BitsReading{}},
		{"24 bits", signal.Quantize(noise, 24), BitsReading{Used: 24}},
		{"20 bits", signal.Quantize(noise, 20), BitsReading{Used: 20}},
		{"16 bits in a 24-bit file", signal.Quantize(noise, 16), BitsReading{Used: 16}},
		{"8 bits", signal.Quantize(noise, 8), BitsReading{Used: 8}},
		{"negative full scale alone", []float32{-1, 0}, BitsReading{Used: 1}},
		{"half of full scale", []float32{0.5}, BitsReading{Used: 2}},
		{"one step of 24 bits", []float32{0, -1.0 / (1 << 23)}, BitsReading{Used: 24}},
		{"minus zero", []float32{float32(math.Copysign(0, -1)), 0.5}, BitsReading{Used: 2}},
		{"float noise", noise, BitsReading{Used: 32, Float: true}},
		{"+1.0, which no integer holds", []float32{0.5, 1}, BitsReading{Used: 32, Float: true}},
		{"far past full scale", []float32{-256}, BitsReading{Used: 32, Float: true}},
		{"not a number", []float32{0.5, float32(math.NaN())}, BitsReading{Used: 32, Float: true}},
		{"infinite", []float32{float32(math.Inf(1))}, BitsReading{Used: 32, Float: true}},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := NewBits()
			m.Measure(c.x)
			if got := m.Reading(); got != c.want {
				t.Errorf("got %+v, want %+v", got, c.want)
			}
		})
	}
}

// Room that was made for a known length is room for all of it.
func TestReserveMakesRoomForAKnownLength(t *testing.T) {
	const rate, seconds = 8000, 100
	x := [][]float32{signal.Pink(1, 0.1, rate)}
	level, loudness := NewLevel(rate), NewLoudness(rate, 1, nil)
	level.Reserve(rate * seconds)
	loudness.Reserve(rate * seconds)
	b := sound.Block{Channels: x}
	got := testing.AllocsPerRun(seconds-1, func() { // and once to warm up
		level.Measure(x[0])
		loudness.Measure(&b)
	})
	if got != 0 {
		t.Errorf("%g allocations a second of sound, want none", got)
	}
	if got, want := len(level.Reading().Hops), seconds*10; got != want {
		t.Errorf("%d hops, want %d", got, want)
	}
}
