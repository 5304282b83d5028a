package wav

import (
	"strings"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
)

// The canonical file of one frame, 16 bits, mono, 48 kHz, sample 0x1234: 46
// bytes laid out by Multimedia Programming Interface and Data Specifications
// 1.0 (1991). Read and written.
const canonical = `52494646 26000000 57415645 666d7420 10000000 0100 0100 80bb0000 00770100
	0200 1000 64617461 02000000 3412`

func TestCanonicalFileOf46Bytes(t *testing.T) {
	file := unhex(t, canonical)
	r := open(t, []byte(file))
	want := sound.Format{Container: "WAV", Bits: 16, RateHz: 48000, Channels: 1}
	if h := r.Header(); h.Format != want || h.Frames != 1 || h.Broadcast != nil || h.ChannelNames != nil || len(h.Damage) != 0 {
		t.Fatalf("header %+v, want %+v and 1 frame", h, want)
	}
	sample := [][]float32{{0x1234 / 32768.}}
	soundtest.Same(t, soundtest.ReadAll(t, r, 10), sample)
	if got := string(write(t, Spec{Format: want}, sample)); got != file {
		t.Fatalf("written as %x, want %x", got, file)
	}
}

// Samples by hand: the least, the greatest and what lies between, in every
// layout.
func TestSamplesOfEveryLayout(t *testing.T) {
	cases := []struct {
		name, fmt, data string
		encoding        sound.Encoding
		bits            int
		want            []float32
	}{
		{"8 bits are unsigned", pcmFmt(1, 48000, 8), "\x00\x80\xff\x40", sound.Integer, 8, []float32{-1, 0, 127. / 128, -0.5}},
		{"16 bits", pcmFmt(1, 48000, 16), "\x00\x80\xff\x7f\x01\x00\xff\xff", sound.Integer, 16, []float32{-1, 32767. / 32768, 1. / 32768, -1. / 32768}},
		{"24 bits", pcmFmt(1, 48000, 24), "\x00\x00\x80\xff\xff\x7f\x01\x00\x00\xff\xff\xff", sound.Integer, 24, []float32{-1, 8388607. / 8388608, 1. / 8388608, -1. / 8388608}},
		{"32 bits", pcmFmt(1, 48000, 32), "\x00\x00\x00\x80\x00\x00\x00\x40\x00\x01\x00\x00", sound.Integer, 32, []float32{-1, 0.5, 1. / 8388608}},
		{"20 bits in three bytes, told by the long fmt chunk", extFmt(1, 48000, 24, 20, 4, 1), "\x00\x00\x80\xf0\xff\x7f\x10\x00\x00", sound.Integer, 20, []float32{-1, 524287. / 524288, 1. / 524288}},
		{"20 bits in three bytes, told by the short one", ck("fmt ", fmtBody(1, 1, 48000, 3, 20)), "\x00\x00\x80\xf0\xff\x7f", sound.Integer, 20, []float32{-1, 524287. / 524288}},
		{"24 bits in four bytes", ck("fmt ", fmtBody(1, 1, 48000, 4, 24)), "\x00\x00\x00\x80\x00\xff\xff\x7f", sound.Integer, 24, []float32{-1, 8388607. / 8388608}},
		{"24 bits in four bytes, told by the long fmt chunk", extFmt(1, 48000, 32, 24, 4, 1), "\x00\x00\x00\x80\x00\xff\xff\x7f", sound.Integer, 24, []float32{-1, 8388607. / 8388608}},
		{"12 bits in two bytes", ck("fmt ", fmtBody(1, 1, 48000, 2, 12)), "\x00\x80\xf0\x7f", sound.Integer, 12, []float32{-1, 2047. / 2048}},
		{"valid bits told as 0 mean all", extFmt(1, 48000, 16, 0, 4, 1), "\x00\x40", sound.Integer, 16, []float32{0.5}},
		{"float of 32 bits, past full scale", ck("fmt ", fmtBody(3, 1, 48000, 4, 32)+u16(0)), "\x00\x00\x80\x3f\x00\x00\x00\xc0", sound.Float, 32, []float32{1, -2}},
		{"float of 32 bits in the long fmt chunk", extFmt(1, 48000, 32, 32, 4, 3), "\x00\x00\x80\x3f\x00\x00\x00\xc0", sound.Float, 32, []float32{1, -2}},
		{"float of 64 bits", ck("fmt ", fmtBody(3, 1, 48000, 8, 64)), "\x00\x00\x00\x00\x00\x00\xe0\x3f", sound.Float, 64, []float32{0.5}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := open(t, []byte(riff(c.fmt, ck("data", c.data))))
			if f := r.Header().Format; f.Encoding != c.encoding || f.Bits != c.bits {
				t.Fatalf("%s of %d bits, want %s of %d", f.Encoding, f.Bits, c.encoding, c.bits)
			}
			if d := r.Damage(); len(d) != 0 {
				t.Fatalf("damage %v, want none", d)
			}
			soundtest.Same(t, soundtest.ReadAll(t, r, 2), [][]float32{c.want})
		})
	}
}

