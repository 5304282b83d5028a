package flac

import (
	"bytes"
	"errors"
	"io"
	"testing"

	"tidemark/internal/sound"
)

// FuzzFLAC: no panic, errors of one type, memory bounded by the longest block
// and by what the file holds, and no more frames than the file can justify:
// coded blocks of leastCoded bytes each, or what STREAMINFO declares.
func FuzzFLAC(f *testing.F) {
	whole, at, _ := damaged(f)
	f.Add(whole[:at[2]+100])
	f.Add(whole[:at[0]])
	f.Add(unhex(f, rfcExample1))
	f.Add(encode(f, [][]int32{{0, 0, 0, 0, 1, 1, 1, 1}, {5, 5, 5, 5, 5, 5, 5, 5}, {7, -7, 7, -7, 7, -7, 7, -7}}, 24, 176400, 16))
	f.Fuzz(func(t *testing.T, p []byte) {
		r, err := Open(bytes.NewReader(p), int64(len(p)))
		if err != nil {
			var typed *sound.FormatError
			if !errors.As(err, &typed) || r != nil {
				t.Fatalf("%v and %T, want a *sound.FormatError alone", r, err)
			}
			return
		}
		info := r.info
		most := int64(len(p)/leastCoded+1) * int64(info.maxBlock)
		if info.samples > 0 {
			// Silence in place of blocks that left no bytes is bounded by
			// what STREAMINFO declares, and by a length that is still a gap.
			most = min(info.samples, most+int64(len(p)/leastCoded+1)*maxSilence(info.rateHz))
		}
		b := sound.NewBlock(info.channels, 4096)
		frames := int64(0)
		for {
			err := r.Read(b)
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("%v from bytes in memory", err)
			}
			if frames += int64(b.Frames()); frames > most {
				t.Fatalf("%d frames and more from %d bytes, at most %d can be", frames, len(p), most)
			}
			if frames > 1<<17 {
				return // silence goes on
			}
		}
		if cap(r.w.buf) > max(len(p), windowBytes) {
			t.Fatalf("a window of %d bytes for a file of %d", cap(r.w.buf), len(p))
		}
		if err := r.SeekFrame(frames / 2); err != nil {
			t.Fatal(err)
		}
		if err := r.Read(b); err != nil && !errors.Is(err, io.EOF) {
			t.Fatal(err)
		}
	})
}
