package kernel

import (
	"encoding/binary"
	"math"
)

const (
	scale16 = 1.0 / (1 << 15)
	scale32 = 1.0 / (1 << 31)
)

// Decode24 turns little-endian integers of three bytes into samples, i/2²³. src
// holds at least 3·len(dst) bytes, otherwise Decode24 panics; it reads no others.
func Decode24(dst []float32, src []byte) {
	src = src[: 3*len(dst) : len(src)]
	if vector() {
		n := len(dst) &^ 7
		decode24AVX2(dst[:n], src)
		dst, src = dst[n:], src[3*n:]
	}
	for ; len(dst) >= 8 && len(src) >= 24; dst, src = dst[8:], src[24:] {
		d, s := (*[8]float32)(dst), (*[24]byte)(src) // eight samples from three loads
		a, b, c := binary.LittleEndian.Uint64(s[0:]), binary.LittleEndian.Uint64(s[8:]), binary.LittleEndian.Uint64(s[16:])
		d[0] = float32(int32(uint32(a)<<8)) * scale32
		d[1] = float32(int32(uint32(a>>16)&^0xFF)) * scale32
		d[2] = float32(int32(uint32(a>>40)&^0xFF|uint32(b)<<24)) * scale32
		d[3] = float32(int32(uint32(b)&^0xFF)) * scale32
		d[4] = float32(int32(uint32(b>>24)&^0xFF)) * scale32
		d[5] = float32(int32(uint32(b>>48)&^0xFF|uint32(c)<<16)) * scale32
		d[6] = float32(int32(uint32(c>>8)&^0xFF)) * scale32
		d[7] = float32(int32(uint32(c>>32)&^0xFF)) * scale32
	}
	Decode24Stride(dst, src, 3)
}

// Decode24Big is Decode24 of big-endian integers.
func Decode24Big(dst []float32, src []byte) {
	src = src[: 3*len(dst) : len(src)]
	if vector() {
		n := len(dst) &^ 7
		decode24BigAVX2(dst[:n], src)
		dst, src = dst[n:], src[3*n:]
	}
	for ; len(dst) >= 4 && len(src) >= 12; dst, src = dst[4:], src[12:] {
		d, s := (*[4]float32)(dst), (*[12]byte)(src)
		a, b, c := binary.BigEndian.Uint32(s[0:]), binary.BigEndian.Uint32(s[4:]), binary.BigEndian.Uint32(s[8:])
		d[0] = float32(int32(a&^0xFF)) * scale32
		d[1] = float32(int32(a<<24|b>>8&^0xFF)) * scale32
		d[2] = float32(int32(b<<16|c>>16&^0xFF)) * scale32
		d[3] = float32(int32(c<<8)) * scale32
	}
	Decode24BigStride(dst, src, 3)
}

// Decode16 turns little-endian integers of two bytes into samples, i/2¹⁵. src
// holds at least 2·len(dst) bytes, otherwise Decode16 panics; it reads no others.
func Decode16(dst []float32, src []byte) {
	src = src[: 2*len(dst) : len(src)]
	if vector() {
		n := len(dst) &^ 7
		decode16AVX2(dst[:n], src)
		dst, src = dst[n:], src[2*n:]
	}
	for ; len(dst) >= 4 && len(src) >= 8; dst, src = dst[4:], src[8:] {
		d, x := (*[4]float32)(dst), binary.LittleEndian.Uint64(src)
		d[0] = float32(int16(x)) * scale16
		d[1] = float32(int16(x>>16)) * scale16
		d[2] = float32(int16(x>>32)) * scale16
		d[3] = float32(int16(x>>48)) * scale16
	}
	for i := range dst {
		dst[i] = float32(int16(binary.LittleEndian.Uint16(src[2*i:]))) * scale16
	}
}

// Decode16Big is Decode16 of big-endian integers.
func Decode16Big(dst []float32, src []byte) {
	src = src[: 2*len(dst) : len(src)]
	if vector() {
		n := len(dst) &^ 7
		decode16BigAVX2(dst[:n], src)
		dst, src = dst[n:], src[2*n:]
	}
	for ; len(dst) >= 4 && len(src) >= 8; dst, src = dst[4:], src[8:] {
		d, x := (*[4]float32)(dst), binary.BigEndian.Uint64(src)
		d[0] = float32(int16(x>>48)) * scale16
		d[1] = float32(int16(x>>32)) * scale16
		d[2] = float32(int16(x>>16)) * scale16
		d[3] = float32(int16(x)) * scale16
	}
	for i := range dst {
		dst[i] = float32(int16(binary.BigEndian.Uint16(src[2*i:]))) * scale16
	}
}

