package wav

import (
	"bytes"
	"errors"
	"runtime"
	"strings"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
)

// What recorders leave that crashed, ran out of card or were unplugged.
func TestWhatARecorderLeftIsRead(t *testing.T) {
	five := "\x01\x00\x02\x00\x03\x00\x04\x00\x05\x00"
	head := pcmFmt(1, 48000, 16)
	file := func(riffSize, dataSize int, behind string) string {
		return "RIFF" + u32(riffSize) + "WAVE" + head + "data" + u32(dataSize) + behind
	}
	cases := []struct {
		name, file     string
		frames         int64
		kind           string
		declared, held int64
		text           string
	}{
		{"nothing recorded", file(36, 0, ""), 0, "", 0, 0, ""},
		{"nothing recorded, chunks behind", file(36, 0, ck("LIST", "INFO")+ck("zzzz", "abc")), 0, "", 0, 0, ""},
		{"length 0, sound behind", file(0, 0, five), 5, "unfinished", 0, 5, "data chunk at byte 36 declares 0 bytes, the file holds 10; the recorder never wrote the length"},
		{"length 0, silence behind", file(0, 0, strings.Repeat("\x00", 100)), 50, "unfinished", 0, 50, "the recorder never wrote the length"},
		{"length 0, sound behind that begins like a chunk", file(0, 0, "LIST\x04\x00\x00\x00INFO"+five), 11, "unfinished", 0, 11, "declares 0 bytes, the file holds 22"},
		{"length of all ones", file(0xFFFFFFFF, 0xFFFFFFFF, five), 5, "unfinished", 0, 5, "declares 4294967295 bytes, the file holds 10; the recorder never wrote the length"},
		{"length as a pipe leaves it", file(0x7FFFF024, 0x7FFFF000, five), 5, "unfinished", 0, 5, "the recorder never wrote the length"},
		{"longer than the file", file(36+200, 200, five), 5, "truncated", 100, 5, "data chunk at byte 36 declares 200 bytes, the file holds 10; the end is missing"},
		{"half a frame longer than the file", file(36+11, 11, five), 5, "odd", 0, 0, "data chunk at byte 36 declares 11 bytes, the file holds 10; no frame of the sound is missing"},
		{"cut within a frame", file(36+200, 200, five+"\x06"), 5, "truncated", 100, 5, "declares 200 bytes, the file holds 11"},
		{"cut behind the header of the sound", file(36+200, 200, ""), 0, "truncated", 100, 0, "the file holds 0"},
		{"length 0, less than a frame behind", file(0, 0, "\x06"), 0, "unfinished", 0, 0, "declares 0 bytes, the file holds 1"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := open(t, []byte(c.file))
			if got := r.Header().Frames; got != c.frames {
				t.Fatalf("%d frames, want %d", got, c.frames)
			}
			got := soundtest.ReadAll(t, r, 3)[0]
			if int64(len(got)) != c.frames {
				t.Fatalf("%d frames read, want %d", len(got), c.frames)
			}
			if strings.HasSuffix(c.name, "sound behind") && got[4] != 5./32768 {
				t.Fatalf("the fifth sample is %v, want %v", got[4], 5./32768)
			}
			d := r.Damage()
			if c.kind == "" {
				if len(d) != 0 {
					t.Fatalf("damage %v, want none", d)
				}
				return
			}
			if len(d) != 1 || d[0].Kind != c.kind || d[0].DeclaredFrames != c.declared || d[0].HeldFrames != c.held || !strings.Contains(d[0].Text, c.text) {
				t.Fatalf("damage %+v, want %s, %d declared, %d held, %q", d, c.kind, c.declared, c.held, c.text)
			}
		})
	}
}

// zeros is a file of zeros behind its first bytes, of any size.
type zeros struct {
	head []byte
	size int64
}

func (z zeros) ReadAt(p []byte, off int64) (int, error) {
	clear(p)
	if off < int64(len(z.head)) {
		copy(p, z.head[off:])
	}
	return len(p), nil
}