func bext(version int) string {
	b := make([]byte, bextBytes)
	copy(b, "Line 3, kick drum in")
	copy(b[256:], "Field recorder")
	copy(b[320:], "2031-04-1210:00:00")
	copy(b[338:], u64(1728000000))
	copy(b[346:], u16(version))
	return string(b) + "A=PCM,F=48000,W=16,M=mono,T=first\r\n"
}

func TestChunksInAnyOrder(t *testing.T) {
	four := "\x01\x00\x02\x00\x03\x00\x04\x00"
	bare := func(id, body string) string { return id + u32(len(body)) + body } // without its pad
	cases := []struct {
		name, file string
		odd        string // damage of kind "odd", "" none
		broadcast  bool
		names      string
	}{
		{"fmt behind an unknown chunk", riff(ck("zzzz", "abcdef"), pcmFmt(1, 48000, 16), ck("data", four)), "", false, ""},
		{"room kept by JUNK, fact, LIST", riff(ck("JUNK", strings.Repeat("\x00", 28)), pcmFmt(1, 48000, 16), ck("fact", u32(4)), ck("LIST", "INFOINAM\x02\x00\x00\x00a\x00"), ck("data", four)), "", false, ""},
		{"odd chunks with their pad bytes", riff(ck("zzzz", "abc"), pcmFmt(1, 48000, 16), ck("yyyy", "a"), ck("data", four), ck("xxxx", "a")), "", false, ""},
		{"an odd chunk without its pad byte before fmt", riff(bare("zzzz", "abc"), pcmFmt(1, 48000, 16), ck("data", four)), "zzzz chunk at byte 12 has an odd size and no pad byte behind it", false, ""},
		{"an odd chunk without its pad byte at the end", riff(pcmFmt(1, 48000, 16), ck("data", four), bare("zzzz", "abc")), "zzzz chunk at byte 52 has an odd size and no pad byte behind it", false, ""},
		{"bext before the sound", riff(ck("bext", bext(1)), pcmFmt(1, 48000, 16), ck("data", four)), "", true, ""},
		{"bext behind the sound", riff(pcmFmt(1, 48000, 16), ck("data", four), ck("bext", bext(1))), "", true, ""},
		{"iXML behind the sound", riff(pcmFmt(1, 48000, 16), ck("data", four), ck("iXML", string(ixml([]string{"Kick & sub"})))), "", false, "Kick & sub"},
		{"iXML that is no XML", riff(pcmFmt(1, 48000, 16), ck("data", four), ck("iXML", "<BWFXML><TRACK")), "iXML chunk at byte 52 is not well-formed", false, ""},
		{"two sounds, the first counts", riff(pcmFmt(1, 48000, 16), ck("data", four), ck("data", "\x05\x00")), "second data chunk at byte 52", false, ""},
		{"fmt behind the sound", riff(ck("data", four), pcmFmt(1, 48000, 16)), "data chunk at byte 12 stands before the fmt chunk", false, ""},
		{"bext too short", riff(ck("bext", "abc "), pcmFmt(1, 48000, 16), ck("data", four)), "bext chunk at byte 12 holds 4 bytes", false, ""},
		{"zeros behind the last chunk", riff(pcmFmt(1, 48000, 16), ck("data", four)) + strings.Repeat("\x00", 500), "500 bytes at byte 52 are no chunk", false, ""},
		{"a last chunk longer than the file", riff(pcmFmt(1, 48000, 16), ck("data", four)) + "LIST" + u32(5000) + "INFO", "LIST chunk at byte 52 declares 5000 bytes, the file holds 4", false, ""},
		{"half a frame too much", riff(pcmFmt(1, 48000, 16), ck("data", four+"\x09")), "data chunk at byte 36 declares 9 bytes, which is no whole number of frames of 2 bytes; 1 bytes", false, ""},
		{"frames declared to hold 0 bytes", riff(ck("fmt ", fmtBody(1, 1, 48000, 0, 16)), ck("data", four)), "fmt chunk at byte 12 declares frames of 0 bytes, 2 were taken", false, ""},
		{"ds64 where none belongs", riff(ck("ds64", strings.Repeat("\xee", 28)), pcmFmt(1, 48000, 16), ck("data", four)), "ds64 chunk at byte 12 in a file where none belongs", false, ""},
	}
	want := [][]float32{{1. / 32768, 2. / 32768, 3. / 32768, 4. / 32768}}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := open(t, []byte(c.file))
			soundtest.Same(t, soundtest.ReadAll(t, r, 10), want)
			d := r.Damage()
			if c.odd == "" && len(d) != 0 || c.odd != "" && (len(d) != 1 || d[0].Kind != "odd" || !strings.HasPrefix(d[0].Text, c.odd)) {
				t.Fatalf("damage %v, want %q", d, c.odd)
			}
			if b := r.Header().Broadcast; (b != nil) != c.broadcast {
				t.Fatalf("broadcast metadata %v, want it: %v", b, c.broadcast)
			}
			if c.names != "" && (len(r.Header().ChannelNames) != 1 || r.Header().ChannelNames[0] != c.names) {
				t.Fatalf("channel names %q, want %q", r.Header().ChannelNames, c.names)
			}
		})
	}
}

