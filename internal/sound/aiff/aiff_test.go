package aiff

import (
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
)

func write(t testing.TB, format sound.Format, compression string, planar [][]float32) []byte {
	t.Helper()
	var b bytes.Buffer
	w, err := NewWriter(&b, format, compression, int64(len(planar[0])))
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(sound.Block{Channels: planar}); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func open(t testing.TB, p []byte) *Reader {
	t.Helper()
	r, err := Open(bytes.NewReader(p), int64(len(p)))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Sample rates as 80-bit floats: AIFF 1.3 (1989), COMM chunk; the bytes are
// those that encoders write (from memory, and checked by the formula in
// extended.go).
func TestRatesAsExtendedFloats(t *testing.T) {
	cases := []struct {
		rate  uint32
		bytes string
	}{
		{8000, "400bfa00000000000000"}, {22050, "400dac44000000000000"}, {32000, "400dfa00000000000000"},
		{44100, "400eac44000000000000"}, {48000, "400ebb80000000000000"}, {88200, "400fac44000000000000"},
		{96000, "400fbb80000000000000"}, {176400, "4010ac44000000000000"}, {192000, "4010bb80000000000000"},
	}
	for _, c := range cases {
		if got := hex.EncodeToString(appendExtended(nil, c.rate)); got != c.bytes {
			t.Errorf("%d is written as %s, want %s", c.rate, got, c.bytes)
		}
		p, err := hex.DecodeString(c.bytes)
		if err != nil {
			t.Fatal(err)
		}
		if got := fromExtended(p); got != float64(c.rate) {
			t.Errorf("%s reads as %v, want %d", c.bytes, got, c.rate)
		}
	}
	if got := fromExtended([]byte("\x7f\xff\x80\x00\x00\x00\x00\x00\x00\x00")); !math.IsNaN(got) {
		t.Errorf("what is no number reads as %v", got)
	}
	if got := fromExtended([]byte("\xc0\x0e\xac\x44\x00\x00\x00\x00\x00\x00")); got != -44100 {
		t.Errorf("a negative rate reads as %v", got)
	}
	if got := fromExtended(appendExtended(nil, 0)); got != 0 {
		t.Errorf("zero reads as %v", got)
	}
}

func TestWhatIsWrittenComesBack(t *testing.T) {
	kinds := []struct {
		compression string
		bits        int
	}{
		{"", 8}, {"", 12}, {"", 16}, {"", 20}, {"", 24}, {"", 32}, {"NONE", 16}, {"twos", 24}, {"in24", 24}, {"in32", 32},
		{"sowt", 8}, {"sowt", 16}, {"sowt", 24}, {"sowt", 32}, {"raw ", 8}, {"fl32", 32}, {"FL32", 32}, {"fl64", 64}, {"FL64", 64},
	}
	for _, k := range kinds {
		for _, channels := range []int{1, 2, 5, 64} {
			t.Run(fmt.Sprintf("%d channels of %q, %d bits", channels, k.compression, k.bits), func(t *testing.T) {
				want := soundtest.Noise(channels, 1001, min(k.bits, 24))
				format := sound.Format{Container: "AIFF", Bits: k.bits, RateHz: 88200, Channels: channels}
				if k.compression != "" {
					format.Container = "AIFC"
				}
				if strings.EqualFold(k.compression[:min(2, len(k.compression))], "fl") {
					format.Encoding = sound.Float
				}
				p := write(t, format, k.compression, want)
				if size := int(be.Uint32(p[4:])); size != len(p)-8 {
					t.Fatalf("FORM declares %d bytes, want %d", size, len(p)-8)
				}
				r := open(t, p)
				if h := r.Header(); h.Format != format || h.Frames != 1001 {
					t.Fatalf("header %+v, want %+v and 1001 frames", h, format)
				}
				soundtest.Same(t, soundtest.ReadAll(t, r, 333), want)
				if d := r.Damage(); len(d) != 0 {
					t.Fatalf("damage %v, want none", d)
				}
			})
		}
	}
}

func TestReaderKeepsItsPromises(t *testing.T) {
	want := soundtest.Noise(2, 70001, 24)
	p := write(t, sound.Format{Bits: 24, RateHz: 48000, Channels: 2}, "", want)
	soundtest.Suite(t, func() sound.Reader { return open(t, p) }, want)
}

// Files are built by hand here, so that the reader is held to the format and not
// to what the writer beside it does.

func u16(n int) string { return string(be.AppendUint16(nil, uint16(n))) }
func u32(n int) string { return string(be.AppendUint32(nil, uint32(n))) }

func ck(id, body string) string {
	s := id + u32(len(body)) + body
	if len(body)%2 == 1 {
		s += "\x00"
	}
	return s
}

func form(kind string, chunks ...string) string {
	body := kind + strings.Join(chunks, "")
	return "FORM" + u32(len(body)) + body
}

const rate48k = "\x40\x0e\xbb\x80\x00\x00\x00\x00\x00\x00"

func comm(channels, frames, bits int, rest string) string {
	return ck("COMM", u16(channels)+u32(frames)+u16(bits)+rate48k+rest)
}

func ssnd(offset, block int, data string) string {
	return ck("SSND", u32(offset)+u32(block)+data)
}

func TestFilesByHand(t *testing.T) {
	four := "\x00\x01\x00\x02\x00\x03\x00\x04"
	want := []float32{1. / 32768, 2. / 32768, 3. / 32768, 4. / 32768}
	cases := []struct {
		name, file string
		want       []float32
		kind       string
		text       string
	}{
		{"the plain form", form("AIFF", comm(1, 4, 16, ""), ssnd(0, 0, four)), want, "", ""},
		{"COMM behind the sound", form("AIFF", ssnd(0, 0, four), comm(1, 4, 16, "")), want, "", ""},
		{"the sound begins behind an offset", form("AIFF", comm(1, 4, 16, ""), ssnd(6, 512, "######"+four)), want, "", ""},
		{"filled up behind the sound", form("AIFF", comm(1, 4, 16, ""), ssnd(0, 512, four+"####")), want, "odd", "declares 4 frames, the SSND chunk holds 6; the last 2 were left out"},
		{"marks, names and unknown chunks", form("AIFF", ck("NAME", "abc"), ck("MARK", u16(0)), comm(1, 4, 16, ""), ssnd(0, 0, four), ck("ANNO", "x")), want, "", ""},
		{"the pad byte forgotten", form("AIFF", "NAME"+u32(3)+"abc", comm(1, 4, 16, ""), ssnd(0, 0, four)), want, "odd", "NAME chunk at byte 12 has an odd size and no pad byte behind it"},
		{"little-endian", form("AIFC", ck("FVER", u32(0xA2805140)), comm(1, 4, 16, "sowt\x00\x00"), ssnd(0, 0, "\x01\x00\x02\x00\x03\x00\x04\x00")), want, "", ""},
		{"8 bits are signed", form("AIFF", comm(1, 3, 8, ""), ssnd(0, 0, "\x80\x7f\x01")), []float32{-1, 127. / 128, 1. / 128}, "", ""},
		{"12 bits are left-justified", form("AIFF", comm(1, 2, 12, ""), ssnd(0, 0, "\x7f\xf0\x80\x00")), []float32{2047. / 2048, -1}, "", ""},
		{"in24 that tells of 16 bits", form("AIFC", comm(1, 2, 16, "in24\x00\x00"), ssnd(0, 0, "\x80\x00\x00\x7f\xff\xff")), []float32{-1, 8388607. / 8388608}, "", ""},
		{"in24 that tells of 8 bits", form("AIFC", comm(1, 2, 8, "in24\x00\x00"), ssnd(0, 0, "\x80\x00\x00\x7f\x00\x00")), []float32{-1, 127. / 128}, "", ""},
		{"nothing recorded", form("AIFF", comm(1, 0, 16, ""), ssnd(0, 0, "")), nil, "", ""},
		{"nothing recorded and no chunk for it", form("AIFF", comm(1, 0, 16, "")), nil, "", ""},
		{"lengths never written", "FORM" + u32(0) + "AIFF" + comm(1, 0, 16, "") + "SSND" + u32(0) + u32(0) + u32(0) + four, want, "unfinished", "SSND chunk at byte 38 declares 0 bytes, the file holds 16; the recorder never wrote the length"},
		{"lengths of an empty recording left", "FORM" + u32(46) + "AIFF" + comm(1, 0, 16, "") + "SSND" + u32(8) + u32(0) + u32(0) + four, want, "unfinished", "SSND chunk at byte 38 declares 8 bytes, the file holds 16"},
		{"length of all ones", "FORM" + u32(-1) + "AIFF" + comm(1, -1, 16, "") + "SSND" + u32(-1) + u32(0) + u32(0) + four, want, "unfinished", "SSND chunk at byte 38 declares 4294967295 bytes, the file holds 16"},
		{"count of frames never written", form("AIFF", comm(1, 0, 16, ""), ssnd(0, 0, four)), want, "unfinished", "COMM chunk at byte 12 declares 0 frames, the SSND chunk holds 4"},
		{"longer than the file", "FORM" + u32(246) + "AIFF" + comm(1, 100, 16, "") + "SSND" + u32(208) + u32(0) + u32(0) + four, want, "truncated", "SSND chunk at byte 38 declares 208 bytes, the file holds 16; the end is missing"},
		{"longer than the file, and all that is counted is there", "FORM" + u32(246) + "AIFF" + comm(1, 4, 16, "") + "SSND" + u32(208) + u32(0) + u32(0) + four + "####", want, "odd", "SSND chunk at byte 38 declares 208 bytes, the file holds 20; no frame of the sound is missing"},
		{"half a frame longer than the file", "FORM" + u32(63) + "AIFF" + comm(1, 0, 16, "") + "SSND" + u32(17) + u32(0) + u32(0) + four, want, "odd", "SSND chunk at byte 38 declares 17 bytes, the file holds 16; no frame of the sound is missing"},
		{"longer than the file, by the offset as well", "FORM" + u32(246) + "AIFF" + comm(1, 0, 16, "") + "SSND" + u32(210) + u32(2) + u32(0) + "##" + four, want, "truncated", "SSND chunk at byte 38 declares 210 bytes, the file holds 18; the end is missing"},
		{"fewer frames than counted", form("AIFF", comm(1, 100, 16, ""), ssnd(0, 0, four)), want, "truncated", "COMM chunk at byte 12 declares 100 frames, the SSND chunk holds 4; the end is missing"},
		{"a rate that is no whole number", form("AIFF", ck("COMM", u16(1)+u32(4)+u16(16)+"\x40\x0e\xbb\x80\x80\x00\x00\x00\x00\x00"), ssnd(0, 0, four)), want, "odd", "COMM chunk at byte 12 declares a rate of 48000.5 Hz; 48001 was taken"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := open(t, []byte(c.file))
			if got := r.Header().Frames; got != int64(len(c.want)) {
				t.Fatalf("the header tells of %d frames, want %d", got, len(c.want))
			}
			got := soundtest.ReadAll(t, r, 3)
			soundtest.Same(t, got, [][]float32{c.want})
			d := r.Damage()
			if c.kind == "" && len(d) != 0 {
				t.Fatalf("damage %v, want none", d)
			}
			if c.kind != "" && (len(d) != 1 || d[0].Kind != c.kind || !strings.Contains(d[0].Text, c.text)) {
				t.Fatalf("damage %+v, want %s: %q", d, c.kind, c.text)
			}
			if c.kind == "truncated" && (d[0].DeclaredFrames != 100 || d[0].HeldFrames != 4) {
				t.Fatalf("damage %+v, want 100 frames declared and 4 held", d)
			}
		})
	}
}

var refused = map[string]struct{ file, want string }{
	"empty":                        {"", "the file holds 0 bytes, an AIFF header takes 54"},
	"form of another kind":         {"FORM" + u32(4) + "8SVX", `the file begins with "FORM" … "8SVX", an AIFF file with FORM and AIFF or AIFC`},
	"no COMM":                      {form("AIFF", ssnd(0, 0, "ab")), "the file has no COMM chunk in its 30 bytes"},
	"no SSND":                      {form("AIFF", comm(1, 4, 16, "")), "the file has no SSND chunk in its 38 bytes"},
	"COMM too short":               {form("AIFF", ck("COMM", "abcd")), "COMM chunk at byte 12 holds 4 bytes, expected at least 18"},
	"COMM too short for AIFC":      {form("AIFC", comm(1, 4, 16, "")), "COMM chunk at byte 12 holds 18 bytes, expected at least 22"},
	"no channels":                  {form("AIFF", comm(0, 4, 16, "")), "COMM chunk at byte 12 declares 0 channels, expected 1 to 64; the file is not readable sound, ask for it to be exported again"},
	"negative channels":            {form("AIFF", comm(-3, 4, 16, "")), "COMM chunk at byte 12 declares -3 channels"},
	"no bits":                      {form("AIFF", comm(1, 4, 0, "")), "COMM chunk at byte 12 declares samples of 0 bits, expected 1 to 32"},
	"32 bits in 24":                {form("AIFC", comm(1, 4, 32, "in24\x00\x00")), "COMM chunk at byte 12 declares samples of 32 bits in 24; "},
	"33 bits":                      {form("AIFF", comm(1, 4, 33, "")), "COMM chunk at byte 12 declares samples of 33 bits, expected 1 to 32"},
	"raw samples of 16 bits":       {form("AIFC", comm(1, 4, 16, "raw \x00\x00")), "COMM chunk at byte 12 declares raw samples of 16 bits, expected 8"},
	"a rate of 0 Hz":               {form("AIFF", ck("COMM", u16(1)+u32(4)+u16(16)+strings.Repeat("\x00", 10))), "COMM chunk at byte 12 declares a rate of 0 Hz, expected 2000 to 1536000"},
	"a rate of 1 Hz":               {form("AIFF", ck("COMM", u16(1)+u32(4)+u16(16)+"\x3f\xff\x80"+strings.Repeat("\x00", 7))), "COMM chunk at byte 12 declares a rate of 1 Hz, expected 2000 to 1536000"},
	"a rate that is no number":     {form("AIFF", ck("COMM", u16(1)+u32(4)+u16(16)+strings.Repeat("\xff", 10))), "COMM chunk at byte 12 declares a rate of NaN Hz"},
	"compressed":                   {form("AIFC", comm(1, 4, 16, "ima4\x00\x00")), `COMM chunk at byte 12 names the compression "ima4", expected plain samples (NONE, sowt, fl32 or fl64)`},
	"the sound begins past itself": {form("AIFF", comm(1, 4, 16, ""), ssnd(1000, 0, "abcd")), "SSND chunk at byte 38 declares its sound to begin 1000 bytes in and holds 12"},
}

func TestFilesThatAreRefused(t *testing.T) {
	for name, c := range refused {
		t.Run(name, func(t *testing.T) {
			r, err := Open(strings.NewReader(c.file), int64(len(c.file)))
			var typed *sound.FormatError
			if r != nil || !errors.As(err, &typed) {
				t.Fatalf("gave %v and %v, want a *sound.FormatError alone", r, err)
			}
			if !strings.HasPrefix(err.Error(), c.want) {
				t.Fatalf("%q, want %q", err, c.want)
			}
		})
	}
}

func TestWriterRefuses(t *testing.T) {
	for _, c := range []struct {
		compression    string
		bits, channels int
		frames         int64
	}{{"ima4", 16, 1, 1}, {"", 33, 1, 1}, {"fl32", 24, 1, 1}, {"raw ", 16, 1, 1}, {"", 16, 65, 1}, {"", 16, 2, 1 << 31}} {
		if w, err := NewWriter(io.Discard, sound.Format{Bits: c.bits, Channels: c.channels, RateHz: 48000}, c.compression, c.frames); w != nil || err == nil {
			t.Errorf("%+v gave %v, want an error", c, err)
		}
	}
}
