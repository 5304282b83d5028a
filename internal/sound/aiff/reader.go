package aiff

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"

	"tidemark/internal/sound"
	"tidemark/internal/sound/chunk"
	"tidemark/internal/sound/pcm"
)

var be = binary.BigEndian

const (
	maxChannels = 64
	// ssndHead is offset and block size, before the samples.
	ssndHead = 8
)

const exportAgain = "the file is not readable sound, ask for it to be exported again"

// Reader streams the sound of one AIFF or AIFF-C file. It fulfils sound.Reader.
type Reader struct {
	header sound.Header
	sound  *pcm.Stream
}

var _ sound.Reader = (*Reader)(nil)

// Header is what the chunks tell.
func (r *Reader) Header() sound.Header { return r.header }

// Read fills b, see sound.Reader.
func (r *Reader) Read(b *sound.Block) error { return r.sound.Read(b) }

// SeekFrame moves to a frame, see sound.Reader.
func (r *Reader) SeekFrame(frame int64) error { return r.sound.SeekFrame(frame) }

// Damage lists what was found wrong so far.
func (r *Reader) Damage() []sound.Damage {
	known := r.header.Damage
	return append(known[:len(known):len(known)], r.sound.Damage()...)
}

// file is what walking over the chunks has found.
type file struct {
	chunk.File
	compressed bool // AIFC
	comm, ssnd *chunk.Chunk
	kind       string // of the SSND chunk's damage: "", "unfinished" or "truncated"
}

// Open reads the chunks of an AIFF or AIFF-C file of size bytes, and no sample.
// What is wrong but can be read around is in Header().Damage; any other error
// about the contents is a *sound.FormatError.
func Open(r io.ReaderAt, size int64) (*Reader, error) {
	f := &file{File: chunk.File{R: r, Size: size, Order: be}}
	var head [12]byte
	n, err := f.Bytes(head[:], 0)
	if err != nil {
		return nil, err
	}
	switch kind := string(head[8:]); {
	case n < len(head):
		return nil, &sound.FormatError{Text: fmt.Sprintf("the file holds %d bytes, an AIFF header takes 54; the recorder or the copy never got to the sound, look for another copy", size)}
	case string(head[:4]) != "FORM" || kind != "AIFF" && kind != "AIFC":
		return nil, &sound.FormatError{Text: fmt.Sprintf("the file begins with %q … %q, an AIFF file with FORM and AIFF or AIFC; %s", head[:4], kind, exportAgain)}
	default:
		f.compressed = kind == "AIFC"
	}
	if err := f.Walk(int64(len(head)), f.found); err != nil {
		return nil, err
	}
	return f.reader()
}

// found keeps a chunk that matters; the first of its kind counts.
func (f *file) found(c chunk.Chunk) (stop bool, err error) {
	switch {
	case c.ID == "COMM" && f.comm == nil:
		f.comm = &c
	case c.ID == "SSND" && f.ssnd == nil:
		f.ssnd = &c
		return f.foundSound(&c)
	case c.ID == "COMM" || c.ID == "SSND":
		f.Odd("second %s chunk at byte %d; the first counts", c.ID, c.At)
	}
	return false, nil
}

// foundSound decides how far the sound reaches, and says whether the SSND chunk
// is the last one that can be trusted.
func (f *file) foundSound(c *chunk.Chunk) (last bool, err error) {
	rest := f.Size - c.Body
	switch {
	case c.Declared <= ssndHead && rest > ssndHead:
		// As for WAV: an empty recording with chunks behind it, or a length
		// that was never written.
		if ok, err := f.Chain(c.Body + c.Declared); ok || err != nil {
			return false, err
		}
		f.kind = "unfinished"
	case c.Declared > rest && chunk.Placeholder(c.Declared):
		f.kind = "unfinished"
	case c.Declared > rest:
		f.kind = "truncated"
	default:
		return false, nil
	}
	c.Held = rest
	return true, nil
}

