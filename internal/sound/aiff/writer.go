package aiff

import (
	"fmt"
	"io"

	"tidemark/internal/sound"
	"tidemark/internal/sound/pcm"
)

// Writer writes planar blocks as AIFF, or as AIFF-C where Compression asks for
// it. The tests use it; deliveries are written as WAV. For rounding and clipping
// see package pcm.
type Writer struct {
	w      io.Writer
	layout pcm.Layout
	left   int64 // frames promised and not yet written
	pad    bool
	buf    []byte
}

// compressions are the kinds of AIFF-C that Writer knows; "" is plain AIFF.
var compressions = map[string]pcm.Layout{
	"":     {BigEndian: true},
	"NONE": {BigEndian: true},
	"twos": {BigEndian: true},
	"in24": {BigEndian: true},
	"in32": {BigEndian: true},
	"sowt": {},
	"raw ": {Unsigned: true},
	"fl32": {BigEndian: true, Encoding: sound.Float},
	"FL32": {BigEndian: true, Encoding: sound.Float},
	"fl64": {BigEndian: true, Encoding: sound.Float},
	"FL64": {BigEndian: true, Encoding: sound.Float},
}

// NewWriter writes the header for frames frames of the format's Bits, RateHz and
// Channels; the compression decides between integer and float.
func NewWriter(w io.Writer, format sound.Format, compression string, frames int64) (*Writer, error) {
	layout, ok := compressions[compression]
	if !ok {
		return nil, fmt.Errorf("compression %q asked for, not one that is written", compression)
	}
	layout.Bits, layout.Bytes = format.Bits, (format.Bits+7)/8
	if ok := layout.Encoding == sound.Float && (format.Bits == 32 || format.Bits == 64) ||
		layout.Encoding == sound.Integer && format.Bits >= 1 && format.Bits <= 32 && (!layout.Unsigned || format.Bits <= 8); !ok {
		return nil, fmt.Errorf("samples of %d bits asked for, which %q cannot hold", format.Bits, compression)
	}
	data := frames * int64(format.Channels*layout.Bytes)
	if format.Channels < 1 || format.Channels > maxChannels || data < 0 || data > 1<<32-1<<10 {
		return nil, fmt.Errorf("%d channels of %d frames asked for, AIFF holds up to %d channels and 4 GiB", format.Channels, frames, maxChannels)
	}
	comm := be.AppendUint16(nil, uint16(format.Channels))
	comm = be.AppendUint32(comm, uint32(frames))
	comm = be.AppendUint16(comm, uint16(format.Bits))
	comm = appendExtended(comm, uint32(format.RateHz))
	body := []byte("AIFF")
	if compression != "" {
		body = []byte("AIFCFVER\x00\x00\x00\x04\xA2\x80\x51\x40") // version of 1991
		comm = append(comm, compression...)
		comm = append(comm, 0, 0) // a name of no letters, padded
	}
	body = append(body, "COMM"...)
	body = be.AppendUint32(body, uint32(len(comm)))
	body = append(body, comm...)
	body = append(body, "SSND"...)
	body = be.AppendUint32(body, uint32(ssndHead+data))
	body = append(body, make([]byte, ssndHead)...)
	head := be.AppendUint32([]byte("FORM"), uint32(int64(len(body))+data+data%2))
	if _, err := w.Write(append(head, body...)); err != nil {
		return nil, err
	}
	return &Writer{w: w, layout: layout, left: frames, pad: data%2 == 1}, nil
}

// Write appends the frames of b.
func (w *Writer) Write(b sound.Block) error {
	if w.left -= int64(b.Frames()); w.left < 0 {
		return fmt.Errorf("%d more frames written than promised", -w.left)
	}
	size := b.Frames() * len(b.Channels) * w.layout.Bytes
	if cap(w.buf) < size {
		w.buf = make([]byte, size)
	}
	w.buf = w.buf[:size]
	w.layout.Encode(w.buf, b.Channels)
	_, err := w.w.Write(w.buf)
	return err
}

// Close ends the file; it does not close what it writes to.
func (w *Writer) Close() error {
	if w.left != 0 {
		return fmt.Errorf("%d frames were promised and not written", w.left)
	}
	if !w.pad {
		return nil
	}
	_, err := w.w.Write([]byte{0})
	return err
}
