package flac

import (
	"testing"

	"tidemark/internal/sound"
)

// Speed of decoding, MD5 sum included, of what the reference encoder makes of
// music of 24 bits in stereo at its usual level.
func BenchmarkRead(b *testing.B) {
	planar := music(2, 480000, 24)
	for _, bits := range []int{16, 24} {
		p := program(b, planar, bits, 48000, "flac", "-5")
		for _, sum := range []string{"with the sum", "without"} {
			b.Run(map[int]string{16: "16 bits ", 24: "24 bits "}[bits]+sum, func(b *testing.B) {
				r := open(b, p)
				block := sound.NewBlock(2, sound.BlockFrames)
				b.ReportAllocs()
				b.ResetTimer()
				for b.Loop() {
					r.rewind()
					if sum == "without" {
						r.sum = nil
					}
					for r.Read(block) == nil {
					}
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/960000, "ns/sample")
			})
		}
	}
}
