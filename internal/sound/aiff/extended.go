package aiff

import (
	"encoding/binary"
	"math"
	"math/bits"
)

// An extended is an 80-bit float: one bit of sign, 15 of exponent (bias 16383),
// 64 of mantissa with its leading one written out.
//
//	value = mantissa · 2^(exponent − 16383 − 63)
//
// 44100 is 40 0e ac 44 00 00 00 00 00 00. AIFF 1.3 writes sample rates so.
const (
	extendedBytes = 10
	extendedBias  = 16383
)

// fromExtended is the value, NaN for the patterns that are no number.
func fromExtended(p []byte) float64 {
	head, mantissa := binary.BigEndian.Uint16(p), binary.BigEndian.Uint64(p[2:])
	exponent := int(head & 0x7FFF)
	if exponent == 0x7FFF {
		return math.NaN()
	}
	v := math.Ldexp(float64(mantissa), exponent-extendedBias-63)
	if head&0x8000 != 0 {
		v = -v
	}
	return v
}

// appendExtended writes a whole number.
func appendExtended(p []byte, n uint32) []byte {
	if n == 0 {
		return append(p, make([]byte, extendedBytes)...)
	}
	up := bits.LeadingZeros64(uint64(n))
	p = binary.BigEndian.AppendUint16(p, uint16(extendedBias+63-up))
	return binary.BigEndian.AppendUint64(p, uint64(n)<<up)
}
