package aiff

import (
	"bytes"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
)

// FuzzAIFF: no panic, errors of one type, no more frames than bytes, the same
// samples in blocks of any room, and what was read is written to the same meaning.
func FuzzAIFF(f *testing.F) {
	f.Add([]byte(form("AIFF", comm(2, 2, 16, ""), ssnd(0, 0, "abcdefgh"))))
	f.Add([]byte(form("AIFC", ck("FVER", u32(0xA2805140)), comm(1, 4, 16, "sowt\x00\x00"), ssnd(2, 0, "##abcdefgh"))))
	f.Add([]byte(form("AIFC", comm(1, 2, 32, "fl32\x00\x00"), ssnd(0, 0, "\x3f\x80\x00\x00\xbf\x00\x00\x00"))))
	f.Add([]byte(form("AIFC", comm(1, 2, 24, "in24\x00\x00"), ck("MARK", u16(1)+u16(1)+u32(1)+"\x05Chorus"), ssnd(0, 0, "abcdef"))))
	f.Add([]byte(form("AIFC", comm(1, 3, 8, "raw \x00\x00"), ssnd(0, 0, "abc"))))
	for _, c := range refused {
		f.Add([]byte(c.file))
	}
	f.Fuzz(func(t *testing.T, p []byte) {
		r, err := Open(bytes.NewReader(p), int64(len(p)))
		if err != nil {
			soundtest.Refusal(t, err, r == nil)
			return
		}
		soundtest.Honest(t, r, len(p))
		soundtest.Agree(t, func() sound.Reader { return open(t, p) }, len(p))
		writesBack(t, r)
	})
}

// writesBack writes what r holds and reads it again. What the writer does not
// know the name of (FL32 is fl32) or what was decoded from spare bits below the
// valid ones comes back by its value.
func writesBack(t *testing.T, r *Reader) {
	if err := r.SeekFrame(0); err != nil {
		t.Fatal(err)
	}
	h := r.Header()
	planar := soundtest.ReadAll(t, r, 512)
	if h.Frames == 0 {
		return
	}
	kind := ""
	if h.Format.Container == "AIFC" {
		kind = "NONE"
	}
	if h.Format.Encoding == sound.Float {
		kind = map[int]string{32: "fl32", 64: "fl64"}[h.Format.Bits]
	}
	first := open(t, write(t, h.Format, kind, planar))
	once := soundtest.ReadAll(t, first, 512)
	second := open(t, write(t, h.Format, kind, once))
	twice := soundtest.ReadAll(t, second, 512)
	step := 0.0
	if h.Format.Encoding == sound.Integer && h.Format.Bits%8 != 0 {
		step = 2 / float64(int64(1)<<h.Format.Bits)
	}
	for c := range planar {
		for i, want := range planar[c] {
			if got := once[c][i]; got != want && !(float64(got)-float64(want) <= step && float64(want)-float64(got) <= step) && !(got != got && want != want) {
				t.Fatalf("channel %d frame %d written as %v, want %v", c, i, got, want)
			}
			if got, want := twice[c][i], once[c][i]; got != want && !(got != got && want != want) {
				t.Fatalf("channel %d frame %d written a second time as %v, want %v", c, i, got, want)
			}
		}
	}
	for _, got := range []sound.Header{first.Header(), second.Header()} {
		if len(got.Damage) > 0 || got.Format != h.Format || got.Frames != h.Frames {
			t.Fatalf("written as %+v, want %+v", got, h)
		}
	}
}
