package desk_test

import (
	"math"
	"testing"

	"tidemark/internal/signal"
)

// Left = mid + side, right = mid − side. A source half to the left has side =
// mid/2, so left is three times right; a source that only the side hears has
// left = −right and nothing in mono.
func TestAMidSidePairIsDecodedBeforeItIsMeasured(t *testing.T) {
	mid := notes(3, 48000, 20)
	for _, c := range []struct {
		name        string
		side        []float32
		correlation float64
		monoLossDB  float64 // 10·log10(m² / ((l² + r²)/2))
	}{
		{"a source half to the left", signal.Gain(mid, -6.0206), 1, -0.969},
		{"more side than mid, turned over", signal.Gain(mid, 12.0412), -1, -12.304},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			put(t, dir, "Ch,Source\n1,Choir mid\n2,Choir side\n3,Organ\n",
				file{name: "Choir mid_01.wav", channels: [][]float32{signal.Gain(mid, -20)}},
				file{name: "Choir side_01.wav", channels: [][]float32{signal.Gain(c.side, -20)}},
				file{name: "Organ_01.wav", channels: [][]float32{notes(5, 48000, 20)}})
			r := check(t, request(t, dir))
			for _, p := range r.Pairs {
				if p.Relation != "mid-side" {
					continue
				}
				if got := p.Correlation.Or(9); got < c.correlation-0.02 || got > c.correlation+0.02 {
					t.Errorf("correlation of left and right %.3f, want %.0f", got, c.correlation)
				}
				if got := p.MonoLossDB.Or(-99); math.Abs(got-c.monoLossDB) > 0.05 {
					t.Errorf("mono loss %.2f dB, want %.2f", got, c.monoLossDB)
				}
				if p.DelayMS.Defined() {
					t.Errorf("a delay of %v ms between left and right of one place", p.DelayMS)
				}
				return
			}
			t.Fatalf("no mid-side pair among %+v", r.Pairs)
		})
	}
}
