package soundfile

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
)

func TestKnownGoesByTheExtension(t *testing.T) {
	for name, want := range map[string]bool{
		"kick.wav": true, "KICK.WAV": true, "day 1/room.BWF": true, "a.rf64": true, "a.bw64": true, "a.wave": true,
		"a.aif": true, "a.AIFF": true, "a.aifc": true, "mix.v2.flac": true,
		"a.mp3": false, "a.w64": false, "wav": false, "a.wav.part": false, "a": false, "folder.wav/a": false, "": false,
	} {
		if got := Known(name); got != want {
			t.Errorf("%q: %v, want %v", name, got, want)
		}
	}
}

// The table in testdata/README.md names each file there, and what is said.
func TestTinyBrokenFiles(t *testing.T) {
	readme, err := os.ReadFile(filepath.Join("testdata", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	told := map[string]string{}
	for line := range strings.Lines(string(readme)) {
		if cells := strings.Split(strings.TrimSpace(line), " | "); len(cells) == 2 && strings.Contains(cells[0], ".") {
			told[strings.TrimPrefix(cells[0], "| ")] = strings.TrimSuffix(cells[1], " |")
		}
	}
	files, err := os.ReadDir("testdata")
	if err != nil {
		t.Fatal(err)
	}
	count := 0
	for _, f := range files {
		if f.IsDir() || f.Name() == "README.md" {
			continue
		}
		count++
		t.Run(f.Name(), func(t *testing.T) {
			p, err := os.ReadFile(filepath.Join("testdata", f.Name()))
			if err != nil {
				t.Fatal(err)
			}
			got := ""
			r, err := Open(bytes.NewReader(p), int64(len(p)))
			if err != nil {
				var typed *sound.FormatError
				if !errors.As(err, &typed) || r != nil {
					t.Fatalf("%v and %v, want a *sound.FormatError alone", r, err)
				}
				got = "refused: " + err.Error()
			} else {
				soundtest.ReadAll(t, r, 100)
				for _, d := range r.Damage() {
					got += d.Kind + ": " + d.Text
				}
			}
			if got != told[f.Name()] {
				t.Fatalf("says\n%s\nthe table\n%s", got, told[f.Name()])
			}
		})
	}
	if count == 0 || count != len(told) {
		t.Fatalf("%d files and %d lines in the table, want as many", count, len(told))
	}
}

func TestWhatElseIsHandedOver(t *testing.T) {
	for want, head := range map[string]string{
		"the file is an MP3 file; Tidemark reads WAV, RF64, BW64, AIFF, AIFC and FLAC; ask for one of those": "ID3\x04\x00\x00\x00\x00\x00\x00\xff\xfb",
		"the file is an Ogg file; ":                    "OggS\x00\x02",
		"the file is an MP4 or M4A file; ":             "\x00\x00\x00\x20ftypM4A ",
		"the file is a W64 file; ":                     "riff\x2e\x91\xcf\x11\xa5\xd6\x28\xdb",
		"the file is a ZIP archive; unpack it first; ": "PK\x03\x04",
		"the file is a resource fork that a copy left": "\x00\x05\x16\x07\x00\x02\x00\x00",
		"the file is text; ":                           "line;source\n1;Cajón\n",
		"the file begins with 0102030405060708, which": "\x01\x02\x03\x04\x05\x06\x07\x08\x09",
	} {
		r, err := Open(strings.NewReader(head), int64(len(head)))
		if r != nil || err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%q gave %v, want %q", head, err, want)
		}
	}
}

// The 512 bytes that are looked at may end within a character.
func TestTextCutWithinACharacter(t *testing.T) {
	text := strings.Repeat("x", 511) + "ó and more"
	_, err := Open(strings.NewReader(text), int64(len(text)))
	if err == nil || !strings.HasPrefix(err.Error(), "the file is text") {
		t.Fatalf("%v, want it taken for text", err)
	}
}

// FuzzOpen: whatever the bytes, no panic, and a reader or a typed error.
func FuzzOpen(f *testing.F) {
	files, err := filepath.Glob(filepath.Join("testdata", "*.*"))
	if err != nil || len(files) == 0 {
		f.Fatalf("no seeds: %v", err)
	}
	for _, name := range files {
		p, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(p)
	}
	f.Fuzz(func(t *testing.T, p []byte) {
		r, err := Open(bytes.NewReader(p), int64(len(p)))
		if err != nil {
			var typed *sound.FormatError
			if !errors.As(err, &typed) || r != nil {
				t.Fatalf("%v and %v, want a *sound.FormatError alone", r, err)
			}
			return
		}
		soundtest.Agree(t, func() sound.Reader {
			r, err := Open(bytes.NewReader(p), int64(len(p)))
			if err != nil {
				t.Fatal(err)
			}
			return r
		}, len(p))
		b := sound.NewBlock(r.Header().Format.Channels, 512)
		if err := r.SeekFrame(100); err != nil {
			t.Fatal(err)
		}
		if err := r.Read(b); err == nil && b.Start != 100 {
			t.Fatalf("block starts at frame %d, want 100", b.Start)
		}
	})
}
