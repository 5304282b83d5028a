package wav

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"

	"tidemark/internal/sound"
	"tidemark/internal/sound/chunk"
	"tidemark/internal/sound/pcm"
)

// Spec is what a Writer is to write.
type Spec struct {
	// Format: Encoding, Bits, RateHz and Channels as wanted; integers of 1 to
	// 32 bits lie left-justified in the least whole number of bytes. Container
	// "" or "WAV" becomes RF64 by itself where 32-bit sizes do not suffice;
	// "RF64" and "BW64" ask for that form whatever the length.
	Format sound.Format
	// Broadcast adds a bext chunk, nil none. Version is written as given.
	Broadcast *sound.Broadcast
	// ChannelNames adds an iXML chunk with one name a channel, nil none.
	ChannelNames []string
}

// Writer writes planar blocks as a WAV file. The caller decides on dither; see
// package pcm for rounding and clipping. A fmt chunk of the extensible kind is
// written for more than two channels and for valid bits that do not fill their
// bytes, where the short kind would leave readers to guess.
type Writer struct {
	w      io.Writer
	seek   io.Seeker // nil where the length was told beforehand
	spec   Spec
	layout pcm.Layout
	long   bool  // RF64 or BW64
	frames int64 // promised, −1 where not known
	wrote  int64
	buf    []byte
	err    error
}

// NewWriter writes to w, which is never gone back in: exactly frames frames
// must follow.
func NewWriter(w io.Writer, spec Spec, frames int64) (*Writer, error) {
	if frames < 0 {
		return nil, fmt.Errorf("%d frames promised, expected none or more", frames)
	}
	return start(w, nil, spec, frames)
}

// Create writes to w from its present place, which must be its beginning; the
// sizes are filled in by Close. Until then they are those of an empty file, and
// a JUNK chunk holds the place of the 64-bit sizes.
func Create(w io.WriteSeeker, spec Spec) (*Writer, error) { return start(w, w, spec, -1) }

func start(w io.Writer, seek io.Seeker, spec Spec, frames int64) (*Writer, error) {
	f := spec.Format
	switch {
	case f.Channels < 1 || f.Channels > maxChannels:
		return nil, fmt.Errorf("%d channels asked for, a WAV file is written with 1 to %d", f.Channels, maxChannels)
	case f.RateHz < sound.MinRateHz || f.RateHz > sound.MaxRateHz:
		return nil, fmt.Errorf("a rate of %d Hz asked for, expected %d to %d", f.RateHz, sound.MinRateHz, sound.MaxRateHz)
	case f.Encoding == sound.Float && f.Bits != 32 && f.Bits != 64:
		return nil, fmt.Errorf("float samples of %d bits asked for, expected 32 or 64", f.Bits)
	case f.Encoding == sound.Integer && (f.Bits < 1 || f.Bits > 32):
		return nil, fmt.Errorf("integer samples of %d bits asked for, expected 1 to 32", f.Bits)
	case f.Container != "" && f.Container != "WAV" && f.Container != "RF64" && f.Container != "BW64":
		return nil, fmt.Errorf("container %q asked for, expected WAV, RF64 or BW64", f.Container)
	case spec.ChannelNames != nil && len(spec.ChannelNames) != f.Channels:
		return nil, fmt.Errorf("%d channel names for %d channels", len(spec.ChannelNames), f.Channels)
	}
	wr := &Writer{w: w, seek: seek, spec: spec, frames: frames}
	wr.layout = pcm.Layout{Encoding: f.Encoding, Bytes: (f.Bits + 7) / 8, Bits: f.Bits}
	wr.layout.Unsigned = f.Encoding == sound.Integer && wr.layout.Bytes == 1
	if _, err := w.Write(wr.head(max(frames, 0))); err != nil {
		return nil, err
	}
	return wr, nil
}

func (w *Writer) frameBytes() int64 { return int64(w.spec.Format.Channels * w.layout.Bytes) }