// DecodeFloat turns little-endian floats of four bytes into samples. src holds
// at least 4·len(dst) bytes, otherwise DecodeFloat panics; it reads no others.
func DecodeFloat(dst []float32, src []byte) {
	src = src[: 4*len(dst) : len(src)]
	if vector() {
		n := len(dst) &^ 7
		decodeFloatAVX2(dst[:n], src)
		dst, src = dst[n:], src[4*n:]
	}
	for ; len(dst) >= 4 && len(src) >= 16; dst, src = dst[4:], src[16:] {
		d, s := (*[4]float32)(dst), (*[16]byte)(src)
		d[0] = math.Float32frombits(binary.LittleEndian.Uint32(s[0:]))
		d[1] = math.Float32frombits(binary.LittleEndian.Uint32(s[4:]))
		d[2] = math.Float32frombits(binary.LittleEndian.Uint32(s[8:]))
		d[3] = math.Float32frombits(binary.LittleEndian.Uint32(s[12:]))
	}
	DecodeFloatStride(dst, src, 4)
}

// Decode16Stereo is Decode16 of two channels that take turns, left first. l and
// r are of one length, and src holds at least four bytes for each frame.
func Decode16Stereo(l, r []float32, src []byte) {
	r, src = r[:len(l):len(r)], src[:4*len(l):len(src)]
	if vector() {
		n := len(l) &^ 7
		decode16StereoAVX2(l[:n], r, src)
		l, r, src = l[n:], r[n:], src[4*n:]
	}
	// Both samples of a frame come from one load.
	r = r[:len(l)]
	for i := range l {
		x := binary.LittleEndian.Uint32(src[4*i:])
		l[i] = float32(int16(x)) * scale16
		r[i] = float32(int16(x>>16)) * scale16
	}
}

// Decode24Stereo is Decode24 of two channels that take turns, left first. l and
// r are of one length, and src holds at least six bytes for each frame.
func Decode24Stereo(l, r []float32, src []byte) {
	r, src = r[:len(l):len(r)], src[:6*len(l):len(src)]
	if vector() {
		n := len(l) &^ 7
		decode24StereoAVX2(l[:n], r, src)
		l, r, src = l[n:], r[n:], src[6*n:]
	}
	// Both samples of a frame come from one load of eight bytes.
	i := 0
	r = r[:len(l)]
	for ; i < len(l) && len(src) >= 8; i++ {
		x := binary.LittleEndian.Uint64(src)
		l[i] = float32(int32(uint32(x)<<8)) * scale32
		r[i] = float32(int32(uint32(x>>16)&^0xFF)) * scale32
		src = src[6:]
	}
	for ; i < len(l); i++ {
		l[i] = sample24(src[0], src[1], src[2])
		r[i] = sample24(src[3], src[4], src[5])
		src = src[6:]
	}
}

// Decode16StereoBig is Decode16Stereo of big-endian integers.
func Decode16StereoBig(l, r []float32, src []byte) {
	r, src = r[:len(l):len(r)], src[:4*len(l):len(src)]
	if vector() {
		n := len(l) &^ 7
		decode16StereoBigAVX2(l[:n], r, src)
		l, r, src = l[n:], r[n:], src[4*n:]
	}
	r = r[:len(l)]
	for i := range l {
		x := binary.BigEndian.Uint32(src[4*i:])
		l[i] = float32(int16(x>>16)) * scale16
		r[i] = float32(int16(x)) * scale16
	}
}

// Decode24StereoBig is Decode24Stereo of big-endian integers.
func Decode24StereoBig(l, r []float32, src []byte) {
	r, src = r[:len(l):len(r)], src[:6*len(l):len(src)]
	if vector() {
		n := len(l) &^ 7
		decode24StereoBigAVX2(l[:n], r, src)
		l, r, src = l[n:], r[n:], src[6*n:]
	}
	i := 0
	r = r[:len(l)]
	for ; i < len(l) && len(src) >= 8; i++ {
		x := binary.BigEndian.Uint64(src)
		l[i] = float32(int32(uint32(x>>32)&^0xFF)) * scale32
		r[i] = float32(int32(uint32(x>>8)&^0xFF)) * scale32
		src = src[6:]
	}
	for ; i < len(l); i++ {
		l[i] = sample24(src[2], src[1], src[0])
		r[i] = sample24(src[5], src[4], src[3])
		src = src[6:]
	}
}

