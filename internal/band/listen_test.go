package band

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"tidemark/internal/sound"
	"tidemark/internal/sound/wav"
)

// TestListen writes the session and a rough mix for ears, when asked to:
// BAND_LISTEN names the folder.
func TestListen(t *testing.T) {
	dir := os.Getenv("BAND_LISTEN")
	if dir == "" {
		t.Skip("BAND_LISTEN names no folder")
	}
	start := time.Now()
	if err := Write(context.Background(), filepath.Join(dir, "session"), Options{Faults: true}, nil); err != nil {
		t.Fatal(err)
	}
	t.Logf("session written in %v", time.Since(start))
	s, err := NewSession(Options{})
	if err != nil {
		t.Fatal(err)
	}
	f, err := os.Create(filepath.Join(dir, "rough mix.wav"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w, err := wav.NewWriter(f, wav.Spec{Format: sound.Format{Encoding: sound.Integer, Bits: 24, RateHz: 48000, Channels: 2}}, s.Scene.Frames)
	if err != nil {
		t.Fatal(err)
	}
	if err := RoughMix(context.Background(), s, func(b *sound.Block) error { return w.Write(*b) }); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}

// TestSeeds renders whole sessions of other seeds, when asked to with
// BAND_SEEDS, since it takes a minute: none may clip by accident.
func TestSeeds(t *testing.T) {
	if os.Getenv("BAND_SEEDS") == "" {
		t.Skip("BAND_SEEDS is not set")
	}
	for _, o := range []Options{{Seed: 1}, {Seed: 2}, {Seed: 3}, {Seed: 4}, {Seed: 5}, {Seed: 6}, {RateHz: 44100, Seed: 7}, {RateHz: 96000, Seed: 8}, {Seed: 9, LineCheck: true}} {
		h := hear(o)
		for i := range h.peak {
			if h.peak[i] > 0.71 { // −3 dBFS
				t.Errorf("seed %d: line %d peaks at %.3f of full scale", o.Seed, i+1, h.peak[i])
			}
		}
	}
}