func TestChannelNamesStandByInterleaveIndex(t *testing.T) {
	doc := `<?xml version="1.0" encoding="UTF-8"?><BWFXML><TRACK_LIST><TRACK_COUNT>4</TRACK_COUNT>
		<TRACK><CHANNEL_INDEX>9</CHANNEL_INDEX><INTERLEAVE_INDEX>3</INTERLEAVE_INDEX><NAME> Fiddle </NAME></TRACK>
		<TRACK><CHANNEL_INDEX>7</CHANNEL_INDEX><INTERLEAVE_INDEX>1</INTERLEAVE_INDEX><NAME>Cajón</NAME></TRACK>
		<TRACK><CHANNEL_INDEX>8</CHANNEL_INDEX><INTERLEAVE_INDEX>12</INTERLEAVE_INDEX><NAME>past the last channel</NAME></TRACK>
		<TRACK><CHANNEL_INDEX>2</CHANNEL_INDEX><NAME>By channel</NAME></TRACK></TRACK_LIST></BWFXML>`
	r := open(t, []byte(riff(pcmFmt(3, 48000, 16), ck("data", ""), ck("iXML", doc+"\x00\x00"))))
	got := strings.Join(r.Header().ChannelNames, "|")
	if want := "Cajón|By channel|Fiddle"; got != want {
		t.Fatalf("%q, want %q", got, want)
	}
}
