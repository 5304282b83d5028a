package meter

import (
	"math/bits"

	"tidemark/internal/kernel"
	"tidemark/internal/sound"
)

// BitsReading tells how many bits of the samples are really used.
type BitsReading struct {
	Used  int  // lowest number of bits that holds every sample exactly, 0 for silence, 32 where Float
	Float bool // the samples fit no integer of 24 bits: true float, or past full scale
}

const bitsFullScale = 1 << 23 // a step of 24-bit sound is 1/2^23

// Bits finds the number of bits that the samples of one channel use: a 24-bit
// file made from 16-bit sound says 16.
//
// It looks at the lowest bit that is set in any sample written as a 24-bit
// integer. +1.0 itself is past full scale: no integer holds it.
type Bits struct {
	set    uint32 // every bit that was set in some sample, two's complement
	float  bool
	enough uint32 // the format's lowest bit where it holds integers only: once set, nothing more can be learned
}

// NewBits makes a meter for one channel.
func NewBits() *Bits { return &Bits{} }

// newBitsOf makes a meter that stops looking as soon as every bit of an integer
// format has been seen in use: most recordings show that within a block.
func newBitsOf(f sound.Format) *Bits {
	if f.Encoding != sound.Integer || f.Bits < 1 || f.Bits > 24 {
		return &Bits{}
	}
	return &Bits{enough: 1 << (24 - f.Bits)}
}

// Measure takes the next samples of the channel.
func (m *Bits) Measure(x []float32) {
	if m.float || m.set&m.enough != 0 {
		return // nothing can take it back
	}
	set, whole := kernel.BitsUsed(x)
	m.set |= set
	m.float = !whole // finer than a step, past full scale, or NaN
}

// Reading is the number of bits used so far.
func (m *Bits) Reading() BitsReading {
	if m.float {
		return BitsReading{Used: 32, Float: true}
	}
	if m.set == 0 {
		return BitsReading{}
	}
	return BitsReading{Used: bits.Len32(bitsFullScale) - bits.TrailingZeros32(m.set)}
}