// reader checks COMM and makes the Reader of what Walk has found.
func (f *file) reader() (*Reader, error) {
	if f.comm == nil {
		return nil, &sound.FormatError{Text: f.missing("COMM")}
	}
	format, layout, declared, err := f.readCommon(*f.comm)
	if err != nil {
		return nil, err
	}
	if f.ssnd == nil {
		if declared == 0 { // AIFF 1.3: an empty recording may go without
			return &Reader{
				header: sound.Header{Format: format, Damage: f.Damage},
				sound:  pcm.NewStream(f.R, layout, format.Channels, "SSND chunk", f.Size, 0),
			}, nil
		}
		return nil, &sound.FormatError{Text: f.missing("SSND")}
	}
	c := f.ssnd
	start := c.Body + ssndHead
	if c.Held >= ssndHead {
		p, err := f.Head(*c, ssndHead)
		if err != nil {
			return nil, err
		}
		if len(p) == ssndHead {
			start += int64(be.Uint32(p))
		}
	}
	held := max(c.Body+c.Held-start, 0)
	frameBytes := int64(format.Channels * layout.Bytes)
	frames := held / frameBytes
	if start > c.Body+c.Held && declared > 0 && c.Held > ssndHead {
		return nil, c.Fail("declares its sound to begin %d bytes in and holds %d; %s", start-c.Body-ssndHead, c.Held, exportAgain)
	}
	h := sound.Header{Format: format}
	d := sound.Damage{Kind: f.kind, HeldFrames: frames, DeclaredFrames: declared}
	where := fmt.Sprintf("SSND chunk at byte %d declares %d bytes, the file holds %d; ", c.At, c.Declared, c.Held)
	switch {
	case f.kind == "unfinished":
		d.DeclaredFrames = 0
		d.Text = where + "the recorder never wrote the length"
	case f.kind == "truncated":
		// The common chunk's count stands even where sound and count disagree:
		// it is what the recorder meant to hold.
		if declared == 0 || declared == chunk.Unknown {
			d.DeclaredFrames = max(c.Declared-(start-c.Body), 0) / frameBytes
		}
		d.Text = where + "the end is missing"
		if d.DeclaredFrames <= frames {
			// What is missing is padding, or less than a frame.
			f.Odd("%sno frame of the sound is missing", where)
			d.Kind, frames = "", d.DeclaredFrames
		}
	case frames > 0 && (declared == 0 || declared == chunk.Unknown):
		d.Kind, d.DeclaredFrames = "unfinished", 0
		d.Text = fmt.Sprintf("COMM chunk at byte %d declares %d frames, the SSND chunk holds %d; the recorder never wrote the length", f.comm.At, declared, frames)
	case frames < declared:
		d.Kind = "truncated"
		d.Text = fmt.Sprintf("COMM chunk at byte %d declares %d frames, the SSND chunk holds %d; the end is missing", f.comm.At, declared, frames)
	case frames > declared:
		// SSND may be filled up to whole blocks; COMM counts the sound.
		f.Odd("COMM chunk at byte %d declares %d frames, the SSND chunk holds %d; the last %d were left out", f.comm.At, declared, frames, frames-declared)
		frames = declared
	}
	if d.Kind != "" {
		f.Damage = append(f.Damage, d)
	}
	h.Frames, h.Damage = frames, f.Damage
	return &Reader{header: h, sound: pcm.NewStream(f.R, layout, format.Channels, "SSND chunk", start, frames)}, nil
}

// missing words the lack of a chunk, with what the walk met before.
func (f *file) missing(id string) string {
	text := fmt.Sprintf("the file has no %s chunk in its %d bytes; it is not readable sound, ask for it to be exported or copied again", id, f.Size)
	if len(f.Damage) > 0 {
		text += " (" + f.Damage[len(f.Damage)-1].Text + ")"
	}
	return text
}

// readCommon reads the COMM chunk; frames is what it declares.
func (f *file) readCommon(c chunk.Chunk) (format sound.Format, layout pcm.Layout, frames int64, err error) {
	least := 18
	format.Container = "AIFF"
	if f.compressed {
		least, format.Container = 22, "AIFC"
	}
	p, err := f.Head(c, int64(least))
	if err != nil {
		return format, layout, 0, err
	}
	if len(p) < least {
		return format, layout, 0, c.Fail("holds %d bytes, expected at least %d; %s", len(p), least, exportAgain)
	}
	channels, bits := int(int16(be.Uint16(p))), int(int16(be.Uint16(p[6:])))
	frames = int64(be.Uint32(p[2:]))
	if channels < 1 || channels > maxChannels {
		return format, layout, 0, c.Fail("declares %d channels, expected 1 to %d; %s", channels, maxChannels, exportAgain)
	}
	rate := fromExtended(p[8:18])
	if !(rate >= sound.MinRateHz && rate <= sound.MaxRateHz) {
		return format, layout, 0, c.Fail("declares a rate of %v Hz, expected %d to %d; %s", rate, sound.MinRateHz, sound.MaxRateHz, exportAgain)
	}
	format.RateHz, format.Channels = int(math.Round(rate)), channels
	if float64(format.RateHz) != rate {
		f.Odd("COMM chunk at byte %d declares a rate of %v Hz; %d was taken", c.At, rate, format.RateHz)
	}
	kind := "NONE"
	if f.compressed {
		kind = string(p[18:22])
	}
	switch kind {
	case "NONE", "twos":
		layout.BigEndian = true
	case "in24", "in32":
		layout.BigEndian = true
		if bits == 16 { // what some writers leave there, whatever follows
			bits = 24
			if kind == "in32" {
				bits = 32
			}
		}
	case "sowt":
	case "raw ":
		layout.Unsigned = true
		if bits > 8 {
			return format, layout, 0, c.Fail("declares raw samples of %d bits, expected 8; %s", bits, exportAgain)
		}
	case "fl32", "FL32", "fl64", "FL64":
		format.Encoding, layout.Encoding, layout.BigEndian = sound.Float, sound.Float, true
		bits = 32
		if kind[2:] == "64" {
			bits = 64
		}
	default:
		return format, layout, 0, c.Fail("names the compression %q, expected plain samples (NONE, sowt, fl32 or fl64); ask for uncompressed AIFF, WAV or FLAC", kind)
	}
	if bits < 1 || bits > 32 && format.Encoding == sound.Integer {
		return format, layout, 0, c.Fail("declares samples of %d bits, expected 1 to 32; %s", bits, exportAgain)
	}
	format.Bits, layout.Bits, layout.Bytes = bits, bits, (bits+7)/8
	switch kind { // the name tells how many bytes, whatever the number of bits
	case "in24":
		if layout.Bytes = 3; bits > 24 {
			return format, layout, 0, c.Fail("declares samples of %d bits in 24; %s", bits, exportAgain)
		}
	case "in32":
		layout.Bytes = 4
	}
	return format, layout, frames, nil
}
