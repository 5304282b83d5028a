package kernel

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// kCoefficientsAt are the K filters of Rec. ITU-R BS.1770-5 Annex 1 carried to other rates by the
// bilinear transform; at 48 kHz they are the values of its Tables 1 and 2.
func kCoefficientsAt(rate int) KCoefficients {
	const (
		shelfHz, shelfQ, shelfGainDB, shelfSlope = 1681.974450955533, 0.7071752369554196, 3.999843853973347, 0.4996667741545416
		passHz, passQ                            = 38.13547087602444, 0.5003270373238773
	)
	vh := math.Pow(10, shelfGainDB/20)
	vb := math.Pow(vh, shelfSlope)
	k := math.Tan(math.Pi * shelfHz / float64(rate))
	a0 := 1 + k/shelfQ + k*k
	c := KCoefficients{B0: (vh + vb*k/shelfQ + k*k) / a0, B1: 2 * (k*k - vh) / a0, B2: (vh - vb*k/shelfQ + k*k) / a0, A1: 2 * (k*k - 1) / a0, A2: (1 - k/shelfQ + k*k) / a0}
	k = math.Tan(math.Pi * passHz / float64(rate))
	a0 = 1 + k/passQ + k*k
	c.C1, c.C2 = 2*(k*k-1)/a0, (1-k/passQ+k*k)/a0
	return c
}

// kTicks are the lengths of 10 ms.
func kTicks(rate int) []int { return []int{rate / 100, (rate + 99) / 100} }

// kTick is the length of tick k: tick k begins at round(k·rate/100).
func kTick(rate, k int) int { return ((k+1)*rate+50)/100 - (k*rate+50)/100 }

// plainK is the filter as it is written in KCoefficients, for comparison.
type plainK struct {
	c                      KCoefficients
	x1, x2, v1, v2, y1, y2 float64
}

func (p *plainK) energy(x []float32) (sum float64) {
	c := &p.c
	for _, in := range x {
		x0 := float64(in)
		v0 := c.B0*x0 + c.B1*p.x1 + c.B2*p.x2 - c.A1*p.v1 - c.A2*p.v2
		y0 := v0 - 2*p.v1 + p.v2 - c.C1*p.y1 - c.C2*p.y2
		sum += y0 * y0
		p.x1, p.x2, p.v1, p.v2, p.y1, p.y2 = x0, p.x1, v0, p.v1, y0, p.y1
	}
	return sum
}

var kRates = []int{8000, 11025, 22050, 44100, 48000, 88200, 96000, 176400, 192000}

// kSounds are sounds that go on for ever, t in seconds, and how far the energy may
// be off. Of a tone far below the pass band the filter leaves little, and what
// float64 rounds off weighs more.
func kSounds(rate int) []kSound {
	r := rand.New(rand.NewPCG(uint64(rate), 2))
	tone := func(hz float64) func(float64) float64 {
		return func(t float64) float64 { return 0.5 * math.Sin(2*math.Pi*hz*t) }
	}
	return []kSound{
		{"noise", 1e-13, func(float64) float64 { return 0.1 * r.NormFloat64() }},
		{"soft noise", 1e-13, func(float64) float64 { return 1e-6 * r.NormFloat64() }},
		{"5 Hz", 1e-10, tone(5)},
		{"20 Hz", 1e-11, tone(20)},
		{"38 Hz", 1e-12, tone(38)},
		{"997 Hz", 1e-13, tone(997)},
		{"3.9 kHz", 1e-13, tone(3900)},
		{"a tone at 0.45 of the rate", 1e-13, tone(0.45 * float64(rate))},
		{"noise on a constant", 1e-12, func(t float64) float64 { return 0.5 + 0.01*r.NormFloat64() }},
		{"steps each second", 1e-11, func(t float64) float64 { return 0.8*math.Mod(math.Floor(t), 2) - 0.4 }},
		{"noise by turns with silence", 1e-13, func(t float64) float64 {
			if math.Mod(t, 2) >= 1 {
				return 0
			}
			return 0.3 * r.NormFloat64()
		}},
	}
}

type kSound struct {
	name   string
	within float64
	next   func(t float64) float64
}

// kRun runs a sound through both paths and the plain filter, tick by tick, and
// tells how far the energies are off, as parts of the plain one.
func kRun(rate int, s kSound, seconds int) (portable, vector float64, states [2]KState) {
	p := NewKPlan(kCoefficientsAt(rate), kTicks(rate)...)
	plain := plainK{c: kCoefficientsAt(rate)}
	var sums [3]float64
	x := make([]float32, 0, rate/100+1)
	at := 0
	for k := range 100 * seconds {
		x = x[:kTick(rate, k)]
		for i := range x {
			x[i] = float32(s.next(float64(at) / float64(rate)))
			at++
		}
		sums[0] += plain.energy(x)
		was := Portable(true)
		sums[1] += p.Energy(&states[0], x)
		Portable(was)
		sums[2] += p.Energy(&states[1], x)
	}
	return math.Abs(sums[1]/sums[0] - 1), math.Abs(sums[2]/sums[0] - 1), states
}

