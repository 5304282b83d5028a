package wav

import (
	"bytes"
	"fmt"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
)

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
					want := soundtest.Noise(channels, 1001, grid)
					format := sound.Format{Container: container, Encoding: f.encoding, Bits: f.bits, RateHz: 48000, Channels: channels}
					p := write(t, Spec{Format: format}, want)
					r := open(t, p)
					if h := r.Header(); h.Format != format || h.Frames != 1001 || len(h.Damage) != 0 {
						t.Fatalf("header %+v, want %+v, 1001 frames, no damage", h, format)
					}
					soundtest.Same(t, soundtest.ReadAll(t, r, 333), want)
					if d := r.Damage(); len(d) != 0 {
						t.Fatalf("damage %v, want none", d)
					}
				})
			}
		}
	}
}
