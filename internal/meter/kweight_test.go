package meter

import (
	"testing"

	"tidemark/internal/signal"
)

func BenchmarkKWeight(b *testing.B) {
	x := signal.White(1, 0.1, 2400)
	c := newKCoefficients(48000)
	var s kState
	for b.Loop() {
		kEnergy(&c, &s, x, 0)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(x)), "ns/sample")
}
