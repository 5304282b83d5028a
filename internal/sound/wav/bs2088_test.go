package wav

import (
	"bytes"
	"strings"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
)

// ITU-R BS.2088-2 (11/2025) Annex 1 and EBU Tech 3306: ds64 stands first, and a
// 32-bit size of 0xFFFFFFFF defers to it; any other value is used as it is.

func ds64(riffSize, data, count int, table ...string) string {
	return ck("ds64", u64(riffSize)+u64(data)+u64(count)+u32(len(table))+strings.Join(table, ""))
}

func long(id string, chunks ...string) string {
	return id + u32(0xFFFFFFFF) + "WAVE" + strings.Join(chunks, "")
}

func TestBS2088SizesComeFromDS64(t *testing.T) {
	four := "\x01\x00\x02\x00\x03\x00\x04\x00"
	far := "data" + u32(0xFFFFFFFF) + four
	cases := []struct {
		name, file string
		container  string
		damage     string
	}{
		{"RF64", long("RF64", ds64(0, 8, 4), pcmFmt(1, 48000, 16), far), "RF64", ""},
		{"BW64, with a chunk behind the sound", long("BW64", ds64(0, 8, 0), pcmFmt(1, 48000, 16), far, ck("bext", bext(1))), "BW64", ""},
		{"32-bit size of the sound used as it is", long("BW64", ds64(0, 99999, 0), pcmFmt(1, 48000, 16), ck("data", four)), "BW64", ""},
		{"a long chunk sized by the table", long("BW64", ds64(0, 8, 0, "axml"+u64(6)), "axml"+u32(0xFFFFFFFF)+"abcdef", pcmFmt(1, 48000, 16), far), "BW64", ""},
		{"a table that claims more than it holds", long("BW64", ck("ds64", u64(0)+u64(8)+u64(0)+u32(0x7FFFFFFF)+"axml"+u64(6)), "axml"+u32(0xFFFFFFFF)+"abcdef", pcmFmt(1, 48000, 16), far), "BW64", ""},
		{"sound longer than the file", long("RF64", ds64(0, 1<<40, 0), pcmFmt(1, 48000, 16), far), "RF64", "truncated"},
		{"ds64 never filled in", long("RF64", ds64(0, 0, 0), pcmFmt(1, 48000, 16), far), "RF64", "unfinished"},
		{"size of all ones in ds64", long("RF64", ds64(-1, -1, 0), pcmFmt(1, 48000, 16), far), "RF64", "unfinished"},
		{"no ds64 at all", long("RF64", pcmFmt(1, 48000, 16), far), "RF64", "unfinished"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := open(t, []byte(c.file))
			if got := r.Header().Format.Container; got != c.container {
				t.Fatalf("container %q, want %q", got, c.container)
			}
			soundtest.Same(t, soundtest.ReadAll(t, r, 3), [][]float32{{1. / 32768, 2. / 32768, 3. / 32768, 4. / 32768}})
			kinds := ""
			for _, d := range r.Damage() {
				if d.Kind != "odd" {
					kinds += d.Kind
				}
			}
			if kinds != c.damage {
				t.Fatalf("damage %v, want %q", r.Damage(), c.damage)
			}
		})
	}
}

// headOnly keeps the beginning of what is written and counts the rest.
type headOnly struct {
	bytes.Buffer
	n int64
}

func (h *headOnly) Write(p []byte) (int, error) {
	if h.Len() < 4096 {
		h.Buffer.Write(p)
	}
	h.n += int64(len(p))
	return len(p), nil
}

// The length at which 32 bits do not suffice any more: 24-bit stereo reaches
// 4 GiB at 2^32/6 frames (4 h 8 min 33 s at 48 kHz). Only the header is written.
func TestBS2088WriterChangesOverAt4GiB(t *testing.T) {
	format := sound.Format{Bits: 24, RateHz: 48000, Channels: 2}
	const most = (1<<32 - 2 - 36 - 36) / 6 // frames that still fit, with room for ds64
	for _, c := range []struct {
		name   string
		frames int64
		want   string
	}{
		{"the last that fits", most, "RIFF"},
		{"one frame more", most + 1, "RF64"},
		{"ten hours", 10 * 3600 * 48000, "RF64"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var h headOnly
			if _, err := NewWriter(&h, Spec{Format: format}, c.frames); err != nil {
				t.Fatal(err)
			}
			p := h.Bytes()
			if got := string(p[:4]); got != c.want {
				t.Fatalf("a %s file, want %s", got, c.want)
			}
			r, err := Open(bytes.NewReader(p), int64(len(p))+c.frames*6)
			if err != nil {
				t.Fatal(err)
			}
			if h := r.Header(); h.Frames != c.frames || len(h.Damage) != 0 {
				t.Fatalf("header %+v, want %d frames and no damage", h, c.frames)
			}
			if c.want == "RF64" {
				data := c.frames * 6
				if got := int64(le.Uint64(p[20:])); got != int64(len(p))+data-8 {
					t.Errorf("riffSize %d, want %d: the file's length less 8", got, int64(len(p))+data-8)
				}
				if got := int64(le.Uint64(p[28:])); got != data {
					t.Errorf("dataSize %d, want %d", got, data)
				}
				if got := int64(le.Uint64(p[36:])); got != c.frames {
					t.Errorf("sampleCount %d, want %d", got, c.frames)
				}
			}
		})
	}
}

// A file without known length keeps the place of ds64 by JUNK, as EBU Tech 3306
// proposes.
func TestTech3306PlaceIsKeptForDS64(t *testing.T) {
	f := &soundtest.Memory{}
	want := soundtest.Noise(3, 1000, 24)
	w, err := Create(f, Spec{Format: sound.Format{Bits: 24, RateHz: 96000, Channels: 3}})
	if err != nil {
		t.Fatal(err)
	}
	for at := 0; at < 1000; at += 250 {
		if err := w.Write(sound.Block{Channels: [][]float32{want[0][at : at+250], want[1][at : at+250], want[2][at : at+250]}}); err != nil {
			t.Fatal(err)
		}
	}
	// So far it is the file of a recorder that crashed.
	r := open(t, f.Bytes)
	if d := r.Damage(); len(d) != 1 || d[0].Kind != "unfinished" || d[0].HeldFrames != 1000 {
		t.Fatalf("damage before Close %v, want one that is unfinished and holds 1000 frames", d)
	}
	soundtest.Same(t, soundtest.ReadAll(t, r, 999), want)
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if got := string(f.Bytes[12:16]); got != "JUNK" {
		t.Fatalf("%q at byte 12, want JUNK", got)
	}
	if got := int(le.Uint32(f.Bytes[4:])); got != len(f.Bytes)-8 {
		t.Fatalf("RIFF size %d, want %d", got, len(f.Bytes)-8)
	}
	r = open(t, f.Bytes)
	soundtest.Same(t, soundtest.ReadAll(t, r, 999), want)
	if d := r.Damage(); len(d) != 0 {
		t.Fatalf("damage %v, want none", d)
	}
}
