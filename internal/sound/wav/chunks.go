package wav

import (
	"encoding/binary"
	"fmt"
	"io"
	"strings"

	"tidemark/internal/sound"
)

var le = binary.LittleEndian

const (
	// unknown32 in a 32-bit size defers to the ds64 chunk (RF64, BW64), or was
	// left by a recorder that did not know yet.
	unknown32 = 0xFFFFFFFF
	// maxChunks bounds the walk; files of recorders hold about ten chunks.
	maxChunks = 1 << 16
	// maxTable bounds the 64-bit size table; only its chunks past 4 GiB need it.
	maxTable = 1 << 10
)

// chunk is a place in the file.
type chunk struct {
	id       string // without the spaces that fill it up to four letters
	at       int64  // of the id
	body     int64  // of the first byte behind the size
	declared int64  // size as written, or from ds64
	held     int64  // bytes of it that the file holds
}

// file is what walking over the chunks has found.
type file struct {
	r    io.ReaderAt
	size int64

	container string
	riffSize  int64
	ds64      *chunk
	dataSize  int64            // from ds64
	table     map[string]int64 // from ds64: sizes of other long chunks

	fmt, data, bext, ixml *chunk
	kind                  string // of the data chunk's damage: "", "unfinished" or "truncated"
	damage                []sound.Damage
}

func (f *file) fail(c chunk, text string, args ...any) error {
	return &sound.FormatError{Chunk: c.id + " chunk", Offset: c.at, Text: fmt.Sprintf(text, args...)}
}

// odd notes a harmless breach of the format.
func (f *file) odd(text string, args ...any) {
	const most = 20 // enough to see the habit of a writer
	if len(f.damage) < most {
		f.damage = append(f.damage, sound.Damage{Kind: "odd", Text: fmt.Sprintf(text, args...)})
	}
}

// walk finds the chunks that matter.
func (f *file) walk() error {
	var head [12]byte
	n, err := readFull(f.r, head[:], 0)
	if err != nil {
		return &sound.FormatError{Text: "the first bytes could not be read", Err: err}
	}
	f.container = string(head[:4])
	switch {
	case n < len(head):
		return &sound.FormatError{Text: fmt.Sprintf("the file holds %d bytes, a WAV header takes 44; the recorder or the copy never got to the sound, look for another copy", f.size)}
	case f.container == "RIFX":
		return &sound.FormatError{Text: "the file is a big-endian RIFX file; ask for WAV, which begins with RIFF"}
	case f.container != "RIFF" && f.container != "RF64" && f.container != "BW64":
		return &sound.FormatError{Text: fmt.Sprintf("the file begins with %q, a WAV file with RIFF, RF64 or BW64; it is not readable sound, ask for it to be exported again", head[:4])}
	case string(head[8:]) != "WAVE":
		return &sound.FormatError{Text: fmt.Sprintf("the %s file holds %q, expected WAVE; ask for it to be exported as WAV", f.container, head[8:])}
	}
	f.riffSize = int64(le.Uint32(head[4:]))

	at := int64(len(head))
	for count := 0; at < f.size; count++ {
		if count == maxChunks {
			f.odd("more than %d chunks; those from byte %d on were not looked at", maxChunks, at)
			break
		}
		c, ok, err := f.header(at)
		if err != nil {
			return err
		}
		if !ok {
			f.odd("%d bytes at byte %d are no chunk; they were skipped", f.size-at, at)
			break
		}
		if c.id == "data" && f.data == nil {
			last, err := f.foundData(&c)
			if err != nil {
				return err
			}
			if last {
				return nil
			}
		} else if err := f.found(c); err != nil {
			return err
		}
		if at, err = f.after(c); err != nil {
			return err
		}
	}
	return nil
}

// header reads the id and size at byte at; ok is false where no chunk begins.
func (f *file) header(at int64) (c chunk, ok bool, err error) {
	var h [8]byte
	n, err := readFull(f.r, h[:], at)
	if err != nil {
		return c, false, &sound.FormatError{Chunk: "chunk", Offset: at, Text: "could not be read", Err: err}
	}
	if n < len(h) {
		return c, false, nil
	}
	for _, b := range h[:4] {
		if b < ' ' || b > '~' {
			return c, false, nil
		}
	}
	c = chunk{id: strings.TrimRight(string(h[:4]), " "), at: at, body: at + 8, declared: int64(le.Uint32(h[4:]))}
	if c.declared == unknown32 && f.ds64 != nil {
		if c.id == "data" {
			c.declared = f.dataSize
		} else if long, ok := f.table[c.id]; ok {
			c.declared = long
		}
	}
	c.held = min(c.declared, f.size-c.body)
	return c, true, nil
}