// A recorder that knows 32 bits alone and goes on past 4 GiB leaves a size that
// has turned over: here 5 GiB of sound declared as 1 GiB.
func TestSoundPast4GiBWithoutRF64(t *testing.T) {
	z := zeros{[]byte("RIFF" + u32(1<<30+36) + "WAVE" + pcmFmt(2, 48000, 16) + "data" + u32(1<<30)), 44 + 5<<30}
	r, err := Open(z, z.size)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := r.Header().Frames, int64(5<<30/4); got != want {
		t.Fatalf("%d frames, want %d", got, want)
	}
	if d := r.Damage(); len(d) != 1 || d[0].Kind != "unfinished" || !strings.Contains(d[0].Text, "no room for sound past 4 GiB") {
		t.Fatalf("damage %v, want one that is unfinished", d)
	}
	if err := r.SeekFrame(5<<30/4 - 1); err != nil {
		t.Fatal(err)
	}
	if got := len(soundtest.ReadAll(t, r, 10)[0]); got != 1 {
		t.Fatalf("%d frames behind the last but one, want 1", got)
	}
}

// The refusals, by the tiny files in testdata/refused and the sentences that an
// engineer gets to see.
var refused = map[string]struct{ file, want string }{
	"empty":                     {"", "the file holds 0 bytes, a WAV header takes 44; the recorder or the copy never got to the sound, look for another copy"},
	"cut-in-the-header":         {"RIFF\x00\x00", "the file holds 6 bytes, a WAV header takes 44"},
	"another-magic":             {"RAFF" + u32(4) + "WAVE", `the file begins with "RAFF", a WAV file with RIFF, RF64 or BW64`},
	"big-endian":                {"RIFX\x00\x00\x00\x04WAVE", "the file is a big-endian RIFX file; ask for WAV, which begins with RIFF"},
	"riff-of-another-kind":      {"RIFF" + u32(4) + "AVI ", `the RIFF file holds "AVI ", expected WAVE; ask for it to be exported as WAV`},
	"no-chunks":                 {riff(), "the file has no fmt chunk in its 12 bytes; it is not readable sound, ask for it to be exported or copied again"},
	"no-sound":                  {riff(pcmFmt(1, 48000, 16)), "the file has no data chunk in its 36 bytes"},
	"sound-without-fmt":         {riff(ck("data", "\x00\x00")), "the file has no fmt chunk in its 22 bytes"},
	"cut-before-the-sound":      {riff(pcmFmt(1, 48000, 16)) + "LIST" + u32(5000) + "INFO", "the file has no data chunk in its 48 bytes; it is not readable sound, ask for it to be exported or copied again (LIST chunk at byte 36 declares 5000 bytes, the file holds 4)"},
	"fmt-too-short":             {riff(ck("fmt ", "\x01\x00\x01\x00"), ck("data", "")), "fmt chunk at byte 12 holds 4 bytes, expected at least 16; the file is not readable sound, ask for it to be exported again"},
	"no-channels":               {riff(pcmFmt(0, 48000, 16), ck("data", "")), "fmt chunk at byte 12 declares 0 channels, expected 1 to 64; the file is not readable sound, ask for it to be exported again"},
	"too-many-channels":         {riff(pcmFmt(65, 48000, 16), ck("data", "")), "fmt chunk at byte 12 declares 65 channels, expected 1 to 64"},
	"rate-of-0-hz":              {riff(pcmFmt(1, 0, 16), ck("data", "")), "fmt chunk at byte 12 declares 0 Hz, expected 2000 to 1536000"},
	"rate-of-1999-hz":           {riff(pcmFmt(1, 1999, 16), ck("data", "")), "fmt chunk at byte 12 declares 1999 Hz, expected 2000 to 1536000"},
	"no-bits":                   {riff(pcmFmt(1, 48000, 0), ck("data", "")), "fmt chunk at byte 12 declares integer samples of 0 bits, expected 1 to 32"},
	"64-bit-integers":           {riff(pcmFmt(1, 48000, 64), ck("data", "")), "fmt chunk at byte 12 declares integer samples of 64 bits, expected 1 to 32"},
	"float-of-16-bits":          {riff(ck("fmt ", fmtBody(3, 1, 48000, 2, 16)), ck("data", "")), "fmt chunk at byte 12 declares float samples of 16 bits, expected 32 or 64"},
	"frame-size-of-another":     {riff(ck("fmt ", fmtBody(1, 2, 48000, 5, 16)), ck("data", "")), "fmt chunk at byte 12 declares frames of 5 bytes, expected 4 for 2 channels of 16 bits"},
	"more-valid-bits-than-bits": {riff(extFmt(1, 48000, 16, 24, 0, 1), ck("data", "")), "fmt chunk at byte 12 declares 24 valid bits in samples of 16"},
	"mp3-inside":                {riff(ck("fmt ", fmtBody(0x55, 2, 44100, 1, 0)), ck("data", "")), "fmt chunk at byte 12 names the encoding 0x0055 (MP3), expected PCM or float; ask for uncompressed WAV or FLAC"},
	"unknown-encoding":          {riff(ck("fmt ", fmtBody(0x1234, 2, 44100, 4, 16)), ck("data", "")), "fmt chunk at byte 12 names the encoding 0x1234, expected 1 (PCM) or 3 (float)"},
	"long-fmt-cut":              {riff(ck("fmt ", fmtBody(tagExtensible, 2, 48000, 4, 16)+u16(22)), ck("data", "")), "fmt chunk at byte 12 is of the extensible kind and holds 18 bytes, expected 40"},
	"long-fmt-of-another":       {riff(ck("fmt ", fmtBody(tagExtensible, 2, 48000, 4, 16)+u16(22)+u16(16)+u32(3)+strings.Repeat("\xab", 16)), ck("data", "")), "fmt chunk at byte 12 names the encoding abababababababababababababababab, expected integer or float samples"},
	"ds64-too-short":            {"BW64" + u32(0xFFFFFFFF) + "WAVE" + ck("ds64", u64(0)) + pcmFmt(1, 48000, 16), "ds64 chunk at byte 12 holds 8 bytes, expected at least 28"},
}

