package band
import ("testing";"fmt";"math";"os";"io";"tidemark/internal/sound")
func TestTune(t *testing.T) {
	o := Options{}
	fmt.Sscan(os.Getenv("SEED"), &o.Seed)
	s, _ := NewSession(o)
	off := 30.0
	if os.Getenv("SEED") != "" { off = 0 }
	_ = s
	h := hearTune(o, off)
	for i := range h.peak { fmt.Printf("%2d %-14s peak %6.1f\n", i, h.session.Scene.Mics[i].Name, 20*math.Log10(h.peak[i])) }
}
func hearTune(o Options, off float64, keep ...int) *heard {
	s, err := NewSession(o)
	if err != nil {
		panic(err)
	}
	for i := range s.Scene.Mics { s.Scene.Mics[i].GainDB -= off }
	r, err := NewRenderer(&s.Scene)
	if err != nil {
		panic(err)
	}
	n := len(s.Scene.Mics)
	h := &heard{session: s, peak: make([]float64, n), hops: make([][]float64, n), full: make([]int64, n), fullIn: make([]int64, n), zeros: make([]int, n), kept: map[int][]float32{}}
	hop := s.Scene.RateHz / 10
	run := make([]int, n)
	var from, till float64
	for _, f := range s.Faults {
		if f.Kind == Clipped {
			from, till = f.StartS, f.EndS
		}
	}
	b := sound.NewBlock(n, hop)
	for r.Next(b) != io.EOF {
		for i, x := range b.Channels {
			sum := 0.0
			for k, v := range x {
				a := math.Abs(float64(v))
				sum += a * a
				h.peak[i] = max(h.peak[i], a)
				if v == 0 {
					run[i]++
					h.zeros[i] = max(h.zeros[i], run[i])
				} else {
					run[i] = 0
				}
				if a >= topSample {
					h.full[i]++
					if t := float64(b.Start+int64(k)) / float64(s.Scene.RateHz); t >= from && t <= till {
						h.fullIn[i]++
					}
				}
			}
			h.hops[i] = append(h.hops[i], sum/float64(len(x)))
		}
		for _, i := range keep {
			h.kept[i] = append(h.kept[i], b.Channels[i]...)
		}
	}
	return h
}

