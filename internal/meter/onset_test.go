package meter

import (
	"math"
	"testing"
)

func onsetsOf(rate int, x []float32) OnsetReading {
	m := NewOnset(rate)
	m.Measure(x)
	return m.Reading()
}

// Every planted beginning is found within 2 ms, and little besides.
func TestOnsetsOfPlayers(t *testing.T) {
	for _, rate := range []int{44100, 48000, 96000} {
		players := []struct {
			name   string
			play   func(p *faultPlayer, x []float32, at int)
			within float64 // ms
		}{
			{"kick", func(p *faultPlayer, x []float32, at int) { p.kick(x, at, 0.6) }, 2},
			{"snare", func(p *faultPlayer, x []float32, at int) { p.snare(x, at, 0.5) }, 1.5},
			{"rim", func(p *faultPlayer, x []float32, at int) { p.rim(x, at, 0.4) }, 1.5},
			{"hat", func(p *faultPlayer, x []float32, at int) { p.hat(x, at, 0.2, 0.03) }, 1.5},
			{"plucked string", func(p *faultPlayer, x []float32, at int) { p.pluck(x, at, 196, 0.3, 1) }, 1.5},
		}
		for _, c := range players {
			p := newFaultPlayer(rate, 11)
			x := make([]float32, 10*rate)
			var want []int64
			for s := 0.5; s < 9.4; s += p.between(0.4, 0.7) {
				want = append(want, int64(p.seconds(s)))
				c.play(p, x, p.seconds(s))
			}
			p.room(x, 2e-4)
			r := onsetsOf(rate, x)
			hit := 0
			for _, w := range want {
				for _, o := range r.Onsets {
					if math.Abs(float64(o.Frame-w)) <= c.within*float64(rate)/1000 {
						hit++
						break
					}
				}
			}
			if hit < len(want) || r.Count > len(want)+1 {
				t.Errorf("%s at %d Hz: %d of %d found, %d in all", c.name, rate, hit, len(want), r.Count)
			}
		}
	}
}

func TestSteadySoundsBeginOnce(t *testing.T) {
	cases := []struct {
		name string
		x    []float32
		most int
	}{
		{"silence", make([]float32, 48000), 0},
		{"nothing", nil, 0},
		{"noise", plusNoise(make([]float32, 480000), 0.1, 2), 0},
		{"41 Hz", faultSine(48000, 480000, 41, 0.5), 0},
		{"room noise at -75 dBFS", plusNoise(make([]float32, 480000), 1e-4, 2), 0},
	}
	for _, c := range cases {
		if r := onsetsOf(48000, c.x); r.Count > c.most {
			t.Errorf("%s: %d onsets, want at most %d: %+v", c.name, r.Count, c.most, r.Onsets[0])
		}
	}
}

func TestOnsetTellsRiseAndPeak(t *testing.T) {
	x := faultSine(48000, 96000, 1000, 0.01)
	for i := 48000; i < len(x); i++ {
		x[i] *= 10
	}
	r := onsetsOf(48000, x)
	if r.Count != 1 || math.Abs(r.Onsets[0].RiseDB-20) > 1 || math.Abs(float64(r.Onsets[0].Peak)-0.1) > 0.001 || math.Abs(float64(r.Onsets[0].Frame-48000)) > 48 {
		t.Errorf("%+v, want one at 48000 with 20 dB and peak 0.1", r)
	}
}

// Hours of hits are kept in bounds, spread over the length, in order.
func TestOnsetsAreSpread(t *testing.T) {
	const rate = 8000
	m := NewOnset(rate)
	hit := make([]float32, rate/2)
	newFaultPlayer(rate, 1).rim(hit, 1000, 0.5)
	for range 20 * 60 * 2 {
		m.Measure(hit)
	}
	r := m.Reading()
	if r.Count < 2390 || len(r.Onsets) > KeptOnsets || len(r.Onsets) < KeptOnsets/4 {
		t.Fatalf("count %d, kept %d", r.Count, len(r.Onsets))
	}
	for i := 1; i < len(r.Onsets); i++ {
		if r.Onsets[i].Frame <= r.Onsets[i-1].Frame {
			t.Fatalf("onset %d at %d after %d", i, r.Onsets[i].Frame, r.Onsets[i-1].Frame)
		}
	}
	if first, last := r.Onsets[0].Frame, r.Onsets[len(r.Onsets)-1].Frame; first > 60*rate || last < 19*60*rate {
		t.Errorf("from %d to %d of %d", first, last, 20*60*rate)
	}
}

func BenchmarkOnset(b *testing.B) {
	for name, x := range map[string][]float32{"noise": plusNoise(make([]float32, 48000), 0.05, 1), "line": quantise(faultLine(48000), 24)} {
		b.Run(name, func(b *testing.B) {
			m := NewOnset(48000)
			m.Measure(x)
			faultBench(b, m.Measure, x)
		})
	}
}
