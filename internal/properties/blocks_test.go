package properties

import (
	"bytes"
	"math"
	"math/rand/v2"
	"testing"

	"tidemark/internal/between"
	"tidemark/internal/meter"
	"tidemark/internal/signal"
	"tidemark/internal/sound"
)

// cut is a random way to cut sound into blocks: of one frame, of a few, of many,
// or of all of these in turn.
func cut(r *rand.Rand) func() int {
	most := []int{1, 7, 100, 3000, 10000}[r.IntN(5)]
	mixed := r.IntN(2) == 0
	return func() int {
		if mixed {
			most = []int{1, 3, 64, 2400, 10000}[r.IntN(5)]
		}
		return 1 + r.IntN(most)
	}
}

// spoil puts in what a bad converter and a bad cable put in: full scale, holes,
// a stretch written twice, and samples that are no numbers.
func spoil(r *rand.Rand, x []float32, rateHz int) {
	at := func(n int) int { return r.IntN(max(1, len(x)-n)) }
	for range r.IntN(3) {
		i, n := at(rateHz/20), 1+r.IntN(rateHz/20)
		clear(x[i:min(i+n, len(x))])
	}
	if r.IntN(2) == 0 {
		i := at(2000)
		copy(x[min(i+1000, len(x)):], append([]float32(nil), x[i:min(i+1000, len(x))]...))
	}
	if r.IntN(2) == 0 {
		i := at(400)
		for k := i; k < min(i+400, len(x)); k++ {
			x[k] = max(-1, min(1, 30*x[k]))
		}
	}
	if r.IntN(4) == 0 {
		for range 20 {
			x[at(1)] = []float32{float32(math.NaN()), float32(math.Inf(1)), -math.MaxFloat32, math.SmallestNonzeroFloat32}[r.IntN(4)]
		}
	}
}

// However sound is cut into blocks, and whenever it is read on the way, no meter
// of the set says a bit otherwise: at common and odd rates, for one channel and
// for many, in every format.
func TestTheCutIntoBlocksChangesNotABit(t *testing.T) {
	each(t, 24, func(t *testing.T, r *rand.Rand) {
		rate := []int{8000, 11025, 22050, 44100, 48000, 88200, 96000, 192000, sound.MinRateHz, 47999}[r.IntN(10)]
		channels := []int{1, 2, 2, 3, 6, 8}[r.IntN(6)]
		frames := 1 + r.IntN(int(4e5)/channels)
		x := take(r, channels, rate, frames)
		f := float(rate, channels)
		if bits := []int{0, 16, 24}[r.IntN(3)]; bits > 0 {
			f.Encoding, f.Bits = sound.Integer, bits
		}
		for c := range x {
			spoil(r, x[c], rate)
			if f.Encoding == sound.Integer {
				for i, v := range x[c] {
					if v != v {
						x[c][i] = 0
					}
				}
				x[c] = signal.Quantize(x[c], f.Bits)
			}
		}
		want := measure(f, x, func() int { return frames })
		same(t, "cut at random", measure(f, x, cut(r)), want, nil)

		set := meter.NewSet(f, meter.Options{})
		b := sound.Block{Channels: make([][]float32, channels)}
		for at, next := 0, cut(r); at < frames; {
			end := min(at+max(next(), frames/40), frames)
			for c := range x {
				b.Channels[c] = x[c][at:end]
			}
			set.Measure(&b)
			if r.IntN(8) == 0 {
				set.Reading()
			}
			at = end
		}
		same(t, "read on the way", set.Reading(), want, nil)
	})
}

// The same for what compares two signals as they come.
func TestTheCutIntoBlocksChangesNoComparison(t *testing.T) {
	each(t, 12, func(t *testing.T, r *rand.Rand) {
		x := take(r, 2, 48000, 1+r.IntN(200000))
		switch r.IntN(3) {
		case 0:
			x[1] = signal.Gain(x[0], within(r, -20, 6))
		case 1:
			x[1] = signal.Copy(x[0])
		}
		delay := []float64{0, within(r, -30, 30)}[r.IntN(2)]
		compared := func(next func() int) (between.TwinReading, between.NullReading) {
			twin, null := between.NewTwin(), between.NewNull(delay)
			for at := 0; at < len(x[0]); {
				end := min(at+next(), len(x[0]))
				twin.Add(x[0][at:end], x[1][at:end])
				null.Add(x[0][at:end], x[1][at:end])
				at = end
			}
			return twin.Reading(), null.Reading()
		}
		wantTwin, wantNull := compared(func() int { return len(x[0]) })
		gotTwin, gotNull := compared(cut(r))
		same(t, "twin", gotTwin, wantTwin, nil)
		same(t, "null", gotNull, wantNull, nil)
	})
}

// FuzzBlocks: any bytes at all, taken for samples, are measured to the same
// numbers in two cuts, and to nothing but numbers.
func FuzzBlocks(f *testing.F) {
	f.Add([]byte("\x00\x00\x80\x3f\x00\x00\xc0\x7f\xff\xff\x7f\x7f\x01\x00\x00\x00"), uint16(48000), uint8(1), uint16(3), uint16(400))
	f.Add(bytes.Repeat([]byte("\x00\x00\x00\x3f\x00\x00\x00\xbf"), 40), uint16(2000), uint8(2), uint16(1), uint16(90))
	f.Add(bytes.Repeat([]byte("\x00\x00\x80\xff\xff\xff\x7f\xff"), 10), uint16(8000), uint8(2), uint16(999), uint16(2000))
	f.Fuzz(func(t *testing.T, p []byte, rate uint16, channels uint8, room, times uint16) {
		x := make([][]float32, 1+channels%3)
		n := len(p) / 4 / len(x)
		if n == 0 {
			return
		}
		frames := min(n*(1+int(times)), 60000) // the bytes again and again: meters ask for some length
		for c := range x {
			x[c] = make([]float32, frames)
			for i := range x[c] {
				k := 4 * ((i%n)*len(x) + c)
				x[c][i] = math.Float32frombits(uint32(p[k]) | uint32(p[k+1])<<8 | uint32(p[k+2])<<16 | uint32(p[k+3])<<24)
			}
		}
		format := float(max(int(rate), sound.MinRateHz), len(x))
		want := measure(format, x, func() int { return sound.BlockFrames })
		finite(t, "readings", want)
		finite(t, "together", want.Together())
		same(t, "in other blocks", measure(format, x, func() int { return 1 + int(room)%5000 }), want, nil)
	})
}
