package stage

import (
	"math"
	"math/rand/v2"
)

// addLife puts what happens in any room onto some microphone lines: a foot
// against the stand, a page turned. Only that microphone hears it, and none of
// it is a fault of the line.
func (s *Session) addLife(x []float32, l *Line, r *rand.Rand) {
	if l.Feed != Air || r.Float64() > 0.2 || len(x) < 4*s.RateHz {
		return
	}
	fs := float64(s.RateHz)
	for range 1 + r.IntN(3) {
		at := s.RateHz + r.IntN(len(x)-3*s.RateHz)
		if r.IntN(2) == 0 { // a knock on the stand: low, rounded, gone in a fifth of a second
			hz, a := 25+60*r.Float64(), math.Pow(10, (-40+22*r.Float64())/20)
			for i := range s.RateHz / 4 {
				t := float64(i) / fs
				x[at+i] += float32(a * math.Min(1, t/0.004) * math.Exp(-t/0.045) * math.Sin(2*math.Pi*hz*t))
			}
			continue
		}
		var y float64
		a := math.Pow(10, (-58+16*r.Float64())/20)
		for range 3 + r.IntN(4) { // paper: short rounded bursts of dull noise
			n := int(fs * (0.015 + 0.05*r.Float64()))
			if at+n >= len(x) {
				break
			}
			for i := range n {
				y += 0.4 * (r.NormFloat64() - y)
				x[at+i] += float32(a * y * math.Sin(math.Pi*float64(i)/float64(n)))
			}
			at += n + int(fs*0.04*r.Float64())
		}
	}
}
