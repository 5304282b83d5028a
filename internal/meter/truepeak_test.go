package meter

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidemark/internal/signal"
)

// BS.1770-5 Annex 2: the printed table. Sums of its phases at DC, derived from
// the printed values; a mistyped tap would change them.
func TestAnnex2TableSums(t *testing.T) {
	f := newPeakFilter(48000, Annex2Table)
	if got, want := len(f.phases), 4; got != want {
		t.Fatalf("%d phases, want %d", got, want)
	}
	for p, want := range []float64{1.00158691, 0.97302246, 0.97302246, 1.00158691} {
		var got float64
		for _, v := range f.phases[p].taps {
			got += float64(v)
		}
		if math.Abs(got-want) > 1e-8 {
			t.Errorf("phase %d adds up to %.8f, want %.8f", p, got, want)
		}
	}
	// Printed: tap 0 of phase 1, tap 5 of phase 2, tap 11 of phase 3. Taps are kept oldest sample first.
	for _, c := range []struct {
		phase, tap int
		want       float64
	}{{1, 0, -0.0291748046875}, {2, 5, 0.7797851562500}, {3, 11, 0.0017089843750}, {0, 6, 0.9721679687500}} {
		if got := float64(f.phases[c.phase].taps[11-c.tap]); got != c.want {
			t.Errorf("tap %d of phase %d: got %.13f, want %.13f", c.tap, c.phase, got, c.want)
		}
	}
}

// What the printed filter reads for full-scale sines over 64 starting phases,
// derived. The meter reads the sample peak where that is higher, so only the
// highest readings above 0 dB are its own; the lowest cannot lie under the printed ones.
func TestAnnex2TableOnSines(t *testing.T) {
	for _, c := range []struct{ part, lowest, highest float64 }{
		{0.02, 0.002, 0.009}, {0.05, 0.004, 0.053}, {0.0833, 0.053, 0.219}, {0.10, -0.047, 0.190}, {0.125, -0.042, 0.025},
		{0.20, -0.096, 0.022}, {0.25, -0.197, 0.220}, {0.35, -0.018, 0.045}, {0.40, -0.264, 0.152},
	} {
		low, up := peaksOfSines(Annex2Table, 48000, c.part)
		if low < c.lowest-0.002 || math.Abs(up-c.highest) > 0.006 {
			t.Errorf("%g fs: got %.3f … %.3f, want from %.3f up to %.3f dBTP", c.part, low, up, c.lowest, c.highest)
		}
	}
}

// The windowed sinc on full-scale sines: never under the bound of an ideal
// interpolator of the same factor (BS.1770-5 Annex 2, Attachment 1) by more
// than its own droop near half the rate, never far above the truth.
func TestWindowedSincOnSines(t *testing.T) {
	for _, rate := range []int{48000, 96000} {
		times := 4.0
		if rate == 96000 {
			times = 2
		}
		for _, part := range []float64{0.02, 0.05, 0.0833, 0.10, 0.125, 0.1667, 0.20, 0.25, 0.30, 0.35, 0.40} {
			low, up := peaksOfSines(WindowedSinc, rate, part)
			bound := 20 * math.Log10(math.Cos(math.Pi*part/times))
			if low < bound-0.15 || up > 0.08 {
				t.Errorf("%g fs at %d Hz: got %.3f … %.3f, want from %.3f − 0.15 to 0.08 dBTP", part, rate, low, up, bound)
			}
		}
	}
}

// peaksOfSines is the lowest and highest reading over 64 starting phases of a
// steady sine. It is faded, since a hard start is no sine.
func peaksOfSines(kind Interpolator, rate int, part float64) (low, up float64) {
	low, up = math.Inf(1), math.Inf(-1)
	for i := range 64 {
		x := make([]float32, 3000)
		signal.NewTone(1, part, 1, math.Pi*float64(i)/64).Fill(x)
		signal.Fade(x, 1000, 1000)
		m := NewTruePeak(rate, kind)
		m.Measure(x)
		v := float64(m.Reading().Max.Or(-99))
		low, up = min(low, v), max(up, v)
	}
	return low, up
}

// Skipping is a matter of speed alone.
func TestTruePeakSkipsNothingThatCounts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.SampledFrom([]int{44100, 48000, 96000, 192000}).Draw(t, "rate")
		kind := rapid.SampledFrom([]Interpolator{WindowedSinc, Annex2Table}).Draw(t, "interpolator")
		x := drawSound(t, 6000)
		fast, full := NewTruePeak(rate, kind), NewTruePeak(rate, kind)
		full.exhaustive = true
		for at := 0; at < len(x); {
			n := min(len(x)-at, rapid.IntRange(1, 3000).Draw(t, "block"))
			fast.Measure(x[at : at+n])
			full.Measure(x[at : at+n])
			at += n
		}
		if got, want := fast.Reading(), full.Reading(); got != want {
			t.Fatalf("got %+v, want %+v as with every value computed", got, want)
		}
	})
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