// head is all that stands before the samples of a file of frames frames. Its
// length does not depend on frames unless it was known beforehand.
func (w *Writer) head(frames int64) []byte {
	f := w.spec.Format
	var meta []byte
	add := func(id string, body []byte) {
		meta = append(meta, id...)
		meta = le.AppendUint32(meta, uint32(len(body)))
		meta = append(meta, body...)
		if len(body)%2 == 1 {
			meta = append(meta, 0)
		}
	}
	if w.spec.Broadcast != nil {
		add("bext", appendBroadcast(nil, *w.spec.Broadcast))
	}
	if w.spec.ChannelNames != nil {
		add("iXML", ixml(w.spec.ChannelNames))
	}
	add("fmt ", w.fmtBody())
	if f.Encoding == sound.Float {
		add("fact", le.AppendUint32(nil, uint32(min(frames, chunk.Unknown))))
	}
	data := frames * w.frameBytes()
	riff := 4 + int64(len(meta)) + 8 + data + data%2
	w.long = f.Container == "RF64" || f.Container == "BW64" || riff+8+ds64Bytes > chunk.Unknown-1
	place := w.long || w.seek != nil // of the 64-bit sizes
	if place {
		riff += 8 + ds64Bytes
	}
	var p []byte
	size := func(n int64) {
		if w.long {
			n = chunk.Unknown
		}
		p = le.AppendUint32(p, uint32(n))
	}
	switch {
	case f.Container == "BW64":
		p = append(p, "BW64"...)
	case w.long:
		p = append(p, "RF64"...)
	default:
		p = append(p, "RIFF"...)
	}
	size(riff)
	p = append(p, "WAVE"...)
	if place {
		sizes := make([]byte, ds64Bytes)
		id := "JUNK"
		if w.long {
			id = "ds64"
			le.PutUint64(sizes[0:], uint64(riff))
			le.PutUint64(sizes[8:], uint64(data))
			if f.Container != "BW64" { // ITU-R BS.2088 keeps this field empty
				le.PutUint64(sizes[16:], uint64(frames))
			}
		}
		p = append(p, id...)
		p = le.AppendUint32(p, uint32(len(sizes)))
		p = append(p, sizes...)
	}
	p = append(p, meta...)
	p = append(p, "data"...)
	size(data)
	return p
}

// fmtBody is the fmt chunk.
func (w *Writer) fmtBody() []byte {
	f := w.spec.Format
	tag := uint16(tagPCM)
	if f.Encoding == sound.Float {
		tag = tagFloat
	}
	container := 8 * w.layout.Bytes
	extensible := f.Channels > 2 || container != f.Bits
	outer := tag
	if extensible {
		outer = tagExtensible
	}
	p := le.AppendUint16(nil, outer)
	p = le.AppendUint16(p, uint16(f.Channels))
	p = le.AppendUint32(p, uint32(f.RateHz))
	p = le.AppendUint32(p, uint32(int64(f.RateHz)*w.frameBytes()))
	p = le.AppendUint16(p, uint16(w.frameBytes()))
	p = le.AppendUint16(p, uint16(container))
	switch {
	case extensible:
		p = le.AppendUint16(p, 22)
		p = le.AppendUint16(p, uint16(f.Bits))
		p = le.AppendUint32(p, 0) // lines of a recorder belong to no loudspeaker
		p = le.AppendUint16(p, tag)
		p = append(p, subFormatTail...)
	case f.Encoding == sound.Float:
		p = le.AppendUint16(p, 0)
	}
	return p
}

// ixml is a document that names the channels.
func ixml(names []string) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, `<?xml version="1.0" encoding="UTF-8"?>`+"\n<BWFXML><IXML_VERSION>1.5</IXML_VERSION><TRACK_LIST><TRACK_COUNT>%d</TRACK_COUNT>", len(names))
	for i, name := range names {
		var safe strings.Builder
		if err := xml.EscapeText(&safe, []byte(name)); err != nil {
			panic(err) // a strings.Builder takes everything
		}
		fmt.Fprintf(&b, "<TRACK><CHANNEL_INDEX>%d</CHANNEL_INDEX><INTERLEAVE_INDEX>%d</INTERLEAVE_INDEX><NAME>%s</NAME></TRACK>", i+1, i+1, safe.String())
	}
	b.WriteString("</TRACK_LIST></BWFXML>\n")
	return b.Bytes()
}

// Write appends the frames of b and panics if b has another number of channels
// than the file. An error is final.
func (w *Writer) Write(b sound.Block) error {
	if len(b.Channels) != w.spec.Format.Channels {
		panic(fmt.Sprintf("wav: block of %d channels for a file of %d", len(b.Channels), w.spec.Format.Channels))
	}
	if w.err != nil {
		return w.err
	}
	n := int64(b.Frames())
	if w.frames >= 0 && w.wrote+n > w.frames {
		w.err = fmt.Errorf("%d frames promised, more written", w.frames)
		return w.err
	}
	size := n * w.frameBytes()
	if int64(cap(w.buf)) < size {
		w.buf = make([]byte, size)
	}
	w.buf = w.buf[:size]
	w.layout.Encode(w.buf, b.Channels)
	_, w.err = w.w.Write(w.buf)
	w.wrote += n
	return w.err
}

// Close ends the data chunk and fills in the sizes; it does not close what it
// writes to.
func (w *Writer) Close() error {
	if w.err != nil {
		return w.err
	}
	w.err = errors.New("wav: writer is closed")
	if w.frames >= 0 && w.wrote != w.frames {
		return fmt.Errorf("%d frames promised, %d written", w.frames, w.wrote)
	}
	if w.wrote*w.frameBytes()%2 == 1 {
		if _, err := w.w.Write([]byte{0}); err != nil {
			return err
		}
	}
	if w.seek == nil {
		return nil
	}
	if _, err := w.seek.Seek(0, io.SeekStart); err != nil {
		return err
	}
	if _, err := w.w.Write(w.head(w.wrote)); err != nil {
		return err
	}
	_, err := w.seek.Seek(0, io.SeekEnd)
	return err
}
