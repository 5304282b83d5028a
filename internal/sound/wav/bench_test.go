package wav

import (
	"fmt"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
)

// Speed of reading from memory, in the blocks that the meters get.
func BenchmarkRead(b *testing.B) {
	for _, f := range []sound.Format{
		{Bits: 16, Channels: 1}, {Bits: 16, Channels: 2}, {Bits: 24, Channels: 1}, {Bits: 24, Channels: 2},
		{Bits: 24, Channels: 8}, {Bits: 24, Channels: 32}, {Bits: 32, Channels: 2},
		{Encoding: sound.Float, Bits: 32, Channels: 1}, {Encoding: sound.Float, Bits: 32, Channels: 2}, {Encoding: sound.Float, Bits: 64, Channels: 2},
	} {
		f.RateHz = 48000
		frames := 1 << 20 / f.Channels
		p := write(b, Spec{Format: f}, soundtest.Noise(f.Channels, frames, min(f.Bits, 24)))
		b.Run(fmt.Sprintf("%s%d ch%d", f.Encoding, f.Bits, f.Channels), func(b *testing.B) {
			r := open(b, p)
			block := sound.NewBlock(f.Channels, sound.BlockFrames)
			b.ReportAllocs()
			for b.Loop() {
				if err := r.SeekFrame(0); err != nil {
					b.Fatal(err)
				}
				for r.Read(block) == nil {
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(frames*f.Channels), "ns/sample")
		})
	}
}
