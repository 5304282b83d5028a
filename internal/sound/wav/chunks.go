package wav

import (
	"encoding/binary"
	"fmt"
	"strings"

	"tidemark/internal/sound"
	"tidemark/internal/sound/chunk"
)

var le = binary.LittleEndian

const (
	// ds64Bytes is a ds64 chunk without its table: ITU-R BS.2088-2 Annex 1.
	ds64Bytes = 28
	// maxTable bounds the table of 64-bit sizes; only chunks past 4 GiB need it.
	maxTable = 1 << 10
	// maxSize is more than any file holds; larger claims are cut to it.
	maxSize = 1 << 62
)

// file is what walking over the chunks has found.
type file struct {
	chunk.File
	container string
	ds64      bool
	long      map[string]int64 // from ds64: sizes of long chunks

	fmt, data, bext, ixml *chunk.Chunk
	kind                  string // of the data chunk's damage: "", "unfinished" or "truncated"
}

// walk finds the chunks that matter.
func (f *file) walk() error {
	var head [12]byte
	n, err := f.Bytes(head[:], 0)
	if err != nil {
		return err
	}
	f.Order, f.Long = le, func(id string) (int64, bool) { size, ok := f.long[id]; return size, ok }
	f.container = string(head[:4])
	switch {
	case n < len(head):
		return &sound.FormatError{Text: fmt.Sprintf("the file holds %d bytes, a WAV header takes 44; the recorder or the copy never got to the sound, look for another copy", f.Size)}
	case f.container == "RIFX":
		return &sound.FormatError{Text: "the file is a big-endian RIFX file; ask for WAV, which begins with RIFF"}
	case f.container != "RIFF" && f.container != "RF64" && f.container != "BW64":
		return &sound.FormatError{Text: fmt.Sprintf("the file begins with %q, a WAV file with RIFF, RF64 or BW64; it is not readable sound, ask for it to be exported again", head[:4])}
	case string(head[8:]) != "WAVE":
		return &sound.FormatError{Text: fmt.Sprintf("the %s file holds %q, expected WAVE; ask for it to be exported as WAV", f.container, head[8:])}
	}
	// The size of the whole in head[4:8] tells nothing that the chunks do not
	// tell better: crashed recorders leave it wrong, and so do many whole files.
	return f.Walk(int64(len(head)), f.found)
}

// found keeps a chunk that matters; the first of its kind counts.
func (f *file) found(c chunk.Chunk) (stop bool, err error) {
	keep := func(place **chunk.Chunk) bool {
		if *place != nil {
			f.Odd("second %s chunk at byte %d; the first counts", c.ID, c.At)
			return false
		}
		*place = &c
		return true
	}
	switch c.ID {
	case "ds64":
		if f.ds64 || f.container == "RIFF" {
			f.Odd("ds64 chunk at byte %d in a file where none belongs; it was not used", c.At)
			return false, nil
		}
		return false, f.readDS64(c)
	case "fmt":
		keep(&f.fmt)
	case "data":
		if keep(&f.data) {
			return f.foundData(&c)
		}
	case "bext":
		keep(&f.bext)
	case "iXML":
		keep(&f.ixml)
	}
	return false, nil
}

// readDS64 reads the 64-bit sizes: ITU-R BS.2088-2 Annex 1, EBU Tech 3306.
func (f *file) readDS64(c chunk.Chunk) error {
	p, err := f.Head(c, ds64Bytes+12*maxTable)
	if err != nil {
		return err
	}
	if len(p) < ds64Bytes {
		return c.Fail("holds %d bytes, expected at least %d; ask for the file to be exported again", len(p), ds64Bytes)
	}
	f.ds64 = true
	f.long = map[string]int64{"data": int64(min(le.Uint64(p[8:]), maxSize))}
	entries := le.Uint32(p[24:])
	for t := p[ds64Bytes:]; len(t) >= 12 && entries > 0; t, entries = t[12:], entries-1 {
		id := strings.TrimRight(string(t[:4]), " ")
		if id != "data" {
			f.long[id] = int64(min(le.Uint64(t[4:]), maxSize))
		}
	}
	return nil
}

// foundData decides how far the sound reaches, and says whether the data chunk
// is the last one that can be trusted.
func (f *file) foundData(c *chunk.Chunk) (last bool, err error) {
	rest := f.Size - c.Body
	switch {
	case c.Declared == 0 && rest > 0:
		// Nothing recorded, or never told: only bytes that are chunks to the
		// very end are taken for chunks.
		if ok, err := f.Chain(c.Body); ok || err != nil {
			return false, err
		}
		f.kind = "unfinished"
	case c.Declared > rest && (chunk.Placeholder(c.Declared) || c.Declared == maxSize):
		f.kind = "unfinished"
	case c.Declared > rest:
		f.kind = "truncated"
	case f.container == "RIFF" && f.Size > chunk.Unknown:
		// Sizes of 32 bits have turned over: a recorder without RF64 went on
		// past 4 GiB.
		if ok, err := f.Chain(c.Body + c.Declared + c.Declared%2); ok || err != nil {
			return false, err
		}
		f.kind = "unfinished"
	default:
		return false, nil
	}
	c.Held = rest
	return true, nil
}

// noteData adds the data chunk's damage, now that the frame size is known.
func (f *file) noteData(frameBytes, frames int64) {
	c := f.data
	if f.kind == "" {
		if spare := c.Declared % frameBytes; spare != 0 {
			f.Odd("data chunk at byte %d declares %d bytes, which is no whole number of frames of %d bytes; %d bytes at its end were left out", c.At, c.Declared, frameBytes, spare)
		}
		return
	}
	if f.kind == "truncated" && c.Declared/frameBytes <= frames {
		f.Odd("data chunk at byte %d declares %d bytes, the file holds %d; no frame of the sound is missing", c.At, c.Declared, c.Held)
		return
	}
	d := sound.Damage{Kind: f.kind, HeldFrames: frames}
	d.Text = fmt.Sprintf("data chunk at byte %d declares %d bytes, the file holds %d; ", c.At, c.Declared, c.Held)
	switch {
	case f.kind == "truncated":
		d.DeclaredFrames = c.Declared / frameBytes
		d.Text += "the end is missing"
	case c.Declared == 0 || c.Declared > c.Held:
		d.Text += "the recorder never wrote the length"
	default:
		d.Text += "its size has no room for sound past 4 GiB"
	}
	f.Damage = append(f.Damage, d)
}
