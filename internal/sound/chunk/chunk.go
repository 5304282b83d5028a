// Package chunk walks over the chunks of RIFF and IFF files: a four-byte id, a
// 32-bit size, that many bytes, and a pad byte (not counted) after an odd size.
//
// Sizes are claims. A File compares each with what the file holds, finds the
// next chunk where a writer has forgotten the pad byte, and notes what it had
// to be tolerant about.
package chunk

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"strings"

	"tidemark/internal/sound"
)

// Unknown is the 32-bit size that says "elsewhere", or was left by a recorder
// that did not know yet.
const Unknown = 0xFFFFFFFF

// Most bounds a walk; files of recorders hold about ten chunks.
const Most = 1 << 16

// Chunk is a place in the file.
type Chunk struct {
	ID       string // without the spaces that fill it up to four letters
	At       int64  // byte of the id
	Body     int64  // byte behind the size
	Declared int64  // size as written
	Held     int64  // bytes of it that the file holds
}

// File is a chain of chunks.
type File struct {
	R     io.ReaderAt
	Size  int64
	Order binary.ByteOrder
	// Long gives the true size of a chunk whose 32-bit size is Unknown; nil
	// where the container has no such thing.
	Long func(id string) (int64, bool)
	// Damage collects what was tolerated.
	Damage []sound.Damage
}

// Fail is the error for a chunk that makes the file unreadable; text is the
// predicate: "declares 0 channels, expected 1 to 64".
func (c Chunk) Fail(text string, args ...any) *sound.FormatError {
	return &sound.FormatError{Chunk: c.ID + " chunk", Offset: c.At, Text: fmt.Sprintf(text, args...)}
}

// Odd notes a harmless breach of the format; the first twenty are enough to see
// the habit of a writer.
func (f *File) Odd(text string, args ...any) {
	if len(f.Damage) < 20 {
		f.Damage = append(f.Damage, sound.Damage{Kind: "odd", Text: fmt.Sprintf(text, args...)})
	}
}

// Bytes reads len(p) bytes at byte at and says how many there were; an early
// end of the file is no error.
func (f *File) Bytes(p []byte, at int64) (int, error) {
	n, err := f.R.ReadAt(p, at)
	if n == len(p) || errors.Is(err, io.EOF) {
		return n, nil
	}
	return n, &sound.FormatError{Text: fmt.Sprintf("the file could not be read at byte %d", at), Err: err}
}

// Head reads a chunk's first bytes: as many as it declares and the file holds,
// up to most.
func (f *File) Head(c Chunk, most int64) ([]byte, error) {
	p := make([]byte, max(min(c.Held, most), 0))
	n, err := f.Bytes(p, c.Body)
	return p[:n], err
}

// Header reads the id and size at byte at; ok is false where no chunk begins.
func (f *File) Header(at int64) (c Chunk, ok bool, err error) {
	var h [8]byte
	n, err := f.Bytes(h[:], at)
	if err != nil || n < len(h) {
		return c, false, err
	}
	for _, b := range h[:4] {
		if b < ' ' || b > '~' {
			return c, false, nil
		}
	}
	c = Chunk{ID: strings.TrimRight(string(h[:4]), " "), At: at, Body: at + 8, Declared: int64(f.Order.Uint32(h[4:]))}
	if c.Declared == Unknown && f.Long != nil {
		if long, ok := f.Long(c.ID); ok {
			c.Declared = long
		}
	}
	c.Held = min(c.Declared, f.Size-c.Body)
	return c, true, nil
}

// Walk calls visit for each chunk from byte at on, until it says stop or the
// chain ends.
func (f *File) Walk(at int64, visit func(Chunk) (stop bool, err error)) error {
	for count := 0; at < f.Size; count++ {
		if count == Most {
			f.Odd("more than %d chunks; those from byte %d on were not looked at", Most, at)
			return nil
		}
		c, ok, err := f.Header(at)
		if err != nil {
			return err
		}
		if !ok {
			f.Odd("%d bytes at byte %d are no chunk; they were skipped", f.Size-at, at)
			return nil
		}
		stop, err := visit(c)
		if stop || err != nil {
			return err
		}
		if c.Declared > c.Held {
			f.Odd("%s chunk at byte %d declares %d bytes, the file holds %d", c.ID, c.At, c.Declared, c.Held)
			return nil
		}
		if at, err = f.after(c); err != nil {
			return err
		}
	}
	return nil
}

// after is where the chunk behind c begins. Many writers forget the pad byte
// behind an odd size; where only the unpadded place holds a chunk, that is it.
func (f *File) after(c Chunk) (int64, error) {
	end := c.Body + c.Declared
	if c.Declared%2 == 0 {
		return end, nil
	}
	if end < f.Size {
		padded, err := f.plausible(end + 1)
		if err != nil || padded {
			return end + 1, err
		}
		bare, err := f.plausible(end)
		if err != nil || !bare {
			return end + 1, err
		}
	}
	f.Odd("%s chunk at byte %d has an odd size and no pad byte behind it", c.ID, c.At)
	return end, nil
}

// plausible says whether a chunk that fits into the file, or the file's end, is
// at byte at. Sound may be longer than the file and is plausible nevertheless.
func (f *File) plausible(at int64) (bool, error) {
	if at == f.Size {
		return true, nil
	}
	c, ok, err := f.Header(at)
	return ok && (c.Declared == c.Held || c.ID == "data" || c.ID == "SSND"), err
}

// Chain says whether whole chunks follow one another from byte at to the end:
// what is left of a recording whose length was never written does not.
func (f *File) Chain(at int64) (bool, error) {
	for count := 0; at < f.Size && count < Most; count++ {
		c, ok, err := f.Header(at)
		if err != nil || !ok || c.Declared != c.Held {
			return false, err
		}
		at = c.Body + c.Declared + c.Declared%2
	}
	return at >= f.Size, nil
}

// Placeholder says whether a size is one that writers leave while they do not
// know it yet: all ones, or the most a signed reader takes, less a header
// (common practice, no source).
func Placeholder(size int64) bool {
	return size >= Unknown-0xFF && size <= Unknown || size >= 0x7FFFF000 && size <= 0x7FFFFFFF
}
