package meter

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidemark/internal/signal"
	"tidemark/internal/unit"
)

// Skipping is a matter of speed alone: the reading is the same bit for bit as
// with every value computed, for any sound in blocks of any length.
func TestTruePeakSkipsNothingThatCounts(t *testing.T) {
	for range 12 { // of 100 sounds each
		rapid.Check(t, checkNothingSkipped)
	}
}

func checkNothingSkipped(t *rapid.T) {
	rate := rapid.SampledFrom(standardRates).Draw(t, "rate")
	kind := rapid.SampledFrom([]Interpolator{WindowedSinc, Annex2Table}).Draw(t, "interpolator")
	x := drawPeaks(t, rate, kind, 6000)
	fast, full := NewTruePeak(rate, kind), NewTruePeak(rate, kind)
	full.exhaustive = true
	for at := 0; at < len(x); {
		n := min(len(x)-at, rapid.OneOf(rapid.IntRange(1, 70), rapid.IntRange(1, 3000)).Draw(t, "block"))
		fast.Measure(x[at : at+n])
		full.Measure(x[at : at+n])
		at += n
		if rapid.IntRange(0, 3).Draw(t, "read on the way") == 0 {
			if got, want := fast.Reading(), full.Reading(); got != want {
				t.Fatalf("after %d frames: got %+v, want %+v as with every value computed", at, got, want)
			}
		}
	}
	got := fast.Reading()
	if want := full.Reading(); got != want {
		t.Fatalf("got %+v, want %+v as with every value computed", got, want)
	}
	if want := plainTruePeak(rate, kind, x); got.Max != unit.Amplitude[unit.DBTP](float64(want)) {
		t.Fatalf("got %v, want %v of a plain sum", got.Max, want)
	}
}

// plainTruePeak takes every sample and every value of every phase, without any
// of the meter's own streaming.
func plainTruePeak(rate int, kind Interpolator, x []float32) float32 {
	f := newPeakFilter(rate, kind)
	w := signal.Join(signal.Silence(f.length), x, signal.Silence(f.delay))
	var most float32
	for i, v := range w {
		if !finiteSample(v) {
			w[i] = 0
		}
		most = max(most, abs32(w[i]))
	}
	for at := 1; f.length > 0 && at+f.length <= len(w); at++ {
		for p := range f.phases {
			most = max(most, abs32(f.phases[p].value(w[at:at+f.length])))
		}
	}
	return most
}

