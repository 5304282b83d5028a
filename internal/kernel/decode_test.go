package kernel

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"testing"
)

// whole is the sample that bytes spell, the lowest first: four are a float, others
// an integer as a part of full scale.
func whole(b ...byte) float32 {
	if len(b) == 4 {
		return math.Float32frombits(binary.LittleEndian.Uint32(b))
	}
	n := int64(0)
	for i, v := range b {
		n |= int64(v) << (8 * i)
	}
	full := int64(1) << (8*len(b) - 1)
	if n >= full {
		n -= 2 * full
	}
	return float32(float64(n) / float64(full))
}

// decoders are all of them, each with the number of channels that it takes and how
// it finds the sample of channel c in a frame.
var decoders = []struct {
	name     string
	channels int
	bytes    int
	big      bool
	decode   func(dst [][]float32, src []byte)
}{
	{"24 bits", 1, 3, false, func(d [][]float32, s []byte) { Decode24(d[0], s) }},
	{"24 bits, big-endian", 1, 3, true, func(d [][]float32, s []byte) { Decode24Big(d[0], s) }},
	{"16 bits", 1, 2, false, func(d [][]float32, s []byte) { Decode16(d[0], s) }},
	{"16 bits, big-endian", 1, 2, true, func(d [][]float32, s []byte) { Decode16Big(d[0], s) }},
	{"24 bits, stereo", 2, 3, false, func(d [][]float32, s []byte) { Decode24Stereo(d[0], d[1], s) }},
	{"16 bits, stereo", 2, 2, false, func(d [][]float32, s []byte) { Decode16Stereo(d[0], d[1], s) }},
	{"24 bits, stereo, big-endian", 2, 3, true, func(d [][]float32, s []byte) { Decode24StereoBig(d[0], d[1], s) }},
	{"16 bits, stereo, big-endian", 2, 2, true, func(d [][]float32, s []byte) { Decode16StereoBig(d[0], d[1], s) }},
	{"float", 1, 4, false, func(d [][]float32, s []byte) { DecodeFloat(d[0], s) }},
	{"float, stereo", 2, 4, false, func(d [][]float32, s []byte) { DecodeFloatStereo(d[0], d[1], s) }},
	{"float, four channels", 4, 4, false, func(d [][]float32, s []byte) { DecodeFloatFour((*[4][]float32)(d), s, 16) }},
	{"float, four of nine channels", 9, 4, false, func(d [][]float32, s []byte) {
		DecodeFloatStride(d[0], s, 36)
		DecodeFloatFour((*[4][]float32)(d[1:5]), s[min(4, len(s)):], 36)
		DecodeFloatFour((*[4][]float32)(d[5:]), s[min(20, len(s)):], 36)
	}},
	{"24 bits, four channels", 4, 3, false, func(d [][]float32, s []byte) { Decode24Four((*[4][]float32)(d), s, 12) }},
	{"24 bits, four channels, big-endian", 4, 3, true, func(d [][]float32, s []byte) { Decode24FourBig((*[4][]float32)(d), s, 12) }},
	{"24 bits, four of nine channels", 9, 3, false, func(d [][]float32, s []byte) {
		Decode24Four((*[4][]float32)(d[:4]), s[:max(len(s)-15, 0)], 27)
		Decode24Four((*[4][]float32)(d[4:8]), s[min(12, len(s)):], 27)
		Decode24Stride(d[8], s[min(24, len(s)):], 27)
	}},
	{"24 bits, four of nine channels, big-endian", 9, 3, true, func(d [][]float32, s []byte) {
		Decode24FourBig((*[4][]float32)(d[:4]), s[:max(len(s)-15, 0)], 27)
		Decode24FourBig((*[4][]float32)(d[5:]), s[min(15, len(s)):], 27)
		Decode24BigStride(d[4], s[min(12, len(s)):], 27)
	}},
}

