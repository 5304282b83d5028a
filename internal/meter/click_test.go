package meter

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
)

func clicksOf(rate int, x []float32) ClickReading {
	m := NewClick(rate)
	m.Measure(x)
	return m.Reading()
}

// Published: one sample of +0.1 added to a −20 dBFS 440 Hz sine is found at its
// index ±1; none in the clean file.
func TestClickOfOneSample(t *testing.T) {
	for _, rate := range []int{44100, 48000, 96000, 192000} {
		x := faultSine(rate, 2*rate, 440, 0.1)
		if r := clicksOf(rate, x); r.Count != 0 {
			t.Errorf("%d Hz clean: %d clicks: %+v", rate, r.Count, r.Clicks[0])
		}
		at := rate + 331
		x[at] += 0.1
		r := clicksOf(rate, x)
		if r.Count != 1 || math.Abs(float64(r.Clicks[0].Frame-int64(at))) > 1 {
			t.Errorf("%d Hz: %d clicks %+v, want one at %d", rate, r.Count, r.Clicks, at)
		}
	}
}

// clickBand is made once: 14 times 12 s. Do not change it.
var clickBand = sync.OnceValue(func() map[string][]float32 { return faultBand(48000, 12, 4) })

// No false alarm on minutes of clean playing: each player alone, and the mix.
func TestCleanPlayingHasNoClicks(t *testing.T) {
	for _, rate := range []int{44100, 48000, 96000} {
		band := clickBand()
		if rate != 48000 {
			band = faultBand(rate, 3, uint64(rate))
		}
		for name, x := range band {
			if r := clicksOf(rate, x); r.Count != 0 {
				t.Errorf("%s at %d Hz: %d clicks, first %+v at %.3f s", name, rate, r.Count, r.Clicks[0], float64(r.Clicks[0].Frame)/float64(rate))
			}
		}
	}
}

func TestCleanSoundsHaveNoClicks(t *testing.T) {
	cases := []struct {
		name string
		x    []float32
	}{
		{"silence", make([]float32, 48000)},
		{"nothing", nil},
		{"white noise", plusNoise(make([]float32, 10*48000), 0.1, 1)},
		{"room noise of 16 bits", quantise(plusNoise(make([]float32, 10*48000), 2e-5, 1), 16)},
		{"a low sine of 16 bits", quantise(faultSine(48000, 480000, 60, 3e-4), 16)},
		{"100 Hz square, bare", func() []float32 {
			x := make([]float32, 96000)
			for i := range x {
				x[i] = 0.3
				if i%480 < 240 {
					x[i] = -0.3
				}
			}
			return x
		}()},
		{"a clipped sine", clipAt(faultSine(48000, 96000, 200, 1.5), 1, 1)},
		{"a sound that begins and ends in its middle", faultSine(48000, 48000, 50, 0.5)},
	}
	for _, c := range cases {
		if r := clicksOf(48000, c.x); r.Count != 0 {
			t.Errorf("%s: %d clicks, first %+v", c.name, r.Count, r.Clicks[0])
		}
	}
}

// What a bad connector or a clock adds to a sound is found: at least the given
// share of the planted clicks, and hardly more clicks than were planted.
func TestPlantedClicksAreFound(t *testing.T) {
	const rate = 48000
	band := clickBand()
	kinds := []struct {
		name string
		add  func(x []float32, at int, amp float32, r *rand.Rand)
	}{
		{"a sample", func(x []float32, at int, amp float32, r *rand.Rand) { x[at] += amp }},
		{"1 ms of noise", func(x []float32, at int, amp float32, r *rand.Rand) {
			for i := range 48 {
				x[at+i] += amp * float32(2*r.Float64()-1)
			}
		}},
		{"0.2 ms of one sign", func(x []float32, at int, amp float32, r *rand.Rand) {
			for i := range 10 {
				x[at+i] += amp
			}
		}},
		{"a step that dies away in 20 ms", func(x []float32, at int, amp float32, r *rand.Rand) {
			for i := range 4800 {
				x[at+i] += amp * float32(math.Exp(-float64(i)/960))
			}
		}},
	}
	cases := []struct {
		player string
		amp    float32
		share  float64
	}{
		{"voice", 0.2, 0.7}, {"bass", 0.05, 0.9}, {"guitar", 0.2, 0.6}, {"kick", 0.1, 0.9}, {"harp", 0.1, 0.7}, {"snare", 0.2, 0.6},
		// Hats and a saw in the mix hide what one line would give away.
		{"mix", 0.5, 0.15},
	}
	for _, c := range cases {
		for _, k := range kinds {
			r := rand.New(rand.NewPCG(6, 6))
			x := slices.Clone(band[c.player])
			var planted []int
			for at := 20000; at < len(x)-10000; at += 12000 + r.IntN(12000) {
				planted = append(planted, at)
				k.add(x, at, c.amp*float32(1-2*r.IntN(2)), r)
			}
			got := clicksOf(rate, x)
			hit := 0
			for _, p := range planted {
				for _, q := range got.Clicks {
					if d := q.Frame - int64(p); d >= -4 && d <= 48 {
						hit++
						break
					}
				}
			}
			share := float64(hit) / float64(len(planted))
			t.Logf("%-8s %-32s %2d of %2d, %d in all", c.player, k.name, hit, len(planted), got.Count)
			if share < c.share || got.Count > len(planted)+2 {
				t.Errorf("%s, %s: %d of %d found, %d in all; want a share of %g", c.player, k.name, hit, len(planted), got.Count, c.share)
			}
		}
	}
}

