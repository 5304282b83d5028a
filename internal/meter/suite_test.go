package meter

import (
	"fmt"
	"math"
	"reflect"
	"runtime"
	"testing"

	"tidemark/internal/signal"
	"tidemark/internal/sound"
)

// suiteMeter is a row of the shared suite: what every meter of this package
// must hold to. Rows are added by init functions of files next to this one:
// suite_rows_test.go for levels and loudness, suite_faults_test.go for faults,
// spectrum and onsets, each with
//
//	func init() { suiteMeters = append(suiteMeters, suiteMeter{…}) }
type suiteMeter struct {
	name     string
	channels int // that it is fed
	// start makes a meter and returns its two ends. A one-channel meter
	// measures b.Channels[0].
	start func(rateHz int) (measure func(b *sound.Block), reading func() any)
	// bytesPerSecond is how much the meter may keep for each second of sound,
	// as its doc comment promises; 0 for meters that do not grow.
	bytesPerSecond int
}

var suiteMeters []suiteMeter

// oneChannel makes a row's start from a meter of one channel.
func oneChannel[M interface {
	Measure([]float32)
	Reading() R
}, R any](start func(rateHz int) M) func(int) (func(*sound.Block), func() any) {
	return func(rateHz int) (func(*sound.Block), func() any) {
		m := start(rateHz)
		return func(b *sound.Block) { m.Measure(b.Channels[0]) }, func() any { return m.Reading() }
	}
}

// feed hands x, one slice a channel, to measure in blocks of blockFrames.
func feed(measure func(*sound.Block), blockFrames int, x ...[]float32) {
	b := sound.Block{Channels: make([][]float32, len(x))}
	for at := 0; at < len(x[0]); at += blockFrames {
		b.Start = int64(at)
		for c := range x {
			b.Channels[c] = x[c][at:min(at+blockFrames, len(x[c]))]
		}
		measure(&b)
	}
}

// suiteSounds are the sounds that every meter is given: something of
// everything that a line may bring, and pathological things.
func suiteSounds(rateHz int) map[string][][]float32 {
	second := rateHz
	band := signal.Join(
		signal.Silence(second/10),
		signal.Pink(1, 0.02, second/2),
		signal.Sine(rateHz, 50, 0.01, second/4),
		signal.Gain(signal.White(2, 0.5, second/2), 3), // past full scale
		signal.Silence(second/20),
		signal.Sine(rateHz, 997, 0.9, 2*second+331),
	)
	for at := second; at < len(band); at += second / 3 {
		band[at] += 0.7 // clicks
	}
	other := signal.Scale(signal.Delay(band, 37), -0.5)
	broken := signal.Copy(band)
	for i, v := range []float32{float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1)), math.MaxFloat32} {
		broken[second+i*61] = v
		broken[len(broken)-1-i] = v
	}
	clipped := signal.Gain(band, 6)
	signal.Clip(clipped, 0.999)
	return map[string][][]float32{
		"a band":                     {band, other},
		"samples that are no number": {broken, band},
		"clipped 16-bit sound":       {signal.Quantize(clipped, 16), signal.Quantize(other, 16)},
		"an offset":                  {signal.Join(signal.Silence(1), offset(2*second, 0.25)), offset(2*second+1, -0.5)},
		"silence":                    {signal.Silence(second), signal.Silence(second)},
		"a hundred frames":           {band[second : second+100], other[second : second+100]},
		"one frame":                  {{0.5}, {-0.25}},
	}
}

func offset(frames int, value float32) []float32 {
	x := signal.Silence(frames)
	for i := range x {
		x[i] = value
	}
	return x
}

func eachSuiteMeter(t *testing.T, test func(t *testing.T, m suiteMeter)) {
	if len(suiteMeters) == 0 {
		t.Fatal("no meters in the suite")
	}
	for _, m := range suiteMeters {
		t.Run(m.name, func(t *testing.T) { test(t, m) })
	}
}

func TestSuiteBlocksDoNotMatter(t *testing.T) {
	for _, rate := range []int{44100, 96000} {
		sounds := suiteSounds(rate)
		eachSuiteMeter(t, func(t *testing.T, m suiteMeter) {
			for name, x := range sounds {
				x = x[:m.channels]
				measure, reading := m.start(rate)
				feed(measure, len(x[0]), x...)
				want := reading()
				for _, frames := range []int{1, 997, 4096} {
					measure, reading := m.start(rate)
					feed(measure, frames, x...)
					if got := reading(); !reflect.DeepEqual(got, want) {
						t.Errorf("%s at %d Hz in blocks of %d: got %s, want %s", name, rate, frames, brief(got), brief(want))
					}
				}
			}
		})
	}
}

