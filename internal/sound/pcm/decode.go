package pcm

import (
	"encoding/binary"
	"math"

	"tidemark/internal/sound"
)

// tileBytes is how much interleaved sound is spread over its channels before
// the next is touched: half of a common first-level cache of 32 KiB, so that
// each channel's pass finds the bytes still there.
const tileBytes = 16 << 10

const (
	scale8  = 1.0 / (1 << 7)
	scale16 = 1.0 / (1 << 15)
	scale32 = 1.0 / (1 << 31)
)

// Decode writes the interleaved samples of src to dst, one slice a channel, all
// of one length; src holds exactly that many frames. It panics on other lengths
// and allocates nothing.
func (l Layout) Decode(dst [][]float32, src []byte) {
	l.check()
	channels := len(dst)
	if channels == 0 {
		return
	}
	frames := len(dst[0])
	stride := channels * l.Bytes
	if len(src) != frames*stride {
		panic("pcm: Decode wants as many bytes as frames × channels × sample bytes")
	}
	if l.Encoding == sound.Integer && !l.BigEndian && channels <= 2 {
		switch {
		case l.Bytes == 3 && channels == 2:
			stereo24(dst[0], dst[1], src)
			return
		case l.Bytes == 2 && channels == 2:
			stereo16(dst[0], dst[1], src)
			return
		}
	}
	tile := max(tileBytes/stride, 1)
	for at := 0; at < frames; at += tile {
		end := min(at+tile, frames)
		for c := range dst {
			l.channel(dst[c][at:end], src[at*stride+c*l.Bytes:end*stride], stride)
		}
	}
}

// channel decodes one channel: the sample at src[0], the next stride bytes on.
func (l Layout) channel(dst []float32, src []byte, stride int) {
	switch {
	case l.Encoding == sound.Float && l.Bytes == 4 && l.BigEndian:
		for i, at := 0, 0; i < len(dst); i, at = i+1, at+stride {
			dst[i] = math.Float32frombits(binary.BigEndian.Uint32(src[at:]))
		}
	case l.Encoding == sound.Float && l.Bytes == 4:
		for i, at := 0, 0; i < len(dst); i, at = i+1, at+stride {
			dst[i] = math.Float32frombits(binary.LittleEndian.Uint32(src[at:]))
		}
	case l.Encoding == sound.Float && l.BigEndian:
		for i, at := 0, 0; i < len(dst); i, at = i+1, at+stride {
			dst[i] = float32(math.Float64frombits(binary.BigEndian.Uint64(src[at:])))
		}
	case l.Encoding == sound.Float:
		for i, at := 0, 0; i < len(dst); i, at = i+1, at+stride {
			dst[i] = float32(math.Float64frombits(binary.LittleEndian.Uint64(src[at:])))
		}
	case l.Bytes == 4 && l.BigEndian:
		for i, at := 0, 0; i < len(dst); i, at = i+1, at+stride {
			dst[i] = float32(int32(binary.BigEndian.Uint32(src[at:]))) * scale32
		}
	case l.Bytes == 4:
		for i, at := 0, 0; i < len(dst); i, at = i+1, at+stride {
			dst[i] = float32(int32(binary.LittleEndian.Uint32(src[at:]))) * scale32
		}
	case l.Bytes == 3 && l.BigEndian:
		for i, at := 0, 0; i < len(dst); i, at = i+1, at+stride {
			s := src[at : at+3 : at+3]
			dst[i] = float32(int32(uint32(s[0])<<24|uint32(s[1])<<16|uint32(s[2])<<8)) * scale32
		}
	case l.Bytes == 3:
		stride24(dst, src, stride)
	case l.Bytes == 2 && l.BigEndian:
		for i, at := 0, 0; i < len(dst); i, at = i+1, at+stride {
			dst[i] = float32(int16(binary.BigEndian.Uint16(src[at:]))) * scale16
		}
	case l.Bytes == 2:
		for i, at := 0, 0; i < len(dst); i, at = i+1, at+stride {
			dst[i] = float32(int16(binary.LittleEndian.Uint16(src[at:]))) * scale16
		}
	case l.Unsigned:
		for i, at := 0, 0; i < len(dst); i, at = i+1, at+stride {
			dst[i] = float32(int(src[at])-128) * scale8
		}
	default:
		for i, at := 0, 0; i < len(dst); i, at = i+1, at+stride {
			dst[i] = float32(int8(src[at])) * scale8
		}
	}
}

// stride24 loads four bytes for each sample of three and shifts the neighbour's
// out; only the last sample of src, which has no neighbour, is put together.
func stride24(dst []float32, src []byte, stride int) {
	i, at := 0, 0
	for ; i < len(dst) && at+4 <= len(src); i, at = i+1, at+stride {
		dst[i] = float32(int32(binary.LittleEndian.Uint32(src[at:])<<8)) * scale32
	}
	for ; i < len(dst); i, at = i+1, at+stride {
		s := src[at : at+3 : at+3]
		dst[i] = float32(int32(uint32(s[0])<<8|uint32(s[1])<<16|uint32(s[2])<<24)) * scale32
	}
}

// stereo24 takes both samples of a frame from one load of eight bytes.
func stereo24(l, r []float32, src []byte) {
	i := 0
	r = r[:len(l)]
	for ; i < len(l) && len(src) >= 8; i++ {
		x := binary.LittleEndian.Uint64(src)
		l[i] = float32(int32(uint32(x)<<8)) * scale32
		r[i] = float32(int32(uint32(x>>16)&^0xFF)) * scale32
		src = src[6:]
	}
	for ; i < len(l); i++ {
		s := src[:6]
		l[i] = float32(int32(uint32(s[0])<<8|uint32(s[1])<<16|uint32(s[2])<<24)) * scale32
		r[i] = float32(int32(uint32(s[3])<<8|uint32(s[4])<<16|uint32(s[5])<<24)) * scale32
		src = src[6:]
	}
}

// stereo16 takes both samples of a frame from one load of four bytes.
func stereo16(l, r []float32, src []byte) {
	r = r[:len(l)]
	for i := range l {
		x := binary.LittleEndian.Uint32(src[4*i:])
		l[i] = float32(int16(x)) * scale16
		r[i] = float32(int16(x>>16)) * scale16
	}
}