func TestDecodersAgreeWithThePlainWay(t *testing.T) {
	for _, d := range decoders {
		t.Run(d.name, func(t *testing.T) {
			onEachPath(t, func(t *testing.T) {
				r := rand.New(rand.NewPCG(3, 4))
				in := newYard(t, 64)
				out := make([]*yard, d.channels)
				for c := range out {
					out[c] = newYard(t, 5)
				}
				for _, frames := range append(lengths[:201:201], 1000, 4099) {
					for _, atEnd := range []bool{false, true} {
						src := in.input(frames*d.channels*d.bytes, atEnd)
						for i := range src {
							src[i] = byte(r.Uint32())
						}
						dst := make([][]float32, d.channels)
						for c := range dst {
							dst[c] = out[c].floats(frames, atEnd)
						}
						d.decode(dst, src)
						for c := range dst {
							for i, got := range dst[c] {
								s := src[(i*d.channels+c)*d.bytes:][:d.bytes]
								want := whole(s...)
								if d.big && d.bytes == 3 {
									want = whole(s[2], s[1], s[0])
								} else if d.big {
									want = whole(s[1], s[0])
								}
								if math.Float32bits(got) != math.Float32bits(want) {
									t.Fatalf("channel %d frame %d of %d is %v, want %v", c, i, frames, got, want)
								}
							}
							out[c].tidy(t, 4*frames, atEnd)
						}
					}
				}
			})
		})
	}
}

func TestWrongCallsPanic(t *testing.T) {
	x := make([]float32, 100)
	short := make([]byte, 47, 400)
	onEachPath(t, func(t *testing.T) {
		for name, call := range map[string]func(){
			"too few bytes of 24":       func() { Decode24(x[:16], short) },
			"too few bytes of 24 big":   func() { Decode24Big(x[:16], short) },
			"too few bytes of 16":       func() { Decode16(x[:24], short) },
			"too few bytes of 16 big":   func() { Decode16Big(x[:24], short) },
			"too few stereo bytes":      func() { Decode24Stereo(x[:8], x[8:16], short) },
			"too few of 16 in stereo":   func() { Decode16Stereo(x[:12], x[12:24], short) },
			"a short right channel":     func() { Decode16Stereo(x[:8], x[8:15:15], short) },
			"too few bytes of float":    func() { DecodeFloat(x[:12], short) },
			"too few of float stereo":   func() { DecodeFloatStereo(x[:6], x[6:12], short) },
			"too few of 16 stereo big":  func() { Decode16StereoBig(x[:12], x[12:24], short) },
			"too few of 24 stereo big":  func() { Decode24StereoBig(x[:8], x[8:16], short) },
			"too few for four floats":   func() { DecodeFloatFour(&[4][]float32{x[:3], x[:3], x[:3], x[:3]}, short, 16) },
			"too few bytes for four":    func() { Decode24Four(&[4][]float32{x[:4], x[:4], x[:4], x[:4]}, short, 12) },
			"four of different lengths": func() { Decode24Four(&[4][]float32{x[:4], x[:4], x[:3], x[:4]}, short, 12) },
			"four in frames of three":   func() { Decode24FourBig(&[4][]float32{x[:4], x[:4], x[:4], x[:4]}, short, 9) },
			"tops of too few":           func() { Tops(make([]uint32, 2), x[:15]) },
			"bends of too few":          func() { Bend(x[:33], 1, 32, x[:1], x[:1]) },
			"bends over nothing":        func() { Bend(x, 0, 32, x[:1], x[:1]) },
			"bends of odd cells":        func() { Bend(x, 1, 33, x[:1], x[:1]) },
			"bends without maxima":      func() { Bend(x, 1, 32, x[:1], nil) },
			"tilted hops of nothing":    func() { Tilted(x[:1], x, 0, 1) },
			"tilted hops of too few":    func() { Tilted(x[:2], x[:96], 48, 1) },
			"decimation of too few":     func() { Decimate(x[:2], x[:8:100], x[:8], 1) },
			"decimation standing still": func() { Decimate(x[:2], x, x[:8], 0) },
			"phases of thirteen":        func() { FIRMax(x, x[:13], 13) },
			"a phase and a half":        func() { FIRMax(x, x[:18], 12) },
		} {
			func() {
				defer func() {
					if recover() == nil {
						t.Errorf("%s did not panic", name)
					}
				}()
				call()
			}()
		}
	})
}
