// Package soundfile picks the decoder for a file by its first bytes: names lie
// more often than bytes do.
package soundfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
	"unicode/utf8"

	"tidemark/internal/sound"
	"tidemark/internal/sound/aiff"
	"tidemark/internal/sound/flac"
	"tidemark/internal/sound/wav"
)

// reads says what to ask for where something else came.
const reads = "Tidemark reads WAV, RF64, BW64, AIFF, AIFC and FLAC; ask for one of those"

// extensions of the names that Known takes for sound.
var extensions = map[string]bool{
	".wav": true, ".wave": true, ".bwf": true, ".rf64": true, ".bw64": true,
	".aif": true, ".aiff": true, ".aifc": true, ".flac": true,
}

// Known says whether a file of this name is one that Open may be able to read:
// by its extension alone, in any case.
func Known(name string) bool { return extensions[strings.ToLower(path.Ext(name))] }

// Open looks at the first bytes of r, which holds size bytes, and opens it with
// the decoder they ask for. What is no sound that Tidemark reads gives a
// *sound.FormatError that names what it is, where that can be told.
func Open(r io.ReaderAt, size int64) (sound.Reader, error) {
	head := make([]byte, min(max(size, 0), 512))
	n, err := r.ReadAt(head, 0)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, &sound.FormatError{Text: "the first bytes could not be read", Err: err}
	}
	head = head[:n]
	starts := func(magic string) bool { return bytes.HasPrefix(head, []byte(magic)) }
	// A typed nil must not become a sound.Reader that is not nil.
	switch {
	case starts("RIFF") || starts("RF64") || starts("BW64") || starts("RIFX"):
		if w, err := wav.Open(r, size); err == nil {
			return w, nil
		} else {
			return nil, err
		}
	case starts("FORM"):
		if a, err := aiff.Open(r, size); err == nil {
			return a, nil
		} else {
			return nil, err
		}
	case starts("fLaC") || starts("ID3") && flac.BehindID3(r, size):
		if f, err := flac.Open(r, size); err == nil {
			return f, nil
		} else {
			return nil, err
		}
	}
	return nil, &sound.FormatError{Text: foreign(head, size)}
}

// strangers are first bytes of what is handed over in place of sound.
var strangers = []struct {
	at    int
	magic string
	is    string
}{
	{0, "ID3", "an MP3 file"},
	{0, "OggS", "an Ogg file"},
	{4, "ftyp", "an MP4 or M4A file"},
	{0, "caff", "a CAF file"},
	{0, "riff\x2e\x91\xcf\x11", "a W64 file"},
	{0, ".snd", "an AU file"},
	{0, "wvpk", "a WavPack file"},
	{0, "\x30\x26\xb2\x75\x8e\x66\xcf\x11", "a WMA file"},
	{0, "\x1a\x45\xdf\xa3", "a Matroska or WebM file"},
	{0, "MThd", "a MIDI file, which holds notes and no sound"},
	{0, "PK\x03\x04", "a ZIP archive; unpack it first"},
	{0, "\x1f\x8b", "a gzip archive; unpack it first"},
	{0, "%PDF", "a PDF document"},
	{0, "\x89PNG", "a PNG picture"},
	{0, "\xff\xd8\xff", "a JPEG picture"},
	{0, "\x00\x05\x16\x07", "a resource fork that a copy left behind; the sound has the same name without \"._\""},
}

// foreign words what the file is instead.
func foreign(head []byte, size int64) string {
	if size == 0 {
		return "the file holds no bytes; the recorder or the copy never wrote to it, look for another copy"
	}
	for _, s := range strangers {
		if len(head) >= s.at && bytes.HasPrefix(head[s.at:], []byte(s.magic)) {
			return fmt.Sprintf("the file is %s; %s", s.is, reads)
		}
	}
	// MPEG audio frames: eleven bits of ones, then version and layer, neither
	// of them reserved (ISO/IEC 11172-3 §2.4.1.3).
	if len(head) >= 2 && head[0] == 0xFF && head[1]&0xE0 == 0xE0 && head[1]&0x18 != 0x08 && head[1]&0x06 != 0 {
		return "the file is an MP3 file; " + reads
	}
	if len(bytes.Trim(head, "\x00")) == 0 {
		return "the file begins with zeros alone; its place on the disk was kept and never written to, look for another copy"
	}
	if isText(head) {
		return "the file is text; " + reads
	}
	return fmt.Sprintf("the file begins with %x, which is no sound that is known here; %s", head[:min(len(head), 8)], reads)
}

// isText says whether p is UTF-8 without control characters. A character cut at
// the end of p does not count against it.
func isText(p []byte) bool {
	for len(p) > 0 {
		c, n := utf8.DecodeRune(p)
		if c == utf8.RuneError && n == 1 {
			return len(p) < utf8.UTFMax && !utf8.FullRune(p)
		}
		if c < ' ' && c != '\n' && c != '\r' && c != '\t' && c != '\f' {
			return false
		}
		p = p[n:]
	}
	return true
}
