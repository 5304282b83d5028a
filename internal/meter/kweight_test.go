package meter

import (
	"testing"

	"tidemark/internal/kernel"
	"tidemark/internal/signal"
)

// kState and kEnergy are the filter by itself: Σy² of x, added to sum.
type kState = kernel.KState

func kEnergy(c *kCoefficients, s *kState, x []float32, sum float64) float64 {
	return sum + c.plan().Energy(s, x)
}

func BenchmarkKWeight(b *testing.B) {
	for name, rate := range map[string]int{"48k": 48000, "96k": 96000} {
		b.Run(name, func(b *testing.B) {
			x := signal.White(1, 0.1, rate/100)
			p := kPlanOf(rate)
			var s kernel.KState
			for b.Loop() {
				p.Energy(&s, x)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(x)), "ns/sample")
		})
	}
}