// A meter can be read at any time, and reading changes nothing.
func TestSuiteReadingChangesNothing(t *testing.T) {
	const rate = 48000
	sounds := suiteSounds(rate)
	eachSuiteMeter(t, func(t *testing.T, m suiteMeter) {
		for name, x := range sounds {
			x = x[:m.channels]
			measure, reading := m.start(rate)
			feed(measure, 4096, x...)
			want := reading()
			if again := reading(); !reflect.DeepEqual(again, want) {
				t.Errorf("%s read twice: got %s, want %s", name, brief(again), brief(want))
			}
			// Once more, read after each block on the way.
			measure, reading = m.start(rate)
			feed(func(b *sound.Block) { measure(b); reading() }, 4096+13, x...)
			if got := reading(); !reflect.DeepEqual(got, want) {
				t.Errorf("%s read on the way: got %s, want %s", name, brief(got), brief(want))
			}
		}
	})
}

// An earlier reading stays as it was while the meter goes on.
func TestSuiteReadingsStay(t *testing.T) {
	const rate = 48000
	x := suiteSounds(rate)["a band"]
	half := len(x[0])/2 + 7
	eachSuiteMeter(t, func(t *testing.T, m suiteMeter) {
		first, second := make([][]float32, m.channels), make([][]float32, m.channels)
		for c := range first {
			first[c], second[c] = x[c][:half], x[c][half:]
		}
		measure, reading := m.start(rate)
		feed(measure, 997, first...)
		got := reading()
		feed(measure, 997, second...)
		reading()
		measure, reading = m.start(rate)
		feed(measure, 997, first...)
		if want := reading(); !reflect.DeepEqual(got, want) {
			t.Errorf("a reading changed afterwards: got %s, want %s", brief(got), brief(want))
		}
	})
}

func TestSuiteNothingIsSafe(t *testing.T) {
	eachSuiteMeter(t, func(t *testing.T, m suiteMeter) {
		for _, rate := range []int{8000, 48000, 384000} {
			measure, reading := m.start(rate)
			want := reading()
			measure(&sound.Block{Channels: make([][]float32, m.channels)})
			if got := reading(); !reflect.DeepEqual(got, want) {
				t.Errorf("an empty block at %d Hz changed the reading: got %s, want %s", rate, brief(got), brief(want))
			}
		}
	})
}

func TestSuiteMeasureAllocatesNothing(t *testing.T) {
	const rate = 48000
	x := [][]float32{signal.Pink(3, 0.1, rate), signal.Pink(4, 0.1, rate)}
	eachSuiteMeter(t, func(t *testing.T, m suiteMeter) {
		measure, _ := m.start(rate)
		feed(measure, sound.BlockFrames, x[:m.channels]...) // warm up
		b := sound.Block{Channels: make([][]float32, m.channels)}
		at := 0
		got := testing.AllocsPerRun(100, func() {
			for c := range b.Channels {
				b.Channels[c] = x[c][at : at+sound.BlockFrames]
			}
			measure(&b)
			at = (at + sound.BlockFrames) % rate
		})
		if got != 0 {
			t.Errorf("Measure allocates %g times a block, want 0", got)
		}
	})
}

// What grows with the length is only what the doc comment says: judged by all
// that is allocated over two minutes, beyond the room of the first one.
// Slices that double take up to three times what they keep.
func TestSuiteMemoryIsBounded(t *testing.T) {
	const rate, seconds = 48000, 120
	x := [][]float32{signal.Pink(3, 0.1, rate), signal.Pink(4, 0.1, rate)}
	for i := range 40 { // and something to find in each second
		x[0][i*1200] += 0.5
	}
	eachSuiteMeter(t, func(t *testing.T, m suiteMeter) {
		measure, _ := m.start(rate)
		feed(measure, sound.BlockFrames, x[:m.channels]...) // warm up
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		for range seconds {
			feed(measure, sound.BlockFrames, x[:m.channels]...)
		}
		runtime.ReadMemStats(&after)
		// feed itself makes a block header for each second.
		limit := uint64(3*m.bytesPerSecond*seconds + 256*seconds + 16384)
		if got := after.TotalAlloc - before.TotalAlloc; got > limit {
			t.Errorf("%d bytes allocated in %d s, want at most %d", got, seconds, limit)
		}
	})
}

// BenchmarkMeters tells what each meter costs a sample, on pink noise with a
// click each 25 ms, in blocks of the usual length.
func BenchmarkMeters(b *testing.B) {
	const rate = 48000
	x := [][]float32{signal.Quantize(signal.Pink(3, 0.1, rate), 24), signal.Quantize(signal.Pink(4, 0.1, rate), 24)}
	for i := range 40 {
		x[0][i*1200] += 0.25
	}
	for _, m := range suiteMeters {
		b.Run(m.name, func(b *testing.B) {
			measure, _ := m.start(rate)
			b.ReportAllocs()
			for b.Loop() {
				feed(measure, sound.BlockFrames, x[:m.channels]...)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*m.channels*rate), "ns/sample")
		})
	}
}

// brief prints a reading so that a failing test stays readable.
func brief(reading any) string {
	s := fmt.Sprintf("%+v", reading)
	if len(s) > 600 {
		s = s[:600] + "…"
	}
	return s
}
