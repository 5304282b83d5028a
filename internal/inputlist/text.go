package inputlist

import (
	"bytes"
	"encoding/binary"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// readText makes a grid of a text file: decoded, its delimiter guessed.
func readText(data []byte) (grid, error) {
	text, encoding := decode(data)
	if strings.IndexFunc(text, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }) < 0 {
		return grid{}, errEmpty
	}
	g := parseText(text)
	g.encoding = encoding
	if len(g.rows) == 0 {
		return grid{}, errEmpty
	}
	return g, nil
}

// decode makes a string of a text file and says what it was read as: a byte
// order mark decides; else zeros in every second byte are UTF-16; else what is
// valid UTF-8 is UTF-8; and the rest is Windows-1252, which is a guess, since
// any bytes are valid in it.
func decode(data []byte) (text, encoding string) {
	if b, ok := bytes.CutPrefix(data, []byte("\xEF\xBB\xBF")); ok {
		return string(bytes.ToValidUTF8(b, []byte("\uFFFD"))), "UTF-8"
	}
	if order, ok := utf16Order(data); ok {
		name := "UTF-16 LE"
		if order == binary.BigEndian {
			name = "UTF-16 BE"
		}
		units := make([]uint16, len(data)/2)
		for i := range units {
			units[i] = order.Uint16(data[2*i:])
		}
		if len(units) > 0 && units[0] == 0xFEFF {
			units = units[1:]
		} else {
			name += " (a guess)"
		}
		return string(utf16.Decode(units)), name
	}
	if utf8.Valid(data) {
		return string(data), "UTF-8"
	}
	out, err := charmap.Windows1252.NewDecoder().Bytes(data)
	if err != nil { // the decoder has no bytes that it refuses
		out = bytes.ToValidUTF8(data, nil)
	}
	return string(out), "Windows-1252 (a guess)"
}

// utf16Order tells UTF-16 by its byte order mark, or by zeros in nearly every
// second byte and hardly any in the others, as in text of Latin letters.
func utf16Order(data []byte) (binary.ByteOrder, bool) {
	if len(data) < 2 {
		return nil, false
	}
	switch {
	case data[0] == 0xFF && data[1] == 0xFE:
		return binary.LittleEndian, true
	case data[0] == 0xFE && data[1] == 0xFF:
		return binary.BigEndian, true
	}
	var zeros [2]int
	n := min(len(data), 4096)
	for i, b := range data[:n] {
		if b == 0 {
			zeros[i%2]++
		}
	}
	switch half := n / 2; {
	case half < 4:
	case zeros[1]*10 > half*7 && zeros[0]*20 < half:
		return binary.LittleEndian, true
	case zeros[0]*10 > half*7 && zeros[1]*20 < half:
		return binary.BigEndian, true
	}
	return nil, false
}
