package pcm

import (
	"encoding/binary"
	"math"

	"tidemark/internal/kernel"
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
	if channels <= 2 && l.few(dst, src) {
		return
	}
	tile := max(tileBytes/stride, 1)
	for at := 0; at < frames; at += tile {
		end := min(at+tile, frames)
		c := l.fours(dst, at, end, src[at*stride:end*stride], stride)
		for ; c < channels; c++ {
			l.channel(dst[c][at:end], src[at*stride+c*l.Bytes:end*stride], stride)
		}
	}
}

// few decodes one channel or two where there is a kernel for them.
func (l Layout) few(dst [][]float32, src []byte) (done bool) {
	type kind struct {
		float bool
		bytes int
		big   bool
	}
	is := kind{l.Encoding == sound.Float, l.Bytes, l.BigEndian}
	if len(dst) == 1 {
		switch is {
		case kind{false, 3, false}:
			kernel.Decode24(dst[0], src)
		case kind{false, 3, true}:
			kernel.Decode24Big(dst[0], src)
		case kind{false, 2, false}:
			kernel.Decode16(dst[0], src)
		case kind{false, 2, true}:
			kernel.Decode16Big(dst[0], src)
		case kind{true, 4, false}:
			kernel.DecodeFloat(dst[0], src)
		default:
			return false
		}
		return true
	}
	switch is {
	case kind{false, 3, false}:
		kernel.Decode24Stereo(dst[0], dst[1], src)
	case kind{false, 3, true}:
		kernel.Decode24StereoBig(dst[0], dst[1], src)
	case kind{false, 2, false}:
		kernel.Decode16Stereo(dst[0], dst[1], src)
	case kind{false, 2, true}:
		kernel.Decode16StereoBig(dst[0], dst[1], src)
	case kind{true, 4, false}:
		kernel.DecodeFloatStereo(dst[0], dst[1], src)
	default:
		return false
	}
	return true
}

// fours decodes as many channels from the first on as kernels take, four at a
// time, and returns how many: frames at to end, the bytes of which are src.
func (l Layout) fours(dst [][]float32, at, end int, src []byte, stride int) (channels int) {
	float := l.Encoding == sound.Float
	if float && (l.Bytes != 4 || l.BigEndian) || !float && l.Bytes != 3 {
		return 0
	}
	for ; channels+4 <= len(dst); channels += 4 {
		var four [4][]float32
		for i := range four {
			four[i] = dst[channels+i][at:end]
		}
		from := src[channels*l.Bytes:]
		switch {
		case float:
			kernel.DecodeFloatFour(&four, from, stride)
		case l.BigEndian:
			kernel.Decode24FourBig(&four, from, stride)
		default:
			kernel.Decode24Four(&four, from, stride)
		}
	}
	return channels
}

// channel decodes one channel: the sample at src[0], the next stride bytes on.
func (l Layout) channel(dst []float32, src []byte, stride int) {
	switch {
	case l.Encoding == sound.Float && l.Bytes == 4 && l.BigEndian:
		for i, at := 0, 0; i < len(dst); i, at = i+1, at+stride {
			dst[i] = math.Float32frombits(binary.BigEndian.Uint32(src[at:]))
		}
	case l.Encoding == sound.Float && l.Bytes == 4:
		kernel.DecodeFloatStride(dst, src, stride)
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
		kernel.Decode24BigStride(dst, src, stride)
	case l.Bytes == 3:
		kernel.Decode24Stride(dst, src, stride)
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
