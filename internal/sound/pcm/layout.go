// Package pcm turns interleaved sample bytes into planar float32 and back, and
// streams them from a stretch of a file. Containers that hold plain samples
// (wav, aiff) share it.
//
//	integer of n bytes   x = i / 2^(8n−1)     left-justified: spare low bits are 0
//	unsigned, one byte   x = (u − 128) / 128
//	float                x as written
//
// Back, x·2^(bits−1) is rounded to the nearest integer, halves to the even one
// (no offset is added to the sound), and clipped to full scale; NaN becomes 0.
// No dither is added: that is the caller's decision. What was decoded from
// integers of up to 24 bits encodes to the same bytes.
package pcm

import (
	"fmt"

	"tidemark/internal/sound"
)

// Layout is how one sample lies in the file.
type Layout struct {
	Encoding  sound.Encoding
	Bytes     int  // of the container: 1 to 4 for integers, 4 or 8 for floats
	Bits      int  // valid bits, the highest ones of the container; used by Encode alone
	BigEndian bool // byte order
	Unsigned  bool // one-byte integers around 128
}

// check panics on a layout that no decoder loop exists for: parsers refuse
// those files before they come here.
func (l Layout) check() {
	ok := l.Encoding == sound.Integer && l.Bytes >= 1 && l.Bytes <= 4 ||
		l.Encoding == sound.Float && (l.Bytes == 4 || l.Bytes == 8)
	if !ok || l.Unsigned && l.Bytes != 1 {
		panic(fmt.Sprintf("pcm: no %s samples of %d bytes", l.Encoding, l.Bytes))
	}
}
