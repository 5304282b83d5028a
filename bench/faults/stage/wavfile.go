package stage

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
)

// Sheet is the shape of a file to write. It can lie: HeaderRateHz is what the
// header says where it differs, DeclaredFrames what the data chunk promises.
type Sheet struct {
	RateHz       int
	Bits         int // 16 or 24
	Stamp        *Stamp
	HeaderRateHz int
	Declared     Declared
}

// Declared says what the length fields hold.
type Declared int

// The states of a file's length fields.
const (
	Right    Declared = iota
	Zero              // the recorder never came back to write them
	AllOnes           // likewise, as a stream
	TooLarge          // more than the file holds: it was cut
)

// Stamp is what goes into the broadcast chunk.
type Stamp struct {
	Date, Time    string
	Originator    string
	TimeReference uint64
}

const bextBytes = 602 // EBU Tech 3285 without coding history

// WriteFile writes a file as Write does.
func WriteFile(path string, sh Sheet, channels [][]float32) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	return errors.Join(Write(f, sh, channels), f.Close())
}

// Write writes samples of full scale ±1 as WAV, little-endian integers, held at
// the largest values beyond full scale.
func Write(to io.Writer, sh Sheet, channels [][]float32) error {
	w := bufio.NewWriterSize(to, 1<<18)
	frames, width := len(channels[0]), sh.Bits/8
	data := frames * width * len(channels)
	rate := sh.RateHz
	if sh.HeaderRateHz != 0 {
		rate = sh.HeaderRateHz
	}
	bext := 0
	if sh.Stamp != nil {
		bext = 8 + bextBytes
	}
	riffSize, dataSize := uint32(4+bext+24+8+data+data&1), uint32(data)
	switch sh.Declared {
	case Zero:
		riffSize, dataSize = 0, 0
	case AllOnes:
		riffSize, dataSize = math.MaxUint32, math.MaxUint32
	case TooLarge:
		riffSize, dataSize = riffSize+uint32(data), dataSize+uint32(data)
	}
	le := binary.LittleEndian
	var h []byte
	h = append(h, "RIFF"...)
	h = le.AppendUint32(h, riffSize)
	h = append(h, "WAVE"...)
	if sh.Stamp != nil {
		h = append(h, "bext"...)
		h = le.AppendUint32(h, bextBytes)
		b := make([]byte, bextBytes)
		copy(b[256:288], sh.Stamp.Originator)
		copy(b[320:330], sh.Stamp.Date)
		copy(b[330:338], sh.Stamp.Time)
		le.PutUint64(b[338:], sh.Stamp.TimeReference)
		le.PutUint16(b[346:], 1)
		h = append(h, b...)
	}
	h = append(h, "fmt "...)
	h = le.AppendUint32(h, 16)
	h = le.AppendUint16(h, 1)
	h = le.AppendUint16(h, uint16(len(channels)))
	h = le.AppendUint32(h, uint32(rate))
	h = le.AppendUint32(h, uint32(rate*width*len(channels)))
	h = le.AppendUint16(h, uint16(width*len(channels)))
	h = le.AppendUint16(h, uint16(sh.Bits))
	h = append(h, "data"...)
	h = le.AppendUint32(h, dataSize)
	w.Write(h) // the writer keeps its first error for Flush
	full := float32(int64(1) << (sh.Bits - 1))
	body := make([]byte, 0, 1<<15)
	for t := range frames {
		for c := range channels {
			v := quantise(channels[c][t], full)
			body = append(body, byte(v), byte(v>>8))
			if width == 3 {
				body = append(body, byte(v>>16))
			}
		}
		if len(body)+width*len(channels) > cap(body) {
			w.Write(body)
			body = body[:0]
		}
	}
	w.Write(body)
	if data&1 == 1 {
		w.WriteByte(0)
	}
	return w.Flush()
}

// Quantise does to samples what a file of so many bits does: rounds them and
// holds them at full scale.
func Quantise(x []float32, bits int) {
	full := float32(int64(1) << (bits - 1))
	for i, v := range x {
		x[i] = float32(quantise(v, full)) / full
	}
}

// quantise rounds to the nearest integer, held at the largest ones.
func quantise(x, full float32) int32 {
	v := x * full
	if v >= full-1 {
		return int32(full) - 1
	}
	if v <= -full {
		return -int32(full)
	}
	if v < 0 {
		return int32(v - 0.5)
	}
	return int32(v + 0.5)
}

// ReadFile reads back what WriteFile wrote.
func ReadFile(path string) (Sheet, [][]float32, error) {
	raw, err := os.ReadFile(path)
	if err != nil {
		return Sheet{}, nil, err
	}
	le := binary.LittleEndian
	var sh Sheet
	channels := 0
	for at := 12; at+8 <= len(raw); {
		id, n := string(raw[at:at+4]), int(le.Uint32(raw[at+4:]))
		body := raw[at+8:]
		switch id {
		case "bext":
			sh.Stamp = &Stamp{Date: string(body[320:330]), Time: string(body[330:338]), TimeReference: le.Uint64(body[338:])}
		case "fmt ":
			channels, sh.RateHz, sh.Bits = int(le.Uint16(body[2:])), int(le.Uint32(body[4:])), int(le.Uint16(body[14:]))
		case "data":
			if channels == 0 || n > len(body) {
				return Sheet{}, nil, fmt.Errorf("%s: %w", path, io.ErrUnexpectedEOF)
			}
			return sh, decode(body[:n], channels, sh.Bits/8), nil
		}
		at += 8 + n + n&1
	}
	return Sheet{}, nil, fmt.Errorf("%s: no data chunk", path)
}

func decode(body []byte, channels, width int) [][]float32 {
	out := make([][]float32, channels)
	frames := len(body) / width / channels
	for c := range out {
		out[c] = make([]float32, frames)
	}
	scale := 1 / float32(int64(1)<<(8*width-1))
	for t := range frames {
		for c := range out {
			p := body[(t*channels+c)*width:]
			var v int32
			for b := range width {
				v |= int32(p[b]) << (32 - 8*width + 8*b)
			}
			out[c][t] = float32(v>>(32-8*width)) * scale
		}
	}
	return out
}