func TestEnergyAgreesWithThePlainFilter(t *testing.T) {
	for _, rate := range kRates {
		for _, s := range kSounds(rate) {
			portable, vector, _ := kRun(rate, s, 3)
			if !(portable < s.within && vector < s.within) {
				t.Errorf("%d Hz, %s: energy off by %.2g (portable) and %.2g (%s), want less than %g", rate, s.name, portable, vector, Path(), s.within)
			}
		}
	}
}

func TestEnergyDoesNotDriftInTenMinutes(t *testing.T) {
	const rate = 44100
	r := uint32(1)
	noise := kSound{"noise", 1e-13, func(float64) float64 {
		r = r*1664525 + 1013904223
		return float64(int32(r)) / (1 << 33)
	}}
	portable, vector, states := kRun(rate, noise, 600)
	if !(portable < noise.within && vector < noise.within) {
		t.Errorf("after ten minutes energy off by %.2g (portable) and %.2g (%s), want less than %g", portable, vector, Path(), noise.within)
	}
	for i, v := range states[0].last {
		d := v - states[1].last[i]
		if math.Abs(d) > 1e-12 {
			t.Errorf("after ten minutes part %d of the memory differs by %.2g between the paths, want 1e-12", i, d)
		}
	}
}

// Without clearing, the memory would sink into denormal numbers.
func TestEnergyOfSilenceEndsInNothing(t *testing.T) {
	for _, rate := range kRates {
		p := NewKPlan(kCoefficientsAt(rate), kTicks(rate)...)
		fftPaths(t, func(path string) {
			var s KState
			p.Energy(&s, fftNoise(1, rate/100, 1))
			silence := make([]float32, rate/100)
			for range 200 {
				p.Energy(&s, silence)
			}
			if s != (KState{}) || p.Energy(&s, silence) != 0 {
				t.Errorf("%d Hz, %s: after two seconds of silence %+v is left", rate, path, s)
			}
		})
	}
}

func TestEnergyTellsSamplesThatAreNoNumbers(t *testing.T) {
	const rate = 44100
	p := NewKPlan(kCoefficientsAt(rate), kTicks(rate)...)
	inf := float32(math.Inf(1))
	fftPaths(t, func(path string) {
		for at := range rate / 100 {
			for _, bad := range []float32{float32(math.NaN()), inf, -inf} {
				x := fftNoise(1, rate/100, 0.1)
				x[at] = bad
				var s KState
				if e := p.Energy(&s, x); e-e == 0 {
					t.Fatalf("%s: %g at %d gives energy %g", path, bad, at, e)
				}
			}
		}
	})
}

// What is cut otherwise than planned is filtered all the same.
func TestEnergyOfAnyLength(t *testing.T) {
	const rate = 48000
	x := fftNoise(3, 2000, 0.1)
	planned, none := NewKPlan(kCoefficientsAt(rate), 480, 96), NewKPlan(kCoefficientsAt(rate))
	plain := plainK{c: kCoefficientsAt(rate)}
	fftPaths(t, func(path string) {
		for n := range 700 {
			var a, b KState
			plain = plainK{c: plain.c}
			p, q, want := planned.Energy(&a, x[:n]), none.Energy(&b, x[:n]), plain.energy(x[:n])
			p, q, want = p+planned.Energy(&a, x[n:2*n]), q+none.Energy(&b, x[n:2*n]), want+plain.energy(x[n:2*n])
			if math.Abs(p-want) > 1e-13*want || math.Abs(q-want) > 1e-13*want {
				t.Fatalf("%s: %d samples twice have energies %v and %v, want %v", path, n, p, q, want)
			}
		}
	})
}

func TestEnergyAllocatesNothing(t *testing.T) {
	p, x := NewKPlan(kCoefficientsAt(48000), 480), fftNoise(1, 480, 0.1)
	fftPaths(t, func(path string) {
		var s KState
		if got := testing.AllocsPerRun(10, func() { p.Energy(&s, x) }); got != 0 {
			t.Errorf("%s: %g allocations, want none", path, got)
		}
	})
}

func BenchmarkEnergy(b *testing.B) {
	for _, rate := range []int{8000, 44100, 48000, 96000, 192000} {
		p, x := NewKPlan(kCoefficientsAt(rate), kTicks(rate)...), fftNoise(1, rate/100, 0.1)
		fftPaths(b, func(path string) {
			b.Run(fmt.Sprintf("%d/%s", rate, path), func(b *testing.B) {
				var s KState
				for b.Loop() {
					p.Energy(&s, x)
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(x)), "ns/sample")
			})
		})
	}
}
