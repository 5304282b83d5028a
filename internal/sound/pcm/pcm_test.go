package pcm

import (
	"bytes"
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"tidemark/internal/sound"
)

// one is the plain way to a sample, against which the fast loops are held.
func (l Layout) one(p []byte) float32 {
	q := append([]byte(nil), p[:l.Bytes]...)
	if !l.BigEndian {
		for i, j := 0, len(q)-1; i < j; i, j = i+1, j-1 {
			q[i], q[j] = q[j], q[i]
		}
	}
	n := new(big.Int).SetBytes(q).Uint64()
	switch {
	case l.Encoding == sound.Float && l.Bytes == 4:
		return math.Float32frombits(uint32(n))
	case l.Encoding == sound.Float:
		return float32(math.Float64frombits(n))
	case l.Unsigned:
		return float32((float64(n) - 128) / 128)
	}
	full := math.Ldexp(1, 8*l.Bytes-1)
	v := float64(n)
	if v >= full {
		v -= 2 * full
	}
	return float32(v / full)
}

func TestFastLoopsAgreeWithThePlainWay(t *testing.T) {
	layouts := []Layout{{Bytes: 1, Unsigned: true}}
	for _, big := range []bool{false, true} {
		for n := 1; n <= 4; n++ {
			layouts = append(layouts, Layout{Bytes: n, BigEndian: big})
		}
		layouts = append(layouts, Layout{Encoding: sound.Float, Bytes: 4, BigEndian: big}, Layout{Encoding: sound.Float, Bytes: 8, BigEndian: big})
	}
	random := rand.New(rand.NewPCG(1, 2))
	for _, l := range layouts {
		for _, channels := range []int{1, 2, 3, 5, 64} {
			for _, frames := range []int{0, 1, 2, 3, 700, 20011 / channels} {
				t.Run(fmt.Sprintf("%+v, %d channels, %d frames", l, channels, frames), func(t *testing.T) {
					src := make([]byte, frames*channels*l.Bytes)
					for i := range src {
						src[i] = byte(random.Uint32())
					}
					dst := make([][]float32, channels)
					for c := range dst {
						dst[c] = make([]float32, frames)
					}
					l.Decode(dst, src)
					for i := range frames {
						for c := range channels {
							want := l.one(src[(i*channels+c)*l.Bytes:])
							if got := dst[c][i]; math.Float32bits(got) != math.Float32bits(want) && !(got != got && want != want) {
								t.Fatalf("channel %d frame %d is %v, want %v", c, i, got, want)
							}
						}
					}
					if l.Encoding == sound.Float && l.Bytes == 8 || l.Encoding == sound.Integer && l.Bytes == 4 {
						return // rounded by float32
					}
					back := make([]byte, len(src))
					l.Encode(back, dst)
					if !bytes.Equal(back, src) {
						t.Fatal("encoding what was decoded gave other bytes")
					}
				})
			}
		}
	}
}

func TestDecodingAllocatesNothing(t *testing.T) {
	for _, l := range []Layout{{Bytes: 3}, {Bytes: 3, BigEndian: true}, {Bytes: 2}, {Encoding: sound.Float, Bytes: 4}} {
		for _, channels := range []int{1, 2, 9} {
			dst := make([][]float32, channels)
			for c := range dst {
				dst[c] = make([]float32, 100)
			}
			src := make([]byte, 100*channels*l.Bytes)
			if got := testing.AllocsPerRun(10, func() { l.Decode(dst, src) }); got != 0 {
				t.Errorf("%+v, %d channels: %v allocations", l, channels, got)
			}
		}
	}
}

func TestWrongCallsPanic(t *testing.T) {
	two := [][]float32{make([]float32, 2), make([]float32, 2)}
	for name, call := range map[string]func(){
		"bytes of another length":      func() { Layout{Bytes: 2}.Decode(two, make([]byte, 7)) },
		"integers of five bytes":       func() { Layout{Bytes: 5}.Decode(two, make([]byte, 20)) },
		"floats of two bytes":          func() { Layout{Encoding: sound.Float, Bytes: 2}.Decode(two, make([]byte, 8)) },
		"unsigned samples of two":      func() { Layout{Bytes: 2, Unsigned: true}.Encode(make([]byte, 8), two) },
		"channels of different length": func() { Layout{Bytes: 2}.Encode(make([]byte, 8), [][]float32{two[0], two[1][:1]}) },
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
}
