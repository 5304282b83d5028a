package between

import (
	"math"
	"reflect"
	"testing"
)

// heardByAll returns lines that hear one source, each at its own delay, and one that hears another.
func heardByAll(seed uint64, hits int) (lines [][][]float32, delays []int) {
	r := seeded(seed)
	delays = []int{0, 17, -40, 133, 0}
	lines = make([][][]float32, len(delays))
	for range hits {
		x, other := noise32(r, 17600, 0.1), noise32(r, 17600, 0.1)
		for i := range x {
			g := float32(math.Exp(-float64(i) / 5000))
			x[i] *= g
			other[i] *= g
		}
		for j, d := range delays {
			y := append([]float32(nil), x[400-d:400-d+16800]...)
			if j == len(delays)-1 {
				y = other[400:17200]
			}
			own := noise32(r, len(y), 1e-3)
			for i := range y {
				y[i] += own[i]
			}
			lines[j] = append(lines[j], y)
		}
	}
	return lines, delays
}

func TestHitsMadeOnceReadAsStretchesDo(t *testing.T) {
	lines, _ := heardByAll(4, 5)
	l := NewLags(48000, 480)
	shared := l.Pair()
	var a, b *Hit
	alone := NewPair(48000, 480)
	for round := range 2 { // the second time in memory that was used before
		for i := range lines[0] {
			a, b = l.Hit(a, lines[0][i]), l.Hit(b, lines[3][i])
			shared.AddHits(a, b)
			if round == 0 {
				alone.Add(lines[0][i], lines[3][i])
			}
		}
		if got, want := shared.Reading(), alone.Reading(); !reflect.DeepEqual(got, want) {
			t.Errorf("round %d: %+v, want %+v", round, got, want)
		}
		shared.Reset()
	}
	if got := shared.Reading(); got.Hits != 0 || got.DelaySamples.Defined() {
		t.Errorf("after Reset %+v, want nothing", got)
	}
}

func TestAGlanceTellsWhoHearsWhom(t *testing.T) {
	lines, delays := heardByAll(7, 4)
	for _, rate := range []int{48000, 96000} { // at 96 kHz the same samples are half as long
		l := NewLags(rate, rate/100)
		p := l.Glance()
		for i := range lines {
			for j := range i {
				p.Reset()
				for k := range lines[i] {
					p.Add(lines[j][k], lines[i][k])
				}
				got := p.Reading()
				if i == len(lines)-1 {
					if got.DelaySamples.Defined() || got.Coherence.Or(1) > 0.1 {
						t.Errorf("%d Hz: lines %d and %d share nothing and read %v, coherence %v", rate, j, i, got.DelaySamples, got.Coherence)
					}
					continue
				}
				near(t, "delay", defined(t, "delay", got.DelaySamples), float64(delays[i]-delays[j]), 0.5)
				if c := got.Coherence.Or(0); c < 0.9 {
					t.Errorf("%d Hz: lines %d and %d: coherence %.2f, want about 1", rate, j, i, c)
				}
				if got.Polarity != Unclear || got.DelaySpread.Defined() {
					t.Errorf("a glance tells polarity %q and spread %v, which need votes", got.Polarity, got.DelaySpread)
				}
			}
		}
	}
}

func TestUsedMemoryIsEnough(t *testing.T) {
	lines, _ := heardByAll(9, 3)
	l := NewLags(48000, 480)
	p := l.Pair()
	var a, b *Hit
	once := func() {
		p.Reset()
		for k := range lines[0] {
			a, b = l.Hit(a, lines[0][k]), l.Hit(b, lines[1][k])
			p.AddHits(a, b)
		}
	}
	once()
	if n := testing.AllocsPerRun(5, once); n != 0 {
		t.Errorf("%g allocations for three hits, want none", n)
	}
}

// 24 lines of one source on 8 common hits at 96 kHz: all 276 pairs at a glance,
// and the pairs of one line in full.
func BenchmarkLines(b *testing.B) {
	const lines, hits, rate = 24, 8, 96000
	r := seeded(3)
	window := rate * 34 / 100
	sound := make([][][]float32, lines)
	for k := range hits {
		x := noise32(r, window+400, 0.1)
		for i := range sound {
			y := noise32(r, window, 0.02)
			for n := range y {
				y[n] = (y[n] + x[n+(i*37+k)%300]*float32(i%2)) * float32(math.Exp(-float64(n)/8000))
			}
			sound[i] = append(sound[i], y)
		}
	}
	l := NewLags(rate, rate*30/1000)
	ready := make([][]*Hit, lines)
	prepare := func() {
		for i := range sound {
			if ready[i] == nil {
				ready[i] = make([]*Hit, hits)
			}
			for k, x := range sound[i] {
				ready[i][k] = l.Hit(ready[i][k], x)
			}
		}
	}
	for _, c := range []struct {
		name string
		p    *Pair
		from int
	}{{"276 pairs at a glance", l.Glance(), 0}, {"23 pairs in full", l.Pair(), lines - 1}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			pairs := 0
			for b.Loop() {
				prepare()
				pairs = 0
				for i := c.from; i < lines; i++ {
					for j := range i {
						c.p.Reset()
						for k := range hits {
							c.p.AddHits(ready[j][k], ready[i][k])
						}
						c.p.Reading()
						pairs++
					}
				}
			}
			b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/float64(pairs), "µs/pair")
		})
	}
}
