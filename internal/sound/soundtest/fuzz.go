package soundtest

import (
	"errors"
	"io"
	"math"
	"slices"
	"testing"

	"tidemark/internal/sound"
)

// Refusal demands of a decoder that it refuses bytes with an error of one type
// that says something, and hands out no reader beside it: none says that there
// was none.
func Refusal(t testing.TB, err error, none bool) {
	t.Helper()
	var typed *sound.FormatError
	if !errors.As(err, &typed) || !none || typed.Text == "" {
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
	Consistent(t, r, frames)
}

// Consistent demands that what a reader, read to its end, tells of damage agrees
// with itself and with the frames that could be read.
func Consistent(t testing.TB, r sound.Reader, frames int64) {
	t.Helper()
	h := r.Header()
	late := r.Damage()
	if len(late) < len(h.Damage) || !slices.Equal(late[:len(h.Damage)], h.Damage) {
		t.Fatalf("damage %v at the end, and %v in the header", late, h.Damage)
	}
	for _, d := range late {
		switch {
		case !slices.Contains([]string{"unfinished", "truncated", "damaged", "odd"}, d.Kind) || d.Text == "":
			t.Fatalf("damage %+v is of no kind that is known, or says nothing", d)
		case d.DeclaredFrames < 0 || d.HeldFrames < 0 || d.HeldFrames > frames:
			t.Fatalf("damage %+v in a file of %d frames", d, frames)
		case d.Kind == "unfinished" && d.DeclaredFrames != 0:
			t.Fatalf("damage %+v: a length that was never written declares nothing", d)
		case d.Kind == "truncated" && d.DeclaredFrames > 0 && d.DeclaredFrames <= d.HeldFrames:
			t.Fatalf("damage %+v: nothing is missing", d)
		}
	}
}

// most bounds what the fuzzers compare of a sound: damage may stand for long silence.
const most = 1 << 16

// Agree demands that blocks of another room, and a seek, give the same samples.
// open gives the same sound anew each time.
func Agree(t testing.TB, open func() sound.Reader, room int) {
	t.Helper()
	want := beginning(t, open(), sound.BlockFrames)
	r := open()
	if got := beginning(t, r, 1+room%5000); !sameBits(got, want) {
		t.Fatalf("blocks of %d frames give other samples", 1+room%5000)
	}
	from := len(want[0]) / 2
	if err := r.SeekFrame(int64(from)); err != nil {
		t.Fatal(err)
	}
	for c := range want {
		want[c] = want[c][from:]
	}
	got := beginning(t, r, 997)
	for c := range got {
		got[c] = got[c][:min(len(got[c]), len(want[c]))]
	}
	if !sameBits(got, want) {
		t.Fatalf("other samples behind a seek to frame %d", from)
	}
}

// beginning reads up to most frames.
func beginning(t testing.TB, r sound.Reader, room int) [][]float32 {
	t.Helper()
	x := make([][]float32, r.Header().Format.Channels)
	for b := sound.NewBlock(len(x), room); len(x[0]) < most; {
		if err := r.Read(b); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatalf("%v from bytes in memory", err)
		}
		for c := range x {
			x[c] = append(x[c], b.Channels[c]...)
		}
	}
	for c := range x {
		x[c] = x[c][:min(len(x[c]), most)]
	}
	return x
}

func sameBits(a, b [][]float32) bool {
	return slices.EqualFunc(a, b, func(x, y []float32) bool {
		return slices.EqualFunc(x, y, func(v, w float32) bool { return math.Float32bits(v) == math.Float32bits(w) })
	})
}
