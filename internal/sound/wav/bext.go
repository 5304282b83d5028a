package wav

import (
	"bytes"
	"strings"
	"unicode/utf8"

	"tidemark/internal/sound"
	"tidemark/internal/sound/chunk"
)

const (
	// bextBytes is the fixed part of a bext chunk, EBU Tech 3285 v2 §2.3.
	bextBytes = 602
	// maxHistory bounds the CodingHistory kept; a line of EBU R 98 takes about 60 bytes.
	maxHistory = 64 << 10
)

// readBroadcast reads a bext chunk, EBU Tech 3285 v2 §2.3. Loudness fields of
// version 0 and 1, where those bytes are reserved, come back as not set.
func (f *file) readBroadcast(c chunk.Chunk) (*sound.Broadcast, error) {
	p, err := f.Head(c, bextBytes+maxHistory)
	if err != nil {
		return nil, err
	}
	if len(p) < bextBytes {
		f.Odd("bext chunk at byte %d holds %d bytes, expected at least %d; it was not used", c.At, len(p), bextBytes)
		return nil, nil
	}
	b := &sound.Broadcast{
		Description:         text(p[0:256]),
		Originator:          text(p[256:288]),
		OriginatorReference: text(p[288:320]),
		OriginationDate:     text(p[320:330]),
		OriginationTime:     text(p[330:338]),
		TimeReference:       le.Uint64(p[338:]),
		Version:             le.Uint16(p[346:]),
		LoudnessValue:       sound.LoudnessUnset,
		LoudnessRange:       sound.LoudnessUnset,
		MaxTruePeak:         sound.LoudnessUnset,
		MaxMomentary:        sound.LoudnessUnset,
		MaxShortTerm:        sound.LoudnessUnset,
		CodingHistory:       text(p[bextBytes:]),
	}
	if b.Version >= 2 {
		b.LoudnessValue = int16(le.Uint16(p[412:]))
		b.LoudnessRange = int16(le.Uint16(p[414:]))
		b.MaxTruePeak = int16(le.Uint16(p[416:]))
		b.MaxMomentary = int16(le.Uint16(p[418:]))
		b.MaxShortTerm = int16(le.Uint16(p[420:]))
	}
	return b, nil
}

// text is what stands before the first zero. The standard asks for ASCII;
// recorders write UTF-8 as well, and where it is not that, bytes are taken for
// Latin-1.
func text(p []byte) string {
	if i := bytes.IndexByte(p, 0); i >= 0 {
		p = p[:i]
	}
	if utf8.Valid(p) {
		return strings.TrimRight(string(p), " ")
	}
	runes := make([]rune, len(p))
	for i, b := range p {
		runes[i] = rune(b)
	}
	return strings.TrimRight(string(runes), " ")
}

// cutText is as much of a text as most bytes hold, in whole characters: half of
// one would make a reader take the field for Latin-1.
func cutText(s string, most int) string {
	if len(s) <= most {
		return s
	}
	for most > 0 && !utf8.RuneStart(s[most]) {
		most--
	}
	return s[:most]
}

// appendBroadcast writes the fields in the order of EBU Tech 3285 v2 §2.3; what
// is longer than its field is cut.
func appendBroadcast(p []byte, b sound.Broadcast) []byte {
	field := func(s string, size int) {
		at := len(p)
		p = append(p, make([]byte, size)...)
		copy(p[at:], cutText(s, size))
	}
	field(b.Description, 256)
	field(b.Originator, 32)
	field(b.OriginatorReference, 32)
	field(b.OriginationDate, 10)
	field(b.OriginationTime, 8)
	p = le.AppendUint64(p, b.TimeReference)
	p = le.AppendUint16(p, b.Version)
	field("", 64) // UMID
	for _, v := range []int16{b.LoudnessValue, b.LoudnessRange, b.MaxTruePeak, b.MaxMomentary, b.MaxShortTerm} {
		if b.Version < 2 {
			v = 0 // reserved
		}
		p = le.AppendUint16(p, uint16(v))
	}
	field("", 180)
	return append(p, b.CodingHistory...)
}