// DecodeFloatStereo is DecodeFloat of two channels that take turns, left first.
// l and r are of one length, and src holds at least eight bytes for each frame.
func DecodeFloatStereo(l, r []float32, src []byte) {
	r, src = r[:len(l):len(r)], src[:8*len(l):len(src)]
	if vector() {
		n := len(l) &^ 7
		decodeFloatStereoAVX2(l[:n], r, src)
		l, r, src = l[n:], r[n:], src[8*n:]
	}
	r = r[:len(l)]
	for i := range l {
		x := binary.LittleEndian.Uint64(src[8*i:])
		l[i] = math.Float32frombits(uint32(x))
		r[i] = math.Float32frombits(uint32(x >> 32))
	}
}

// Decode24Four is Decode24 of four channels that lie side by side in frames of
// stride bytes: dst[c][i] comes from src[i·stride+3c:]. All four are of one length,
// and src reaches at least to the end of the last frame's four samples.
func Decode24Four(dst *[4][]float32, src []byte, stride int) {
	done := four(dst, src, stride, 3)
	if done > 0 {
		decode24FourAVX2(dst, done, src, stride)
	}
	if done < len(dst[0]) {
		for c := range dst {
			Decode24Stride(dst[c][done:], src[done*stride+3*c:], stride)
		}
	}
}

// Decode24FourBig is Decode24Four of big-endian integers.
func Decode24FourBig(dst *[4][]float32, src []byte, stride int) {
	done := four(dst, src, stride, 3)
	if done > 0 {
		decode24FourBigAVX2(dst, done, src, stride)
	}
	if done < len(dst[0]) {
		for c := range dst {
			Decode24BigStride(dst[c][done:], src[done*stride+3*c:], stride)
		}
	}
}

// DecodeFloatFour is Decode24Four of floats of four bytes.
func DecodeFloatFour(dst *[4][]float32, src []byte, stride int) {
	done := four(dst, src, stride, 4)
	if done > 0 {
		decodeFloatFourAVX2(dst, done, src, stride)
	}
	if done < len(dst[0]) {
		for c := range dst {
			DecodeFloatStride(dst[c][done:], src[done*stride+4*c:], stride)
		}
	}
}

// four is how many frames the AVX2 code may take: whole eights, the last of which
// has sixteen bytes, for so many are loaded even where twelve are used.
func four(dst *[4][]float32, src []byte, stride, bytes int) int {
	frames := len(dst[0])
	if len(dst[1]) != frames || len(dst[2]) != frames || len(dst[3]) != frames || stride < 4*bytes {
		panic("kernel: four channels of different lengths, or in frames that cannot hold them")
	}
	if frames == 0 {
		return 0
	}
	_ = src[(frames-1)*stride+4*bytes-1]
	if !vector() {
		return 0
	}
	if (frames-1)*stride+16 > len(src) {
		frames--
	}
	return frames &^ 7
}

// Decode24Stride is Decode24 of one channel of many: dst[i] comes from
// src[i·stride:]. It is portable alone: no way was found to gather single samples
// that is faster.
func Decode24Stride(dst []float32, src []byte, stride int) {
	// Four bytes are loaded for each sample of three and the neighbour's is shifted
	// out; only the last sample of src, which has no neighbour, is put together.
	i, at := 0, 0
	for ; i < len(dst) && at+4 <= len(src); i, at = i+1, at+stride {
		dst[i] = float32(int32(binary.LittleEndian.Uint32(src[at:])<<8)) * scale32
	}
	for ; i < len(dst); i, at = i+1, at+stride {
		s := src[at : at+3 : at+3]
		dst[i] = sample24(s[0], s[1], s[2])
	}
}

// Decode24BigStride is Decode24Stride of big-endian integers.
func Decode24BigStride(dst []float32, src []byte, stride int) {
	i, at := 0, 0
	for ; i < len(dst) && at+4 <= len(src); i, at = i+1, at+stride {
		dst[i] = float32(int32(binary.BigEndian.Uint32(src[at:])&^0xFF)) * scale32
	}
	for ; i < len(dst); i, at = i+1, at+stride {
		s := src[at : at+3 : at+3]
		dst[i] = sample24(s[2], s[1], s[0])
	}
}

// DecodeFloatStride is Decode24Stride of floats of four bytes.
func DecodeFloatStride(dst []float32, src []byte, stride int) {
	for i, at := 0, 0; i < len(dst); i, at = i+1, at+stride {
		dst[i] = math.Float32frombits(binary.LittleEndian.Uint32(src[at:]))
	}
}

// sample24 is a sample from its bytes, the lowest first.
func sample24(low, mid, high byte) float32 {
	return float32(int32(uint32(low)<<8|uint32(mid)<<16|uint32(high)<<24)) * scale32
}
