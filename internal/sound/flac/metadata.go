package flac

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"tidemark/internal/sound"
)

// streamInfo is the first metadata block, RFC 9639 §8.2.
type streamInfo struct {
	minBlock, maxBlock int
	rateHz             int
	channels           int
	bits               uint
	samples            int64 // per channel, 0 where not known
	md5                [16]byte
}

const (
	magic           = "fLaC"
	metadataHead    = 4
	streamInfoBytes = 34
	// maxMetadata bounds the walk over metadata blocks.
	maxMetadata = 1 << 12
)

// readFull reads p at byte at; less than all of it is reported as how many.
func readFull(r io.ReaderAt, p []byte, at int64) (int, error) {
	n, err := r.ReadAt(p, at)
	if n == len(p) || errors.Is(err, io.EOF) {
		return n, nil
	}
	return n, &sound.FormatError{Text: fmt.Sprintf("the file could not be read at byte %d", at), Err: err}
}

// behindID3 is where the stream begins: at the start, or behind the ID3v2 tag
// that some programs put there. Its size has seven bits a byte.
func behindID3(r io.ReaderAt) int64 {
	var h [10]byte
	if n, _ := readFull(r, h[:], 0); n < len(h) || string(h[:3]) != "ID3" {
		return 0
	}
	size := int64(0)
	for _, b := range h[6:] {
		size = size<<7 | int64(b&0x7F)
	}
	return int64(len(h)) + size
}

// BehindID3 says whether a FLAC stream follows an ID3v2 tag, which otherwise
// begins an MP3 file.
func BehindID3(r io.ReaderAt, size int64) bool {
	at := behindID3(r)
	var m [len(magic)]byte
	n, err := readFull(r, m[:], at)
	return at > 0 && at < size && err == nil && string(m[:n]) == magic
}

// readMetadata reads STREAMINFO and finds the byte of the first coded block.
func readMetadata(r io.ReaderAt, size int64) (info streamInfo, first int64, err error) {
	at := behindID3(r)
	var m [len(magic)]byte
	n, err := readFull(r, m[:], at)
	if err != nil {
		return info, 0, err
	}
	if string(m[:n]) != magic {
		return info, 0, &sound.FormatError{Text: fmt.Sprintf("the file begins with %q, a FLAC file with %q; it is not readable sound, ask for it to be exported again", m[:n], magic)}
	}
	at += int64(len(magic))
	for count := 0; ; count++ {
		var h [metadataHead]byte
		n, err := readFull(r, h[:], at)
		if err != nil {
			return info, 0, err
		}
		if n < len(h) {
			return info, 0, &sound.FormatError{Chunk: "metadata block", Offset: at, Text: "is cut off, and no sound was reached; look for another copy of the file"}
		}
		last, kind := h[0]&0x80 != 0, h[0]&0x7F
		length := int64(h[1])<<16 | int64(h[2])<<8 | int64(h[3])
		fail := func(text string, args ...any) error {
			return &sound.FormatError{Chunk: "metadata block", Offset: at, Text: fmt.Sprintf(text, args...) + "; the file is not readable sound, ask for it to be exported again"}
		}
		switch {
		case count == 0 && kind != 0:
			return info, 0, fail("is of kind %d, expected STREAMINFO (0)", kind)
		case kind == 127: // §8.1: forbidden, so that no sync code can begin here
			return info, 0, fail("is of the forbidden kind 127")
		case count == maxMetadata:
			return info, 0, fail("is the %dth, and no sound was reached", count)
		case at+metadataHead+length > size:
			return info, 0, fail("declares %d bytes, the file holds %d", length, size-at-metadataHead)
		case count == 0 && length < streamInfoBytes:
			return info, 0, fail("holds %d bytes, expected %d", length, streamInfoBytes)
		case count == 0:
			var p [streamInfoBytes]byte
			if n, err := readFull(r, p[:], at+metadataHead); err != nil || n < len(p) {
				return info, 0, fail("is cut off")
			}
			info = parseStreamInfo(p)
			switch {
			case info.maxBlock < 1:
				return info, 0, fail("declares blocks of 0 samples, expected at least 16")
			case info.rateHz < sound.MinRateHz: // 20 bits hold no rate past MaxRateHz
				return info, 0, fail("declares a rate of %d Hz, expected %d or more", info.rateHz, sound.MinRateHz)
			case info.bits < 4:
				return info, 0, fail("declares %d bits a sample, expected 4 to 32", info.bits)
			}
		}
		at += metadataHead + length
		if last {
			return info, at, nil
		}
	}
}

// parseStreamInfo takes the fields of RFC 9639 §8.2 apart.
func parseStreamInfo(p [streamInfoBytes]byte) streamInfo {
	be := binary.BigEndian
	x := be.Uint64(p[10:]) // 20 bits of rate, 3 of channels − 1, 5 of bits − 1, 36 of samples
	s := streamInfo{
		minBlock: int(be.Uint16(p[0:])),
		maxBlock: int(be.Uint16(p[2:])),
		rateHz:   int(x >> 44),
		channels: int(x>>41&7) + 1,
		bits:     uint(x>>36&31) + 1,
		samples:  int64(x & (1<<36 - 1)),
	}
	copy(s.md5[:], p[18:])
	return s
}
