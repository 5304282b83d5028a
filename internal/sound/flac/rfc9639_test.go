package flac

import (
	"bytes"
	"crypto/md5"
	"encoding/hex"
	"fmt"
	"strings"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
)

// The example files of RFC 9639 (12/2024), Appendix D: fields, samples and MD5
// sums. Of the first the whole file is at hand; the others are encoded here from
// their published samples, and held against the published sums.
var rfcExamples = []struct {
	name    string
	rate    int
	bits    int
	samples [][]int32 // [channel][sample]
	md5     string
}{
	{"D.1, one sample", 44100, 16, [][]int32{{25588}, {10416}}, "3e84b41807dc690307586a3dad1a2e0f"},
	{"D.2, nineteen samples", 44100, 16, [][]int32{
		{10372, 18041, 14942, 17876, 15627, 17899, 16242, 18077, 16824, 18263, 17295, -14418, -15201, -14508, -15195, -14818, -15486, -15349, -16054},
		{6070, 10545, 8743, 10449, 9143, 10463, 9502, 10569, 9840, 10680, 10113, -8428, -8895, -8476, -8896, -8653, -9072, -8958, -9410},
	}, "d5b0564975e98b8d8b930422757b8103"},
	{"D.3, mono of 8 bits", 32000, 8, [][]int32{
		{0, 79, 111, 78, 8, -61, -90, -68, -13, 42, 67, 53, 13, -27, -46, -38, -12, 14, 24, 19, 6, -4, -5, 0},
	}, "f8f9e396f5cbcfc6dc807f9977906b32"},
}

const rfcExample1 = `664c6143 80000022 10001000 00000f00 000f0ac4 42f00000 00013e84 b41807dc
	69030758 6a3dad1a 2e0ffff8 69180000 bf0358fd 03128baa 9a`

func unhex(t testing.TB, s string) []byte {
	t.Helper()
	p, err := hex.DecodeString(strings.Join(strings.Fields(s), ""))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// planar is what integers are as samples of full scale 1.
func planar(samples [][]int32, bits int) [][]float32 {
	out := make([][]float32, len(samples))
	for c := range samples {
		for _, x := range samples[c] {
			out[c] = append(out[c], float32(x)/float32(int64(1)<<(bits-1)))
		}
	}
	return out
}

func TestRFC9639ExampleFile1(t *testing.T) {
	r := open(t, unhex(t, rfcExample1))
	h := r.Header()
	want := sound.Format{Container: "FLAC", Encoding: sound.Integer, Bits: 16, RateHz: 44100, Channels: 2}
	if h.Format != want || h.Frames != 1 {
		t.Fatalf("header %+v, want %+v and 1 frame", h, want)
	}
	soundtest.Same(t, soundtest.ReadAll(t, r, 10), [][]float32{{25588. / 32768}, {10416. / 32768}})
	if d := r.Damage(); len(d) != 0 {
		t.Fatalf("damage %v, want none: the MD5 sum agrees", d)
	}
	if r.sum != nil || !r.finished {
		t.Fatal("the MD5 sum was never compared")
	}
}

func TestRFC9639ExampleSamples(t *testing.T) {
	for _, e := range rfcExamples {
		encoders := map[string]func(t *testing.T) []byte{
			"mewkiz/flac": func(t *testing.T) []byte { return encode(t, e.samples, e.bits, e.rate, max(16, len(e.samples[0]))) },
			"flac": func(t *testing.T) []byte {
				return program(t, planar(e.samples, e.bits), e.bits, e.rate, "flac", "-8")
			},
		}
		for name, encoded := range encoders {
			t.Run(fmt.Sprintf("%s by %s", e.name, name), func(t *testing.T) {
				r := open(t, encoded(t))
				soundtest.Same(t, soundtest.ReadAll(t, r, 10), planar(e.samples, e.bits))
				if got := hex.EncodeToString(r.info.md5[:]); got != e.md5 {
					t.Fatalf("MD5 sum %s, want the published %s", got, e.md5)
				}
				for _, d := range r.Damage() {
					if d.Kind != "odd" { // the library declares blocks of one sample
						t.Fatalf("damage %v, want none", d)
					}
				}
			})
		}
	}
}

// The sum is made here too, so that a decoder which compared nothing would be
// noticed: of the published samples it is the published one.
func TestRFC9639MD5OfPublishedSamples(t *testing.T) {
	for _, e := range rfcExamples {
		var p []byte
		for i := range e.samples[0] {
			for c := range e.samples {
				p = append(p, byte(e.samples[c][i]))
				if e.bits > 8 {
					p = append(p, byte(e.samples[c][i]>>8))
				}
			}
		}
		if got := fmt.Sprintf("%x", md5.Sum(p)); got != e.md5 {
			t.Errorf("%s: %s, want %s", e.name, got, e.md5)
		}
	}
}

// Check values of the two polynomials over the digits 1 to 9, as catalogues of
// CRCs print them (from memory): CRC-8 F4, CRC-16 of x¹⁶+x¹⁵+x²+1 FEE8.
func TestChecksumsOfNineDigits(t *testing.T) {
	digits := []byte("123456789")
	if got := crc8(digits); got != 0xF4 {
		t.Errorf("CRC-8 %02X, want F4", got)
	}
	if got := crc16(digits); got != 0xFEE8 {
		t.Errorf("CRC-16 %04X, want FEE8", got)
	}
	long := bytes.Repeat(digits, 5)
	slow := uint16(0)
	for _, b := range long {
		slow = slow<<8 ^ table16[0][byte(slow>>8)^b]
	}
	if got := crc16(long); got != slow {
		t.Errorf("eight bytes at a time give %04X, one at a time %04X", got, slow)
	}
}
