package wav

import (
	"bytes"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
)

func TestWriterRoundsAndClips(t *testing.T) {
	lsb := float32(1. / 32768)
	in := []float32{1, 1.5, -1, -1.5, float32(math.Inf(1)), float32(math.Inf(-1)), float32(math.NaN()), 0.5 * lsb, 1.5 * lsb, -0.5 * lsb, -1.5 * lsb, 0.51 * lsb}
	want := []float32{32767, 32767, -32768, -32768, 32767, -32768, 0, 0, 2, 0, -2, 1}
	for i := range want {
		want[i] *= lsb
	}
	p := write(t, Spec{Format: sound.Format{Bits: 16, RateHz: 48000, Channels: 1}}, [][]float32{in})
	soundtest.Same(t, soundtest.ReadAll(t, open(t, p), 100), [][]float32{want})
}

func TestMetadataComesBack(t *testing.T) {
	b := sound.Broadcast{Description: "Line 3", OriginationDate: "2031-04-12", Version: 2, LoudnessValue: -2310, CodingHistory: "A=PCM\r\n"}
	names := []string{"Kick <in>", "", "Fiddle \"left\""}
	p := write(t, Spec{
		Format:    sound.Format{Bits: 24, RateHz: 48000, Channels: 3},
		Broadcast: &b, ChannelNames: names,
	}, soundtest.Noise(3, 7, 24))
	h := open(t, p).Header()
	if h.Broadcast == nil || *h.Broadcast != b {
		t.Errorf("broadcast %+v, want %+v", h.Broadcast, b)
	}
	if got, want := strings.Join(h.ChannelNames, "|"), strings.Join(names, "|"); got != want {
		t.Errorf("names %q, want %q", got, want)
	}
	if len(h.Damage) != 0 {
		t.Errorf("damage %v, want none", h.Damage)
	}
}

func TestWriterRefuses(t *testing.T) {
	for want, f := range map[string]sound.Format{
		"0 channels asked for":               {Bits: 16, RateHz: 48000},
		"65 channels asked for":              {Bits: 16, RateHz: 48000, Channels: 65},
		"a rate of 0 Hz":                     {Bits: 16, Channels: 1},
		"a rate of 1999 Hz":                  {Bits: 16, RateHz: 1999, Channels: 1},
		"integer samples of 33 bits":         {Bits: 33, RateHz: 48000, Channels: 1},
		"float samples of 24 bits":           {Encoding: sound.Float, Bits: 24, RateHz: 48000, Channels: 1},
		`container "AIFF" asked for`:         {Container: "AIFF", Bits: 16, RateHz: 48000, Channels: 1},
		"integer samples of 0 bits":          {RateHz: 48000, Channels: 1},
		"a rate of 1536001 Hz asked for, ex": {Bits: 16, RateHz: 1536001, Channels: 1},
	} {
		if w, err := NewWriter(io.Discard, Spec{Format: f}, 0); w != nil || err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%+v gave %v, want %q", f, err, want)
		}
	}
	f := sound.Format{Bits: 16, RateHz: 48000, Channels: 1}
	w, err := NewWriter(io.Discard, Spec{Format: f}, 2)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err == nil || err.Error() != "2 frames promised, 0 written" {
		t.Errorf("closing early gave %v", err)
	}
	if w, err = NewWriter(io.Discard, Spec{Format: f}, 2); err != nil {
		t.Fatal(err)
	}
	if err := w.Write(sound.Block{Channels: [][]float32{{1, 2, 3}}}); err == nil {
		t.Error("writing more than promised gave no error")
	}
}

func TestReaderKeepsItsPromises(t *testing.T) {
	for _, f := range []sound.Format{
		{Bits: 16, RateHz: 48000, Channels: 1}, {Bits: 24, RateHz: 48000, Channels: 2},
		{Bits: 24, RateHz: 48000, Channels: 7}, {Encoding: sound.Float, Bits: 64, RateHz: 48000, Channels: 2},
	} {
		want := soundtest.Noise(f.Channels, 70001, min(f.Bits, 24))
		p := write(t, Spec{Format: f}, want)
		soundtest.Suite(t, func() sound.Reader { return open(t, p) }, want)
	}
}

// A file may become shorter while it is read: a card pulled, a recorder that
// deletes. What is there is given, and the rest told.
func TestFileThatBecomesShorter(t *testing.T) {
	want := soundtest.Noise(1, 100000, 24)
	p := write(t, Spec{Format: sound.Format{Bits: 24, RateHz: 48000, Channels: 1}}, want)
	r, err := Open(bytes.NewReader(p[:44+3*1000+1]), int64(len(p)))
	if err != nil {
		t.Fatal(err)
	}
	soundtest.Same(t, soundtest.ReadAll(t, r, 333), [][]float32{want[0][:1000]})
	if d := r.Damage(); len(d) != 1 || d[0].Kind != "truncated" || d[0].HeldFrames != 1000 || d[0].DeclaredFrames != 100000 {
		t.Fatalf("damage %v, want one that is truncated and holds 1000 of 100000 frames", d)
	}
}

// counting counts how often the disk is asked.
type counting struct {
	*bytes.Reader
	reads int
}

func (c *counting) ReadAt(p []byte, off int64) (int, error) {
	c.reads++
	return c.Reader.ReadAt(p, off)
}

// Small blocks must not mean small reads: the disk is asked for 256 KiB at a
// time, and nothing is allocated once the first block was read.
func TestReadingIsInLargePiecesWithoutAllocation(t *testing.T) {
	p := write(t, Spec{Format: sound.Format{Bits: 24, RateHz: 48000, Channels: 2}}, soundtest.Noise(2, 200000, 24))
	c := &counting{Reader: bytes.NewReader(p)}
	r, err := Open(c, int64(len(p)))
	if err != nil {
		t.Fatal(err)
	}
	c.reads = 0
	b := sound.NewBlock(2, 100)
	if err := r.Read(b); err != nil {
		t.Fatal(err)
	}
	got := testing.AllocsPerRun(1998, func() { // and once before it counts
		if err := r.Read(b); err != nil {
			t.Fatal(err)
		}
	})
	if got != 0 {
		t.Errorf("%v allocations a block, want none", got)
	}
	if err := r.Read(b); !errors.Is(err, io.EOF) {
		t.Fatalf("%v, want io.EOF", err)
	}
	// 32, 64 and 128 KiB come first.
	if want := 3 + (len(p)-224<<10+262143)/262144; c.reads != want {
		t.Errorf("%d reads of %d bytes, want %d", c.reads, len(p), want)
	}
}

func TestWrongCallsPanic(t *testing.T) {
	r := open(t, write(t, Spec{Format: sound.Format{Bits: 16, RateHz: 48000, Channels: 2}}, soundtest.Noise(2, 10, 16)))
	for name, b := range map[string]*sound.Block{"another number of channels": sound.NewBlock(1, 10), "no room": sound.NewBlock(2, 0)} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("a block with %s did not panic", name)
				}
			}()
			r.Read(b)
		}()
	}
}
