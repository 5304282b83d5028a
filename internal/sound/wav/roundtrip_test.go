package wav

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/pcm"
)

// noise is seeded noise within ±0.9, on the grid of bits where bits > 0, with
// both ends of full scale among the first samples.
func noise(channels, frames, bits int) [][]float32 {
	random := rand.New(rand.NewPCG(7, uint64(channels*1000+bits)))
	planar := make([][]float32, channels)
	full := float64(uint64(1) << max(bits-1, 0))
	for c := range planar {
		planar[c] = make([]float32, frames)
		for i := range planar[c] {
			x := float32(random.Float64()*1.8 - 0.9)
			if i < 4 {
				x = []float32{1, -1, 0, -1. / 3}[i]
			}
			if bits > 0 {
				x = float32(float64(pcm.Quantize(x, full)) / full)
			}
			planar[c][i] = x
		}
	}
	return planar
}

// write writes planar as a file of its length.
func write(t testing.TB, spec Spec, planar [][]float32) []byte {
	t.Helper()
	var b bytes.Buffer
	w, err := NewWriter(&b, spec, int64(len(planar[0])))
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(sound.Block{Channels: planar}); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func open(t testing.TB, p []byte) *Reader {
	t.Helper()
	r, err := Open(bytes.NewReader(p), int64(len(p)))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// readAll reads to the end in blocks of room frames.
func readAll(t testing.TB, r sound.Reader, room int) [][]float32 {
	t.Helper()
	channels := r.Header().Format.Channels
	b := sound.NewBlock(channels, room)
	planar := make([][]float32, channels)
	for {
		err := r.Read(b)
		if errors.Is(err, io.EOF) {
			if b.Frames() != 0 {
				t.Fatalf("io.EOF with %d frames, want an empty block", b.Frames())
			}
			return planar
		}
		if err != nil {
			t.Fatal(err)
		}
		if b.Start != int64(len(planar[0])) {
			t.Fatalf("block starts at frame %d, want %d", b.Start, len(planar[0]))
		}
		for c := range planar {
			planar[c] = append(planar[c], b.Channels[c]...)
		}
	}
}

func same(t testing.TB, got, want [][]float32) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d channels, want %d", len(got), len(want))
	}
	for c := range want {
		if len(got[c]) != len(want[c]) {
			t.Fatalf("channel %d holds %d frames, want %d", c, len(got[c]), len(want[c]))
		}
		for i := range want[c] {
			if got[c][i] != want[c][i] {
				t.Fatalf("channel %d frame %d is %v, want %v", c, i, got[c][i], want[c][i])
			}
		}
	}
}

// What is written comes back to the bit in every format, channel count and
// form of the file.
func TestWhatIsWrittenComesBack(t *testing.T) {
	formats := []struct {
		encoding sound.Encoding
		bits     int
	}{
		{sound.Integer, 8}, {sound.Integer, 12}, {sound.Integer, 16}, {sound.Integer, 20}, {sound.Integer, 24},
		{sound.Integer, 32}, {sound.Float, 32}, {sound.Float, 64},
	}
	for _, container := range []string{"WAV", "RF64", "BW64"} {
		for _, f := range formats {
			for _, channels := range []int{1, 2, 3, 5, 32, 64} {
				t.Run(fmt.Sprintf("%s, %d channels of %s %d", container, channels, f.encoding, f.bits), func(t *testing.T) {
					grid := f.bits
					if f.encoding == sound.Float || grid == 32 {
						grid = 24 // what float32 carries exactly
					}
					want := noise(channels, 1001, grid)
					format := sound.Format{Container: container, Encoding: f.encoding, Bits: f.bits, RateHz: 48000, Channels: channels}
					p := write(t, Spec{Format: format}, want)
					r := open(t, p)
					if h := r.Header(); h.Format != format || h.Frames != 1001 || len(h.Damage) != 0 {
						t.Fatalf("header %+v, want %+v, 1001 frames, no damage", h, format)
					}
					same(t, readAll(t, r, 333), want)
					if d := r.Damage(); len(d) != 0 {
						t.Fatalf("damage %v, want none", d)
					}
				})
			}
		}
	}
}