// crackle adds the bursts of a bad connector: clicks of either sign a few
// milliseconds apart, for the given seconds.
func crackle(x []float32, rate, at int, seconds, amp float64, r *rand.Rand) (n int) {
	end := at + int(seconds*float64(rate))
	for i := at; i < end; i += int(float64(rate) * (0.002 + 0.03*r.Float64()*r.Float64())) {
		n++
		a := float32(amp * (0.3 + 0.7*r.Float64()))
		if r.IntN(2) == 0 {
			a = -a
		}
		width := 1 + r.IntN(rate/1000)
		for k := range width {
			x[i+k] += a * float32(math.Exp(-2*float64(k)/float64(width)))
		}
	}
	return n
}

func TestCrackleIsCounted(t *testing.T) {
	const rate = 48000
	band := clickBand()
	for _, c := range []struct {
		player string
		amp    float64
		least  int // clicks a second
	}{{"voice", 0.3, 12}, {"bass", 0.1, 20}, {"guitar", 0.3, 15}, {"toms", 0.3, 15}, {"whisper", 0.1, 15}} {
		x := slices.Clone(band[c.player])
		n := crackle(x, rate, 5*rate, 2, c.amp, rand.New(rand.NewPCG(2, 2)))
		r := clicksOf(rate, x)
		t.Logf("%s: %d planted in 2 s, found %v", c.player, n, r.PerSecond)
		if len(r.PerSecond) != 12 || int(r.PerSecond[5]) < c.least || int(r.PerSecond[6]) < c.least {
			t.Errorf("%s: %v clicks a second, want at least %d in seconds 5 and 6", c.player, r.PerSecond, c.least)
		}
		if r.PerSecond[2] != 0 || r.PerSecond[9] != 0 {
			t.Errorf("%s: %v, want none where none were planted", c.player, r.PerSecond)
		}
	}
}

// Ticks of a clock at a steady distance longer than a pitch are clicks.
func TestSteadyTicksAreClicks(t *testing.T) {
	x := slices.Clone(clickBand()["voice"])
	for at := 24000; at < len(x)-2400; at += 12000 {
		x[at] += 0.3
	}
	if r := clicksOf(48000, x); r.Count < 33 {
		t.Errorf("%d of 44 ticks", r.Count)
	}
}

// Frames of a dense burst that ends as it began make one click.
func TestDenseBurstIsOneClick(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	x := plusNoise(make([]float32, 96000), 2e-4, 5)
	for i := 40000; i < 40700; i++ {
		x[i] += float32(0.2 * (2*r.Float64() - 1))
	}
	got := clicksOf(48000, x)
	if got.Count != 1 || math.Abs(float64(got.Clicks[0].Frame-40000)) > 64 || math.Abs(float64(got.Clicks[0].Frames-700)) > 100 {
		t.Errorf("%+v, want one of 700 frames at 40000", got.Clicks)
	}
}

func BenchmarkClick(b *testing.B) {
	band := faultBand(48000, 4, 1)
	for _, name := range []string{"noise", "mix", "saw", "snare", "hat", "crackle"} {
		x := band[name]
		switch name {
		case "noise":
			x = plusNoise(make([]float32, 192000), 0.05, 1)
		case "crackle":
			x = slices.Clone(band["voice"])
			crackle(x, 48000, 4800, 3.5, 0.3, rand.New(rand.NewPCG(2, 2)))
		}
		b.Run(name, func(b *testing.B) {
			m := NewClick(48000)
			m.Measure(x)
			faultBench(b, m.Measure, x)
		})
	}
}