// drawPeaks draws a sound of what may trip a search for peaks: stretches of
// noise, clipping, lone and crowded impulses, sines about a quarter of the rate
// and elsewhere near full scale, silence and bursts, and samples that are no
// numbers, very large or very small, and samples with the signs of a phase's
// taps, which come to the very bounds that the search leaves places out by.
func drawPeaks(t *rapid.T, rate int, kind Interpolator, most int) []float32 {
	var x []float32
	for range rapid.IntRange(1, 6).Draw(t, "stretches") {
		frames := rapid.SampledFrom([]int{1, 17, 63, 64, 65, 130, 300, 700, most / 6}).Draw(t, "frames")
		a := signal.Amplitude(rapid.OneOf(rapid.Float64Range(-1, 1), rapid.Float64Range(-80, 6)).Draw(t, "level"))
		y := signal.Silence(frames)
		switch rapid.IntRange(0, 9).Draw(t, "what") {
		case 0: // silence
		case 1:
			y = signal.White(rapid.Uint64().Draw(t, "seed"), a/3, frames)
		case 2: // driven into the rails
			y = signal.White(rapid.Uint64().Draw(t, "seed"), 2*a, frames)
			signal.Clip(y, a)
		case 3: // impulses, few or many
			every := rapid.SampledFrom([]int{1, 2, 3, 7, 64, 65, 500}).Draw(t, "every")
			for i := rapid.IntRange(0, every-1).Draw(t, "first"); i < frames; i += every {
				y[i] = float32(a) * float32(1-i%3)
			}
		case 4: // about a quarter of the rate
			hz := float64(rate) * (0.25 + rapid.Float64Range(-0.002, 0.002).Draw(t, "beside"))
			signal.NewTone(rate, hz, a, rapid.Float64Range(0, 2*math.Pi).Draw(t, "phase")).Fill(y)
		case 5:
			signal.NewTone(rate, rapid.Float64Range(20, float64(rate)/2).Draw(t, "hz"), a, rapid.Float64Range(0, 2*math.Pi).Draw(t, "phase")).Fill(y)
		case 6: // silence, then a burst
			from := rapid.IntRange(0, frames-1).Draw(t, "from")
			copy(y[from:], signal.White(rapid.Uint64().Draw(t, "seed"), a, frames-from))
		case 7: // steps of few values, as of few bits
			y = signal.Quantize(signal.White(rapid.Uint64().Draw(t, "seed"), a, frames), rapid.IntRange(2, 5).Draw(t, "bits"))
		case 8: // no numbers, and the ends of the range
			y = signal.White(rapid.Uint64().Draw(t, "seed"), a/3, frames)
			odd := []float32{float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1)), math.SmallestNonzeroFloat32, -1e-40, 1e30, float32(math.Copysign(0, -1)), 1, -1}
			for range rapid.IntRange(1, 5).Draw(t, "odd ones") {
				y[rapid.IntRange(0, frames-1).Draw(t, "at")] = rapid.SampledFrom(odd).Draw(t, "odd")
			}
		case 9:
			f := newPeakFilter(rate, kind)
			if f.length == 0 {
				break
			}
			taps := f.phases[rapid.IntRange(0, len(f.phases)-1).Draw(t, "phase")].taps[:f.length]
			middle := rapid.SampledFrom([]int{0, 2, 4}).Draw(t, "middle")
			part := rapid.Float64Range(0, 1).Draw(t, "part")
			gap := rapid.IntRange(0, 9).Draw(t, "gap")
			for i := range y {
				if j := i % (len(taps) + gap); j < len(taps) {
					v := a
					if d := 2*j + 1 - len(taps); max(d, -d) < middle {
						v *= part
					}
					y[i] = float32(math.Copysign(v, float64(taps[j])))
				}
			}
		}
		x = append(x, y...)
	}
	return x
}

// drawSound draws a sound of stretches of tone, noise, clipping and silence.
func drawSound(t *rapid.T, most int) []float32 {
	var x []float32
	n := rapid.IntRange(1, 5).Draw(t, "stretches")
	for range n {
		frames := rapid.IntRange(1, most/5).Draw(t, "frames")
		level := rapid.Float64Range(-60, 6).Draw(t, "level")
		a := signal.Amplitude(level)
		switch rapid.IntRange(0, 4).Draw(t, "what") {
		case 0:
			x = append(x, signal.Silence(frames)...)
		case 1:
			x = append(x, signal.White(rapid.Uint64().Draw(t, "seed"), a, frames)...)
		case 2:
			x = append(x, signal.Sine(48000, rapid.Float64Range(20, 20000).Draw(t, "hz"), a, frames)...)
		case 3:
			y := signal.White(rapid.Uint64().Draw(t, "seed"), 2*a, frames)
			signal.Clip(y, a)
			x = append(x, y...)
		case 4:
			x = append(x, signal.Impulse(frames, rapid.IntRange(0, frames-1).Draw(t, "at"), a)...)
		}
	}
	return x
}

// A sine of a quarter of the rate at 45° hides its crests between the samples:
// the peak is 3.01 dB over the sample peak (derived).
func TestTruePeakPlaceAndOvers(t *testing.T) {
	const rate = 48000
	hidden := func(amplitude float64, frames int) []float32 {
		x := make([]float32, frames)
		signal.NewTone(rate, rate/4, amplitude, math.Pi/4).Fill(x)
		signal.Fade(x, frames/4, frames/4)
		return x
	}
	quiet := signal.Silence(rate / 4)
	for _, c := range []struct {
		name  string
		x     []float32
		overs int
		from  int64 // where the peak may lie
		to    int64
	}{
		{"no over", signal.Join(quiet, hidden(0.9, 2000)), 0, 12500, 13500},
		{"one hidden over", signal.Join(quiet, hidden(1.2, 2000)), 1, 12500, 13500},
		{"two stretches", signal.Join(hidden(1.2, 2000), quiet, hidden(1.3, 2000)), 2, 14500, 15500},
		{"a low note is one stretch", signal.Sine(rate, 41.2, 1.5, rate), 1, 0, rate},
		{"a low note just under full scale", signal.Join(quiet, fadedSine(rate, 100, 0.99, rate), quiet), 0, 12000, 60000},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := NewTruePeak(rate, WindowedSinc)
			m.Measure(c.x)
			r := m.Reading()
			if r.Overs != c.overs {
				t.Errorf("overs: got %d, want %d", r.Overs, c.overs)
			}
			if r.Frame < c.from || r.Frame > c.to {
				t.Errorf("frame: got %d, want %d to %d", r.Frame, c.from, c.to)
			}
		})
	}
}

