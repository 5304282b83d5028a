package desk_test

import (
	"bytes"
	"fmt"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	library "github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"

	"tidemark/internal/desk"
	"tidemark/internal/model"
	"tidemark/internal/sound"
	"tidemark/internal/sound/aiff"
	"tidemark/internal/sound/pcm"
	"tidemark/internal/sound/soundtest"
)

// trackName is what a recorder calls the file of a line in these tests.
func (t take) trackName(i int) string {
	l := t.session.Lines[i]
	name := strings.ReplaceAll(l.Source, " / ", "+")
	if l.Source == "Rooms" {
		name = map[int]string{11: "Room L", 12: "Room R"}[l.Number]
	}
	return fmt.Sprintf("%s_01", name)
}

// wavs writes one WAV file a line in the given form.
func (t take) wavs(tb testing.TB, dir, form string) {
	for i, x := range t.lines {
		put(tb, dir, "", file{name: t.trackName(i) + ".wav", channels: [][]float32{x}, rateHz: t.rateHz, form: form})
	}
	t.list(tb, dir)
}

// aiffBytes is one line as a 24-bit AIFF file.
func aiffBytes(tb testing.TB, x []float32, rateHz int) []byte {
	tb.Helper()
	var b bytes.Buffer
	w, err := aiff.NewWriter(&b, sound.Format{Bits: 24, RateHz: rateHz, Channels: 1}, "", int64(len(x)))
	if err != nil {
		tb.Fatal(err)
	}
	if err := w.Write(sound.Block{Channels: [][]float32{x}}); err != nil {
		tb.Fatal(err)
	}
	if err := w.Close(); err != nil {
		tb.Fatal(err)
	}
	return b.Bytes()
}

// flacBytes is one line as a 24-bit FLAC file. known says whether the header
// tells how long it is.
func flacBytes(tb testing.TB, x []float32, rateHz int, known bool) []byte {
	tb.Helper()
	const block = 4096
	f := &soundtest.Memory{}
	info := &meta.StreamInfo{BlockSizeMin: block, BlockSizeMax: block, SampleRate: uint32(rateHz), NChannels: 1, BitsPerSample: 24, NSamples: uint64(len(x))}
	e, err := library.NewEncoder(f, info)
	if err != nil {
		tb.Fatal(err)
	}
	e.EnablePredictionAnalysis(false)
	for at := 0; at < len(x); at += block {
		end := min(at+block, len(x))
		samples := make([]int32, end-at)
		for i, v := range x[at:end] {
			samples[i] = int32(pcm.Quantize(v, 1<<23))
		}
		fr := &frame.Frame{Header: frame.Header{HasFixedBlockSize: true, BlockSize: uint16(end - at), SampleRate: uint32(rateHz), BitsPerSample: 24}}
		fr.Subframes = []*frame.Subframe{{SubHeader: frame.SubHeader{Pred: frame.PredVerbatim}, Samples: samples, NSamples: len(samples)}}
		if err := e.WriteFrame(fr); err != nil {
			tb.Fatal(err)
		}
	}
	if err := e.Close(); err != nil {
		tb.Fatal(err)
	}
	if !known { // RFC 9639, 8.2: 36 bits from byte 21 of the stream on, 0 for unknown
		f.Bytes[21] &= 0xF0
		copy(f.Bytes[22:26], make([]byte, 4))
	}
	return f.Bytes
}

// heardIn is what must not depend on the form of the files.
type heardIn struct {
	Levels   map[int]desk.Levels
	Bands    map[int][]desk.BandValue
	Pairs    []desk.PairReport
	Findings []model.Finding
}

func heard(c desk.Check) heardIn {
	h := heardIn{Levels: map[int]desk.Levels{}, Bands: map[int][]desk.BandValue{}, Pairs: c.Pairs}
	for _, l := range c.Lines {
		h.Levels[l.Number], h.Bands[l.Number] = l.Levels, l.ThirdOctave
	}
	for _, f := range c.Findings {
		f.Files = nil
		h.Findings = append(h.Findings, f)
	}
	return h
}

func TestTheFormOfTheFilesChangesNothing(t *testing.T) {
	skipSlow(t, "checks the band six times")
	t.Parallel()
	s, err := shortTake()
	if err != nil {
		t.Fatal(err)
	}
	s = s.some(1, 2, 3, 4, 8, 9, 11, 12, 13, 14, 15, 20)
	base := t.TempDir()
	s.wavs(t, base, "")
	c := checkFolder(t, base)
	want := heard(c)
	if len(want.Levels) != len(s.lines) || len(want.Pairs) < 10 || len(found(c, model.KindFlipped)) != 1 {
		t.Fatalf("%d lines, %d pairs, and want the flipped snare among:\n%s", len(want.Levels), len(want.Pairs), summary(c))
	}
	for _, l := range c.Lines {
		if l.Format.Container != "WAV" || l.Format.Bits != 24 || l.Format.RateHz != s.rateHz || l.Format.Channels != 1 || !l.Certain {
			t.Errorf("%s: %+v, certain %v", l.File, l.Format, l.Certain)
		}
	}
	for _, form := range []struct {
		name, container string
		channels        int
		write           func(dir string)
	}{
		{"AIFF", "AIFF", 1, func(dir string) {
			for i, x := range s.lines {
				write(t, filepath.Join(dir, s.trackName(i)+".aif"), aiffBytes(t, x, s.rateHz))
			}
			s.list(t, dir)
		}},
		{"FLAC", "FLAC", 1, func(dir string) {
			for i, x := range s.lines {
				write(t, filepath.Join(dir, s.trackName(i)+".flac"), flacBytes(t, x, s.rateHz, i%2 == 0))
			}
			s.list(t, dir)
		}},
		{"RF64", "RF64", 1, func(dir string) { s.wavs(t, dir, "RF64") }},
		{"BW64", "BW64", 1, func(dir string) { s.wavs(t, dir, "BW64") }},
		{"one polyphonic WAV", "WAV", len(s.lines), func(dir string) {
			put(t, dir, "", file{name: "Poly_01.wav", channels: s.lines, rateHz: s.rateHz})
			s.list(t, dir)
		}},
	} {
		t.Run(form.name, func(t *testing.T) {
			dir := t.TempDir()
			form.write(dir)
			c := checkFolder(t, dir)
			if diff := cmp.Diff(want, heard(c), cmp.Exporter(func(reflect.Type) bool { return true })); diff != "" {
				t.Errorf("heard otherwise than in WAV files, a file a line (− want, + got):\n%s", diff)
			}
			for _, l := range c.Lines {
				if l.Format.Container != form.container || l.Format.Channels != form.channels || l.Format.Bits != 24 || !l.Certain {
					t.Errorf("%s: %+v, certain %v", l.File, l.Format, l.Certain)
				}
			}
		})
	}
}
