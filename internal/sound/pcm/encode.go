package pcm

import (
	"encoding/binary"
	"math"

	"tidemark/internal/sound"
)

// Encode writes the planar samples of src, one slice a channel, all of one
// length, to dst as interleaved bytes; dst holds exactly that many frames. It
// panics on other lengths and allocates nothing. For the rounding see the
// package comment.
func (l Layout) Encode(dst []byte, src [][]float32) {
	l.check()
	channels := len(src)
	if channels == 0 {
		return
	}
	frames := len(src[0])
	stride := channels * l.Bytes
	if len(dst) != frames*stride {
		panic("pcm: Encode wants as many bytes as frames × channels × sample bytes")
	}
	for c, samples := range src {
		if len(samples) != frames {
			panic("pcm: Encode wants channels of one length")
		}
		l.encodeChannel(dst[min(c*l.Bytes, len(dst)):], samples, stride)
	}
}

func (l Layout) encodeChannel(dst []byte, src []float32, stride int) {
	order := binary.ByteOrder(binary.LittleEndian)
	if l.BigEndian {
		order = binary.BigEndian
	}
	at := 0
	if l.Encoding == sound.Float {
		for _, x := range src {
			if l.Bytes == 4 {
				order.PutUint32(dst[at:], math.Float32bits(x))
			} else {
				order.PutUint64(dst[at:], math.Float64bits(float64(x)))
			}
			at += stride
		}
		return
	}
	bits := l.Bits
	if bits == 0 {
		bits = 8 * l.Bytes
	}
	full := math.Ldexp(1, bits-1)
	shift := 8*l.Bytes - bits
	for _, x := range src {
		v := Quantize(x, full) << shift
		switch l.Bytes {
		case 1:
			if l.Unsigned {
				v += 128
			}
			dst[at] = byte(v)
		case 2:
			order.PutUint16(dst[at:], uint16(v))
		case 3:
			s := dst[at : at+3]
			if l.BigEndian {
				s[0], s[1], s[2] = byte(v>>16), byte(v>>8), byte(v)
			} else {
				s[0], s[1], s[2] = byte(v), byte(v>>8), byte(v>>16)
			}
		case 4:
			order.PutUint32(dst[at:], uint32(v))
		}
		at += stride
	}
}

// Quantize is the integer nearest to x·full, halves to even, within
// −full … full−1; NaN gives 0. full is 2^(bits−1).
func Quantize(x float32, full float64) int32 {
	v := math.RoundToEven(float64(x) * full)
	switch {
	case v >= full:
		return int32(full - 1)
	case v <= -full:
		return int32(-full)
	case v != v:
		return 0
	}
	return int32(v)
}
