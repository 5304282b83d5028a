package properties

import (
	"bytes"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	library "github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"

	"tidemark/internal/meter"
	"tidemark/internal/signal"
	"tidemark/internal/sound"
	"tidemark/internal/sound/aiff"
	"tidemark/internal/sound/soundfile"
	"tidemark/internal/sound/soundtest"
	"tidemark/internal/sound/wav"
)

// form is one way to write a recording to a file.
type form struct {
	name  string
	bits  int
	write func(t *testing.T, rateHz int, x [][]float32) []byte
}

func wavForm(container string, encoding sound.Encoding, bits int) form {
	return form{container + " " + encoding.String(), bits, func(t *testing.T, rateHz int, x [][]float32) []byte {
		var m soundtest.Memory
		w, err := wav.Create(&m, wav.Spec{Format: sound.Format{Container: container, Encoding: encoding, Bits: bits, RateHz: rateHz, Channels: len(x)}})
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Write(sound.Block{Channels: x}); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		return m.Bytes
	}}
}

func aiffForm(compression string, bits int) form {
	return form{"AIFF " + compression, bits, func(t *testing.T, rateHz int, x [][]float32) []byte {
		var b bytes.Buffer
		w, err := aiff.NewWriter(&b, sound.Format{Bits: bits, RateHz: rateHz, Channels: len(x)}, compression, int64(len(x[0])))
		if err != nil {
			t.Fatal(err)
		}
		if err := w.Write(sound.Block{Channels: x}); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}}
}

func flacForm(bits int) form {
	return form{"FLAC", bits, func(t *testing.T, rateHz int, x [][]float32) []byte {
		const block = 4096
		f := &soundtest.Memory{}
		e, err := library.NewEncoder(f, &meta.StreamInfo{
			BlockSizeMin: block, BlockSizeMax: block, SampleRate: uint32(rateHz),
			NChannels: uint8(len(x)), BitsPerSample: uint8(bits), NSamples: uint64(len(x[0])),
		})
		if err != nil {
			t.Fatal(err)
		}
		e.EnablePredictionAnalysis(true)
		for at := 0; at < len(x[0]); at += block {
			end := min(at+block, len(x[0]))
			fr := &frame.Frame{Header: frame.Header{
				HasFixedBlockSize: true, BlockSize: uint16(end - at), SampleRate: uint32(rateHz),
				Channels: frame.Channels(len(x) - 1), BitsPerSample: uint8(bits),
			}}
			for c := range x {
				samples := make([]int32, end-at)
				for i, v := range x[c][at:end] {
					samples[i] = int32(math.Round(float64(v) * math.Ldexp(1, bits-1)))
				}
				fr.Subframes = append(fr.Subframes, &frame.Subframe{SubHeader: frame.SubHeader{Pred: frame.PredVerbatim}, Samples: samples, NSamples: len(samples)})
			}
			if err := e.WriteFrame(fr); err != nil {
				t.Fatal(err)
			}
		}
		if err := e.Close(); err != nil {
			t.Fatal(err)
		}
		return f.Bytes
	}}
}

// read measures a file as the desk does, but in blocks of random room.
func read(t *testing.T, p []byte, room int) meter.Readings {
	t.Helper()
	r, err := soundfile.Open(bytes.NewReader(p), int64(len(p)))
	if err != nil {
		t.Fatal(err)
	}
	set := meter.NewSet(r.Header().Format, meter.Options{})
	for b := sound.NewBlock(r.Header().Format.Channels, room); r.Read(b) == nil; {
		set.Measure(b)
	}
	if d := r.Damage(); len(d) > 0 {
		t.Errorf("damage %v", d)
	}
	return set.Reading()
}

// The same sound is the same to every meter, to the bit, whatever file it lies
// in. What depends on the number of bits is the format itself and, since full
// scale of 16 bits is no full scale of 24, what touches full scale: clipped sound
// is compared among the files of its own depth alone.
func TestTheFormOfTheFileChangesNotABit(t *testing.T) {
	sixteen := []form{
		wavForm("WAV", sound.Integer, 16), wavForm("RF64", sound.Integer, 16), wavForm("BW64", sound.Integer, 16),
		aiffForm("", 16), aiffForm("NONE", 16), aiffForm("twos", 16), aiffForm("sowt", 16), flacForm(16),
	}
	deeper := []form{
		wavForm("WAV", sound.Integer, 24), wavForm("WAV", sound.Integer, 20), wavForm("WAV", sound.Integer, 32), wavForm("WAV", sound.Float, 32), wavForm("RF64", sound.Float, 64),
		aiffForm("", 24), aiffForm("in24", 24), aiffForm("in32", 32), aiffForm("fl32", 32), aiffForm("fl64", 64), flacForm(24),
	}
	each(t, 4, func(t *testing.T, r *rand.Rand) {
		rate := []int{44100, 48000, 96000}[r.IntN(3)]
		x := take(r, 1+r.IntN(2), rate, int(within(r, 0.5, 2)*float64(rate)))
		clipped := r.IntN(2) == 0
		for c := range x {
			x[c] = signal.Quantize(signal.Gain(x[c], within(r, -6, 0)), 16)
			if clipped {
				x[c] = signal.Quantize(signal.Gain(x[c], 24), 16)
			}
		}
		want := read(t, sixteen[0].write(t, rate, x), sound.BlockFrames)
		if got := measure(want.Format, x, func() int { return 997 }); true {
			same(t, "straight from memory", got, want, nil)
		}
		ownFormat := func(path string) bool { return strings.HasPrefix(path, ".Format") }
		for _, f := range sixteen {
			same(t, f.name, read(t, f.write(t, rate, x), 1+r.IntN(5000)), want, ownFormat)
		}
		for _, f := range deeper {
			if clipped && f.bits != 16 {
				continue
			}
			same(t, f.name, read(t, f.write(t, rate, x), 1+r.IntN(5000)), want, ownFormat)
		}
	})
}

// Sound of 24 bits that no 16 hold, among the files that hold it. Clipped as
// well, since full scale is the same to all of them but float.
func TestTheFormOf24BitsChangesNotABit(t *testing.T) {
	forms := []form{wavForm("WAV", sound.Integer, 24), wavForm("RF64", sound.Integer, 24), wavForm("BW64", sound.Integer, 24), aiffForm("", 24), aiffForm("in24", 24), aiffForm("sowt", 24), flacForm(24)}
	each(t, 3, func(t *testing.T, r *rand.Rand) {
		rate := []int{44100, 48000, 192000}[r.IntN(3)]
		x := take(r, 1+r.IntN(3), rate, int(within(r, 0.3, 1)*float64(rate)))
		for c := range x {
			x[c] = signal.Quantize(signal.Gain(x[c], within(r, -6, 26)), 24)
		}
		want := read(t, forms[0].write(t, rate, x), sound.BlockFrames)
		for _, f := range forms {
			same(t, f.name, read(t, f.write(t, rate, x), 1+r.IntN(5000)), want, func(path string) bool { return strings.HasPrefix(path, ".Format") })
		}
	})
}
