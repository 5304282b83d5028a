// Package soundtest is test support: sound to write, and the demands that every
// sound.Reader has to meet.
package soundtest

import (
	"errors"
	"io"
	"math"
	"testing"

	"tidemark/internal/sound"
)

// Noise is seeded noise within ±0.9, planar, on the grid of 2^(bits−1) steps
// where bits > 0. Both ends of full scale are among the first samples.
func Noise(channels, frames, bits int) [][]float32 {
	state := uint64(channels*1000 + bits + 7)
	random := func() float64 { // splitmix64: enough for noise, the same everywhere
		state += 0x9E3779B97F4A7C15
		z := state
		z = (z ^ z>>30) * 0xBF58476D1CE4E5B9
		z = (z ^ z>>27) * 0x94D049BB133111EB
		return float64((z^z>>31)>>11) / (1 << 53)
	}
	planar := make([][]float32, channels)
	for c := range planar {
		planar[c] = make([]float32, frames)
		for i := range planar[c] {
			x := random()*1.8 - 0.9
			if i < 4 {
				x = []float64{1, -1, 0, -1. / 3}[i]
			}
			if bits > 0 {
				full := math.Ldexp(1, bits-1)
				x = min(math.Round(x*full), full-1) / full
			}
			planar[c][i] = float32(x)
		}
	}
	return planar
}

// ReadAll reads on to the end in blocks of room frames.
func ReadAll(t testing.TB, r sound.Reader, room int) [][]float32 {
	t.Helper()
	channels := r.Header().Format.Channels
	b := sound.NewBlock(channels, room)
	planar := make([][]float32, channels)
	next := int64(-1)
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
		if b.Frames() == 0 {
			t.Fatal("an empty block without io.EOF")
		}
		if next >= 0 && b.Start != next {
			t.Fatalf("block starts at frame %d, want %d", b.Start, next)
		}
		next = b.Start + int64(b.Frames())
		for c := range planar {
			planar[c] = append(planar[c], b.Channels[c]...)
		}
	}
}

// Same fails unless both are the same samples.
func Same(t testing.TB, got, want [][]float32) {
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

// Suite holds a reader to what sound.Reader promises: the samples are the same
// for blocks of any room, the end is said again and again, and a seek gives what
// reading on would give. open gives the same sound anew each time.
func Suite(t *testing.T, open func() sound.Reader, want [][]float32) {
	t.Helper()
	frames := int64(len(want[0]))
	for _, room := range []int{1, 997, 4096, int(frames) + 1} {
		r := open()
		Same(t, ReadAll(t, r, room), want)
		b := sound.NewBlock(len(want), 1)
		for range 2 {
			if err := r.Read(b); !errors.Is(err, io.EOF) {
				t.Fatalf("reading behind the end gave %v, want io.EOF again", err)
			}
		}
	}
	r := open()
	if known := r.Header().Frames; known != frames && known != -1 {
		t.Fatalf("the header tells of %d frames, want %d", known, frames)
	}
	tail := func(from int64) [][]float32 {
		part := make([][]float32, len(want))
		for c := range want {
			part[c] = want[c][from:]
		}
		return part
	}
	b := sound.NewBlock(len(want), 100)
	for _, frame := range []int64{frames / 2, 1, frames - 1, frames / 3, 0, frames / 2, frames/2 + 1} {
		if err := r.SeekFrame(frame); err != nil {
			t.Fatal(err)
		}
		if err := r.Read(b); err != nil {
			t.Fatalf("reading at frame %d: %v", frame, err)
		}
		if b.Start != frame {
			t.Fatalf("block starts at frame %d, want %d", b.Start, frame)
		}
		if err := r.SeekFrame(frame); err != nil { // back over what was read
			t.Fatal(err)
		}
		Same(t, ReadAll(t, r, 1009), tail(frame))
	}
	if err := r.SeekFrame(frames + 10); err != nil {
		t.Fatal(err)
	}
	if err := r.Read(b); !errors.Is(err, io.EOF) || b.Frames() != 0 {
		t.Fatalf("reading past the end gave %v and %d frames, want io.EOF and none", err, b.Frames())
	}
	if err := r.SeekFrame(-1); err == nil {
		t.Fatal("seeking before the beginning gave no error")
	}
	if err := r.SeekFrame(0); err != nil {
		t.Fatal(err)
	}
	Same(t, ReadAll(t, r, 500), want)
}
