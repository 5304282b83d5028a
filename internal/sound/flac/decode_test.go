package flac

import (
	"fmt"
	"math"
	"strconv"
	"testing"

	library "github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
)

// music is what encoders predict well: a few tones and a little noise, the
// second channel close to the first, the third silent, the fourth a constant.
func music(channels, frames, bits int) [][]float32 {
	noise := soundtest.Noise(1, frames, 0)[0]
	planar := make([][]float32, channels)
	full := math.Ldexp(1, bits-1)
	for c := range planar {
		planar[c] = make([]float32, frames)
		for i := range planar[c] {
			x := 0.4*math.Sin(float64(i)*0.031) + 0.2*math.Sin(float64(i)*0.11+float64(c)*0.1) + 0.001*float64(noise[i])
			switch c {
			case 2:
				x = 0
			case 3:
				x = 0.25
			}
			planar[c][i] = float32(math.Round(x*full) / full)
		}
	}
	return planar
}

// Files of the reference encoder (1.4 or later for 32 bits) and of ffmpeg, over
// its presets and depths: every kind of subframe, coded pairs, wasted bits.
func TestFilesOfOtherEncodersComeBack(t *testing.T) {
	type kind struct {
		channels, bits int
		encoder        string
		args           []string
	}
	var kinds []kind
	for _, level := range []int{0, 2, 5, 8} {
		for _, bits := range []int{8, 16, 24} {
			kinds = append(kinds, kind{2, bits, "flac", []string{"-" + strconv.Itoa(level)}})
		}
	}
	kinds = append(kinds,
		kind{1, 24, "flac", []string{"-8", "--blocksize=192"}},
		kind{2, 24, "flac", []string{"-8", "--blocksize=65535", "--lax"}},
		kind{2, 24, "flac", []string{"-8", "-l", "32", "--lax"}},
		kind{2, 16, "flac", []string{"-3", "-r", "8", "--blocksize=1000", "--lax"}},
		kind{8, 24, "flac", []string{"-5", "--channel-map=none"}},
		kind{2, 20, "flac", []string{"-5"}},
		kind{2, 32, "flac", []string{"-5"}},
		kind{2, 24, "flac", []string{"-5", "--no-seektable", "--no-padding"}},
		kind{2, 24, "ffmpeg", []string{"-compression_level", "12"}},
		kind{6, 16, "ffmpeg", nil},
	)
	for _, k := range kinds {
		for name, want := range map[string][][]float32{
			"music": music(k.channels, 30011, min(k.bits, 24)), "noise": soundtest.Noise(k.channels, 5003, min(k.bits, 24)),
			"music of fewer bits": music(k.channels, 9001, k.bits-3),
		} {
			t.Run(fmt.Sprintf("%s, %d channels of %d bits by %s %v", name, k.channels, k.bits, k.encoder, k.args), func(t *testing.T) {
				p := program(t, want, k.bits, 48000, k.encoder, k.args...)
				r := open(t, p)
				format := sound.Format{Container: "FLAC", Bits: k.bits, RateHz: 48000, Channels: k.channels}
				if h := r.Header(); h.Format != format || h.Frames != int64(len(want[0])) {
					t.Fatalf("header %+v, want %+v and %d frames", h, format, len(want[0]))
				}
				soundtest.Same(t, soundtest.ReadAll(t, r, 1000), want)
				if len(r.Damage()) != 0 || r.sum != nil || !r.finished {
					t.Fatalf("damage %v, want none and the MD5 sum compared", r.Damage())
				}
			})
		}
	}
}

func TestReaderKeepsItsPromises(t *testing.T) {
	want := music(2, 200003, 16)
	t.Run("file in memory", func(t *testing.T) {
		p := encode(t, integers(want, 16), 16, 44100, 4096)
		soundtest.Suite(t, func() sound.Reader { return open(t, p) }, want)
	})
	t.Run("file of the reference encoder", func(t *testing.T) {
		p := program(t, want, 16, 44100, "flac", "-5")
		soundtest.Suite(t, func() sound.Reader { return open(t, p) }, want)
	})
	t.Run("blocks of varying length, many of them", func(t *testing.T) {
		long := soundtest.Noise(2, 200003, 24)
		p := program(t, long, 24, 96000, "flac", "-0", "--blocksize=576")
		if len(p) < 4*windowBytes {
			t.Fatalf("%d bytes, too few for the search to halve the file", len(p))
		}
		soundtest.Suite(t, func() sound.Reader { return open(t, p) }, long)
	})
}

// A stream whose blocks vary in length numbers samples, not blocks: RFC 9639
// §9.1.5.
func TestBlocksOfVaryingLength(t *testing.T) {
	want := music(2, 60000, 16)
	whole := integers(want, 16)
	f := &soundtest.Memory{}
	e, err := library.NewEncoder(f, &meta.StreamInfo{
		BlockSizeMin: 192, BlockSizeMax: 4608, SampleRate: 44100, NChannels: 2, BitsPerSample: 16, NSamples: 60000,
	})
	if err != nil {
		t.Fatal(err)
	}
	sizes := []int{192, 4608, 1000, 17, 2304, 4096}
	for at, i := 0, 0; at < 60000; i++ {
		end := min(at+sizes[i%len(sizes)], 60000)
		fr := &frame.Frame{Header: frame.Header{
			BlockSize: uint16(end - at), SampleRate: 44100, Channels: frame.ChannelsLR, BitsPerSample: 16, Num: uint64(at),
		}}
		for c := range whole {
			fr.Subframes = append(fr.Subframes, &frame.Subframe{
				SubHeader: frame.SubHeader{Pred: frame.PredVerbatim}, Samples: whole[c][at:end], NSamples: end - at,
			})
		}
		if err := e.WriteFrame(fr); err != nil {
			t.Fatal(err)
		}
		at = end
	}
	if err := e.Close(); err != nil {
		t.Fatal(err)
	}
	p := append([]byte(nil), f.Bytes...)
	// The encoder fills in its own idea of the block sizes.
	copy(p[8:], "\x00\xc0\x12\x00")
	r := open(t, p)
	soundtest.Same(t, soundtest.ReadAll(t, r, 1000), want)
	if d := r.Damage(); len(d) != 0 {
		t.Fatalf("damage %v, want none", d)
	}
	soundtest.Suite(t, func() sound.Reader { return open(t, p) }, want)
}
