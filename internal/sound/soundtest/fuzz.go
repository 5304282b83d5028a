package soundtest

import (
	"errors"
	"io"
	"testing"

	"tidemark/internal/sound"
)

// Refusal demands of a decoder that it refuses bytes with an error of one type,
// and hands out no reader beside it: none says that there was none.
func Refusal(t testing.TB, err error, none bool) {
	t.Helper()
	var typed *sound.FormatError
	if !errors.As(err, &typed) || !none {
		t.Fatalf("%v, and no reader %v, want a *sound.FormatError alone", err, none)
	}
}

// Honest demands of a reader of plain samples, made of size bytes, that its
// header tells of no more frames than bytes, and that just these can be read.
func Honest(t testing.TB, r sound.Reader, size int) {
	t.Helper()
	h := r.Header()
	if h.Frames < 0 || h.Frames > int64(size) {
		t.Fatalf("%d frames in %d bytes", h.Frames, size)
	}
	b := sound.NewBlock(h.Format.Channels, 100)
	frames := int64(0)
	for {
		err := r.Read(b)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("%v from bytes in memory", err)
		}
		frames += int64(b.Frames())
	}
	if frames != h.Frames {
		t.Fatalf("%d frames read, the header tells of %d", frames, h.Frames)
	}
}
