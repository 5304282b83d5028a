package flac

import (
	"bytes"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	library "github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
	"tidemark/internal/sound/wav"
)

// encode writes planar integers in blocks of the given size with the encoder of
// mewkiz/flac: verbatim, constant and fixed subframes, never a coded pair.
func encode(t testing.TB, planar [][]int32, bits, rateHz, block int) []byte {
	t.Helper()
	f := &soundtest.Memory{}
	info := &meta.StreamInfo{
		BlockSizeMin: uint16(block), BlockSizeMax: uint16(block), SampleRate: uint32(rateHz),
		NChannels: uint8(len(planar)), BitsPerSample: uint8(bits), NSamples: uint64(len(planar[0])),
	}
	e, err := library.NewEncoder(f, info)
	if err != nil {
		t.Fatal(err)
	}
	e.EnablePredictionAnalysis(true)
	for at := 0; at < len(planar[0]); at += block {
		end := min(at+block, len(planar[0]))
		fr := &frame.Frame{Header: frame.Header{
			HasFixedBlockSize: true, BlockSize: uint16(end - at), SampleRate: uint32(rateHz),
			Channels: frame.Channels(len(planar) - 1), BitsPerSample: uint8(bits),
		}}
		for c := range planar {
			fr.Subframes = append(fr.Subframes, &frame.Subframe{
				SubHeader: frame.SubHeader{Pred: frame.PredVerbatim},
				Samples:   append([]int32(nil), planar[c][at:end]...), NSamples: end - at,
			})
		}
		if err := e.WriteFrame(fr); err != nil {
			t.Fatal(err)
		}
	}
	if err := e.Close(); err != nil {
		t.Fatal(err)
	}
	return f.Bytes
}

// integers puts planar samples on the grid that they lie on.
func integers(planar [][]float32, bits int) [][]int32 {
	out := make([][]int32, len(planar))
	for c := range planar {
		for _, x := range planar[c] {
			out[c] = append(out[c], int32(math.Round(float64(x)*math.Ldexp(1, bits-1))))
		}
	}
	return out
}

// program runs an encoder on planar written as WAV and returns what it made;
// it skips the test where the encoder is not installed.
func program(t testing.TB, planar [][]float32, bits, rateHz int, name string, args ...string) []byte {
	t.Helper()
	at, err := exec.LookPath(name)
	if err != nil {
		t.Skipf("%s is not installed: it makes the files that this test reads", name)
	}
	dir := t.TempDir()
	var b bytes.Buffer
	w, err := wav.NewWriter(&b, wav.Spec{Format: sound.Format{Bits: bits, RateHz: rateHz, Channels: len(planar)}}, int64(len(planar[0])))
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(sound.Block{Channels: planar}); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	in, out := filepath.Join(dir, "in.wav"), filepath.Join(dir, "out.flac")
	if err := os.WriteFile(in, b.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	all := append([]string(nil), args...)
	switch name {
	case "flac":
		all = append(all, "-s", "-f", "-o", out, in)
	case "ffmpeg":
		all = append([]string{"-v", "error", "-y", "-i", in}, append(all, out)...)
	}
	if said, err := exec.Command(at, all...).CombinedOutput(); err != nil {
		t.Fatalf("%s %v: %v: %s", name, all, err, said)
	}
	p, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func open(t testing.TB, p []byte) *Reader {
	t.Helper()
	r, err := Open(bytes.NewReader(p), int64(len(p)))
	if err != nil {
		t.Fatal(err)
	}
	return r
}