// found keeps a chunk that matters; the first of its kind counts.
func (f *file) found(c chunk) error {
	keep := func(place **chunk) {
		if *place == nil {
			*place = &c
		} else {
			f.odd("second %s chunk at byte %d; the first counts", c.id, c.at)
		}
	}
	switch c.id {
	case "ds64":
		if f.ds64 != nil || f.container == "RIFF" {
			f.odd("ds64 chunk at byte %d in a file where none belongs; it was not used", c.at)
			return nil
		}
		return f.readDS64(c)
	case "fmt":
		keep(&f.fmt)
	case "data":
		keep(&f.data)
	case "bext":
		keep(&f.bext)
	case "iXML":
		keep(&f.ixml)
	}
	return nil
}

// readDS64 reads the 64-bit sizes: ITU-R BS.2088-2 Annex 1, EBU Tech 3306.
func (f *file) readDS64(c chunk) error {
	const least = 28
	var p [least]byte
	if c.held < least {
		return f.fail(c, "holds %d bytes, expected at least %d; ask for the file to be exported again", c.held, least)
	}
	if n, err := readFull(f.r, p[:], c.body); err != nil || n < least {
		return &sound.FormatError{Chunk: "ds64 chunk", Offset: c.at, Text: "could not be read", Err: err}
	}
	riff, data := le.Uint64(p[0:]), le.Uint64(p[8:])
	// Sizes past 2^62 are no sizes; as "longer than the file" they are read
	// around like those of any crashed recorder.
	const most = 1 << 62
	f.riffSize, f.dataSize = int64(min(riff, most)), int64(min(data, most))
	f.ds64 = &c
	entries := min(int64(le.Uint32(p[24:])), (c.held-least)/12, maxTable)
	if entries == 0 {
		return nil
	}
	table := make([]byte, 12*entries)
	n, err := readFull(f.r, table, c.body+least)
	if err != nil {
		return &sound.FormatError{Chunk: "ds64 chunk", Offset: c.at, Text: "could not be read", Err: err}
	}
	f.table = make(map[string]int64, entries)
	for t := table[:n]; len(t) >= 12; t = t[12:] {
		f.table[strings.TrimRight(string(t[:4]), " ")] = int64(min(le.Uint64(t[4:]), most))
	}
	return nil
}

// after is where the chunk behind c begins. Many writers forget the pad byte
// behind an odd size; where only the unpadded place holds a chunk, that is it.
func (f *file) after(c chunk) (int64, error) {
	if c.declared > f.size-c.body {
		if c.id != "data" {
			f.odd("%s chunk at byte %d declares %d bytes, the file holds %d", c.id, c.at, c.declared, c.held)
		}
		return f.size, nil
	}
	end := c.body + c.declared
	if c.declared%2 == 0 {
		return end, nil
	}
	if end == f.size {
		f.odd("%s chunk at byte %d has an odd size and no pad byte", c.id, c.at)
		return end, nil
	}
	padded, err := f.plausible(end + 1)
	if err != nil || padded {
		return end + 1, err
	}
	bare, err := f.plausible(end)
	if bare {
		f.odd("%s chunk at byte %d has an odd size and no pad byte", c.id, c.at)
		return end, err
	}
	return end + 1, err
}

// plausible says whether a chunk that fits into the file, or the file's end, is
// at byte at.
func (f *file) plausible(at int64) (bool, error) {
	if at == f.size {
		return true, nil
	}
	c, ok, err := f.header(at)
	return ok && (c.declared == c.held || c.id == "data"), err
}

// chain says whether whole chunks follow one another from byte at to the end.
func (f *file) chain(at int64) (bool, error) {
	for count := 0; at < f.size && count < maxChunks; count++ {
		c, ok, err := f.header(at)
		if err != nil || !ok || c.declared != c.held {
			return false, err
		}
		at = c.body + c.declared + c.declared%2
	}
	return at >= f.size, nil
}