func fadedSine(rate int, hz, amplitude float64, frames int) []float32 {
	x := signal.Sine(rate, hz, amplitude, frames)
	signal.Fade(x, rate/10, rate/10)
	return x
}

// The place of a crest between two given samples is the first of them, whatever the interpolator.
func TestTruePeakFrameIsExact(t *testing.T) {
	for _, rate := range []int{48000, 96000} {
		for _, kind := range []Interpolator{WindowedSinc, Annex2Table} {
			for _, at := range []int{0, 63, 64, 200} {
				x := signal.Silence(300)
				x[at], x[at+1] = 0.6, 0.6 // the wave bulges between two equal samples
				m := NewTruePeak(rate, kind)
				m.Measure(x)
				r := m.Reading()
				if r.Frame != int64(at) || r.Max.Or(-99) < -3.9 {
					t.Errorf("%d Hz, interpolator %d, samples %d and %d: got %v dBTP at %d", rate, kind, at, at+1, r.Max, r.Frame)
				}
			}
		}
	}
}

// A crest just before the end is seen: the tail of the filter counts.
func TestTruePeakSeesTheTail(t *testing.T) {
	for _, n := range []int{2, 63, 64, 65, 126, 128} {
		x := signal.Silence(n)
		x[n-2], x[n-1] = 0.5, 0.5
		m := NewTruePeak(48000, WindowedSinc)
		m.Measure(x)
		r := m.Reading()
		// Halfway between two equal samples of a: a · 2 · sinc(1/2), windowed: 1.9 dB up.
		if got := float64(r.Max.Or(-99)); math.Abs(got-(-6.02+1.9)) > 0.2 || r.Frame != int64(n-2) {
			t.Errorf("%d frames: got %.3f dBTP at frame %d, want about −4.1 at %d", n, got, r.Frame, n-2)
		}
	}
	if r := NewTruePeak(48000, WindowedSinc).Reading(); r != (TruePeakReading{}) {
		t.Errorf("nothing: got %+v, want undefined", r)
	}
}

// From 192 kHz up the samples are close enough: the true peak is the sample peak.
func TestTruePeakAtHighRatesIsTheSamplePeak(t *testing.T) {
	x := signal.White(1, 0.3, 5000)
	x[1234] = -1.5
	m := NewTruePeak(192000, WindowedSinc)
	m.Measure(x)
	r := m.Reading()
	if got, want := float64(r.Max.Or(0)), 20*math.Log10(1.5); math.Abs(got-want) > 1e-9 || r.Frame != 1234 || r.Overs < 1 {
		t.Errorf("got %+v, want %g dBTP at 1234 with an over", r, want)
	}
}

func BenchmarkTruePeak(b *testing.B) {
	clipped := signal.White(1, 1, 48000)
	signal.Clip(clipped, 1)
	driven := signal.Gain(signal.Pink(1, 0.1, 48000), 14)
	signal.Clip(driven, 1)
	for _, c := range []struct {
		name string
		x    []float32
	}{
		{"pink noise", signal.Pink(1, 0.1, 48000)},
		{"driven 14 dB into the rails", driven},
		{"clipped white noise", clipped},
	} {
		for _, rate := range []int{48000, 96000} {
			b.Run(fmt.Sprintf("%s, %d Hz", c.name, rate), func(b *testing.B) {
				m := NewTruePeak(rate, WindowedSinc)
				m.Measure(c.x)
				for b.Loop() {
					m.Measure(c.x)
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(c.x)), "ns/sample")
			})
		}
	}
}