func TestFilesThatAreRefused(t *testing.T) {
	for name, c := range refused {
		t.Run(name, func(t *testing.T) {
			r, err := Open(bytes.NewReader([]byte(c.file)), int64(len(c.file)))
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

// Sizes are claims: one kilobyte that declares 4 GiB everywhere takes no more
// memory than what it holds and the tables of the walk.
func TestClaimsTakeNoMemory(t *testing.T) {
	claim := func(id string) string { return id + u32(0xFFFFFFF0) + strings.Repeat("\x01\x00", 500) }
	for _, id := range []string{"fmt ", "data", "bext", "iXML", "ds64", "LIST"} {
		p := []byte("RF64" + u32(0xFFFFFFFF) + "WAVE" + pcmFmt(64, 48000, 32) + claim(id))
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		if r, err := Open(bytes.NewReader(p), int64(len(p))); err == nil {
			block := sound.NewBlock(64, 1)
			for r.Read(block) == nil {
			}
		}
		runtime.ReadMemStats(&after)
		got := after.TotalAlloc - before.TotalAlloc
		if got > 64<<10 {
			t.Errorf("%q takes %d bytes, want at most 64 KiB", id, got)
		}
	}
}

// diskError is a disk that cannot be read from byte at on.
type diskError struct {
	p  []byte
	at int64
}

var errDisk = errors.New("input/output error")

func (d diskError) ReadAt(p []byte, off int64) (int, error) {
	if off+int64(len(p)) > d.at {
		return 0, errDisk
	}
	return copy(p, d.p[off:]), nil
}

func TestDiskThatFails(t *testing.T) {
	file := []byte(riff(pcmFmt(1, 48000, 16), ck("data", strings.Repeat("ab", 400000))))
	for at, want := range map[int64]string{
		4:      "the file could not be read at byte 0: input/output error",
		30:     "the file could not be read at byte 36: input/output error",
		300000: "data chunk at byte 44 could not be read at byte 229420: input/output error",
	} {
		r, err := Open(diskError{file, at}, int64(len(file)))
		if err == nil {
			b := sound.NewBlock(1, 4096)
			for err == nil {
				err = r.Read(b)
			}
			if again := r.Read(b); !errors.Is(again, errDisk) {
				t.Errorf("reading again gave %v, want the error again", again)
			}
		}
		if !errors.Is(err, errDisk) || err.Error() != want {
			t.Errorf("%v, want %q", err, want)
		}
	}
}
