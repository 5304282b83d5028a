package wav

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
)

// FuzzWAV: no panic, errors of one type, no more frames than bytes, no more
// metadata than the file holds, the same samples in blocks of any room, and
// what was read is written to the same meaning.
func FuzzWAV(f *testing.F) {
	f.Add([]byte(unhex(f, canonical)))
	f.Add([]byte(riff(ck("bext", bext(2)), extFmt(2, 48000, 24, 20, 3, 1), ck("data", "abcdefghijkl"), ck("iXML", string(ixml([]string{"a", "b"}))))))
	f.Add([]byte(riff(pcmFmt(1, 44100, 16), ck("data", "abcdef"), ck("cue ", u32(1)+u32(1)+u32(2)+"data"+u32(0)+u32(0)+u32(2)),
		ck("LIST", "adtllabl"+u32(10)+u32(1)+"Bridge"), ck("LIST", "INFOINAM"+u32(4)+"Pier"))))
	f.Add([]byte(riff(fmtBody(3, 1, 96000, 8, 64), ck("fact", u32(1)), ck("data", "\x00\x00\x00\x00\x00\x00\xf0\x3f"))))
	f.Add([]byte(riff(fmtBody(1, 1, 22050, 4, 24), ck("data", "\x00abc\x00def"))))
	f.Add([]byte(long("RF64", ds64(0, 8, 0, "LIST"+u64(4)), pcmFmt(1, 48000, 16), "LIST"+u32(0xFFFFFFFF)+"INFO", "data"+u32(0xFFFFFFFF)+"abcdefgh")))
	f.Add([]byte(long("BW64", ds64(0, 6, 0), pcmFmt(2, 8000, 8), "data"+u32(0xFFFFFFFF)+"abcdef")))
	for _, c := range refused {
		f.Add([]byte(c.file))
	}
	f.Fuzz(func(t *testing.T, p []byte) {
		r, err := Open(bytes.NewReader(p), int64(len(p)))
		if err != nil {
			soundtest.Refusal(t, err, r == nil)
			return
		}
		h := r.Header()
		if b := h.Broadcast; b != nil && len(b.Description)+len(b.CodingHistory) > 2*len(p) {
			t.Fatalf("more text than the file of %d bytes holds", len(p))
		}
		if h.ChannelNames != nil && len(h.ChannelNames) != h.Format.Channels {
			t.Fatalf("%d names for %d channels", len(h.ChannelNames), h.Format.Channels)
		}
		soundtest.Honest(t, r, len(p))
		soundtest.Agree(t, func() sound.Reader { return open(t, p) }, len(p))
		writesBack(t, r)
	})
}

// writesBack writes what r holds and reads it again. Spare bits below the valid
// ones are rounded away; the second time there are none.
func writesBack(t *testing.T, r *Reader) {
	h := r.Header()
	once := again(t, h, readFrom(t, r))
	twice := again(t, once.Header(), readFrom(t, once))
	a, b, c := readFrom(t, r), readFrom(t, once), readFrom(t, twice)
	step := float32(0)
	if h.Format.Encoding == sound.Integer && r.sound.FrameBytes()*8 > int64(h.Format.Channels*h.Format.Bits) {
		step = float32(math.Ldexp(1, 1-h.Format.Bits))
	}
	for ch := range a {
		for i, want := range a[ch] {
			if got := b[ch][i]; got != want && !(got-want <= step && want-got <= step) && !(got != got && want != want) {
				t.Fatalf("channel %d frame %d written as %v, want %v", ch, i, got, want)
			}
			if got, want := c[ch][i], b[ch][i]; got != want && !(got != got && want != want) {
				t.Fatalf("channel %d frame %d written a second time as %v, want %v", ch, i, got, want)
			}
		}
	}
	for _, got := range []sound.Header{once.Header(), twice.Header()} {
		if len(got.Damage) > 0 || got.Format != h.Format || got.Frames != h.Frames || !slices.Equal(got.ChannelNames, h.ChannelNames) {
			t.Fatalf("written as %+v, want %+v", got, h)
		}
		switch {
		case (got.Broadcast == nil) != (h.Broadcast == nil):
			t.Fatalf("broadcast %v, want %v", got.Broadcast, h.Broadcast)
		case got.Broadcast != nil:
			if g, w := fitted(*got.Broadcast), fitted(*h.Broadcast); g != w {
				t.Fatalf("broadcast %+v, want %+v", g, w)
			}
		}
	}
}

// fitted cuts texts to what their fields hold: a letter of Latin-1 takes one
// byte as it is read and two as it is written.
func fitted(b sound.Broadcast) sound.Broadcast {
	for text, most := range map[*string]int{&b.Description: 256, &b.Originator: 32, &b.OriginatorReference: 32, &b.OriginationDate: 10, &b.OriginationTime: 8, &b.CodingHistory: maxHistory} {
		*text = strings.TrimRight(cutText(*text, most), " ")
	}
	return b
}

func readFrom(t *testing.T, r *Reader) [][]float32 {
	if err := r.SeekFrame(0); err != nil {
		t.Fatal(err)
	}
	return soundtest.ReadAll(t, r, 512)
}

func again(t *testing.T, h sound.Header, planar [][]float32) *Reader {
	var m soundtest.Memory
	w, err := Create(&m, Spec{Format: h.Format, Broadcast: h.Broadcast, ChannelNames: h.ChannelNames})
	if err != nil {
		t.Fatalf("%+v was read and cannot be written: %v", h.Format, err)
	}
	if err := w.Write(sound.Block{Channels: planar}); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return open(t, m.Bytes)
}
