package meter

import (
	"fmt"
	"math"
	"testing"

	"tidemark/internal/conform"
	"tidemark/internal/signal"
)

func drumOf(rate int, x []float32) DrumReading {
	m := NewDrumPitch(rate)
	m.Measure(x)
	return m.Reading()
}

// ringing is a way in which a drum of these tests rings.
type ringing struct{ hz, amplitude, tau float64 }

// strike adds modes that begin at frame at, as sines from zero that die.
func strike(x []float32, rate, at int, modes []ringing) {
	for _, m := range modes {
		if m.amplitude == 0 || m.hz > 0.45*float64(rate) {
			continue
		}
		rho, w := math.Exp(-1/(m.tau*float64(rate))), 2*math.Pi*m.hz/float64(rate)
		a, b := 2*rho*math.Cos(w), -rho*rho
		y1, y2 := 0.0, -m.amplitude*math.Sin(w)/rho
		for i := at; i < min(len(x), at+int(9*m.tau*float64(rate))); i++ {
			y1, y2 = a*y1+b*y2, y1
			x[i] += float32(y1)
		}
	}
}

// membraneTable is the table of the ideal membrane: zeros of the Bessel functions
// and their ratios.
var membraneTable = []struct {
	mode        Mode
	zero, ratio float64
}{
	{Mode{0, 1}, 2.40483, 1.0000}, {Mode{1, 1}, 3.83171, 1.5933}, {Mode{2, 1}, 5.13562, 2.1355},
	{Mode{0, 2}, 5.52008, 2.2954}, {Mode{3, 1}, 6.38016, 2.6531}, {Mode{1, 2}, 7.01559, 2.9173},
	{Mode{4, 1}, 7.58834, 3.1555}, {Mode{2, 2}, 8.41724, 3.5001}, {Mode{0, 3}, 8.65373, 3.5985},
	{Mode{5, 1}, 8.77148, 3.6475}, {Mode{3, 2}, 9.76102, 4.0589}, {Mode{6, 1}, 9.93611, 4.1317},
	{Mode{1, 3}, 10.17347, 4.2304}, {Mode{4, 2}, 11.06471, 4.6010}, {Mode{7, 1}, 11.08637, 4.6101},
	{Mode{2, 3}, 11.61984, 4.8319}, {Mode{0, 4}, 11.79153, 4.9033}, {Mode{8, 1}, 12.22509, 5.0836},
}

func TestTableOfMembraneModes(t *testing.T) {
	const source = "derived: zeros of the Bessel functions, ideal circular membrane"
	if len(membraneTable) != 18 {
		t.Fatalf("%d modes, the table has 18", len(membraneTable))
	}
	for _, c := range membraneTable {
		conform.Check(t, conform.Row{Section: "Pitch", Case: "membrane, mode " + c.mode.String() + ": zero", Source: source,
			Expected: c.zero, Under: 0.00001, Over: 0.00001, Digits: 5, Measured: besselZero(c.mode.Diameters, c.mode.Circles)})
		conform.Check(t, conform.Row{Section: "Pitch", Case: "membrane, mode " + c.mode.String() + ": ratio to (0,1)", Source: source,
			Expected: c.ratio, Under: 0.0001, Over: 0.0001, Digits: 4, Measured: MembraneRatio(c.mode)})
	}
}

const drumGoal = "derived: the frequency generated; ±0.5 % is the program's goal"

func drumRow(t *testing.T, name string, want float64, got DrumReading) {
	t.Helper()
	hz, ok := got.Fundamental.Get()
	if !ok {
		t.Errorf("%s: no fundamental: %+v", name, got)
		return
	}
	conform.Check(t, conform.Row{Section: "Pitch", Case: name, Source: drumGoal, Unit: "Hz", Expected: want, Under: math.Round(want*5) / 1000, Over: math.Round(want*5) / 1000, Digits: 2, Measured: float64(hz)})
}

// Heads whose modes lie a little off, each as strong and as long as chance will
// have it, struck four times.
func TestDrumsOfChance(t *testing.T) {
	const rate, drums = 12000, 120
	var all []float64
	named, wrong := 0, 0
	for seed := range uint64(drums) {
		r := signal.NewNoise(seed)
		f := 60 * math.Exp2(1.25+1.25*r.Uniform()) // 60 to 340 Hz
		x := signal.White(seed, 1e-4, 4*rate)
		modes := make([]ringing, 12)
		truth := map[Mode]float64{}
		for i := range modes {
			hz := f * membraneTable[i].ratio
			if i > 0 {
				hz *= 1 + 0.004*r.Uniform()
			}
			truth[membraneTable[i].mode] = hz
			modes[i] = ringing{hz: hz, tau: 0.15 * math.Sqrt(100/hz) * (1 + 0.5*r.Uniform())}
		}
		for k := range 4 {
			for i := range modes {
				modes[i].amplitude = 0.2 * math.Pow(10, (r.Uniform()-1)*10/20) // 0 to −20 dB
			}
			strike(x, rate, k*rate, modes)
		}
		got := drumOf(rate, x)
		hz, _ := got.Fundamental.Get()
		off := 100 * math.Abs(float64(hz)/f-1)
		all = append(all, off)
		if got.Head != HeadMembrane || got.Strokes != 4 || off > 0.5 {
			t.Errorf("drum %d, %.2f Hz: %s of %.2f Hz, %d strokes: %+v", seed, f, got.Head, float64(hz), got.Strokes, got.Partials)
		}
		for _, p := range got.Partials {
			if p.Mode.Circles > 0 {
				if named++; math.Abs(p.Hz/truth[p.Mode]-1) > 0.01 {
					wrong++
				}
			}
		}
	}
	median, p95, most := spread(all)
	t.Logf("%d heads: fundamental off by %.3f %% (median), %.3f %% (95 of 100), %.3f %% (largest); of %d partials named %d wrongly", drums, median, p95, most, named, wrong)
	if wrong*50 > named {
		t.Errorf("of %d partials %d have the name of another", named, wrong)
	}
	for _, c := range []struct {
		name string
		got  float64
	}{{"95 of 100 are nearer than", p95}, {"largest error", most}} {
		conform.Check(t, conform.Row{Section: "Pitch", Case: "fundamental of 120 membranes of 60 to 340 Hz, modes up to 20 dB uneven, 12 kHz: " + c.name,
			Source: drumGoal, Unit: "%", Over: 0.5, Digits: 2, Measured: c.got})
	}
}

func TestDrums(t *testing.T) {
	// membrane is a head with the given levels of its modes in the table's order.
	membrane := func(f, tau float64, db ...float64) []ringing {
		var m []ringing
		for i, v := range db {
			hz := f * membraneTable[i].ratio
			m = append(m, ringing{hz, 0.2 * signal.Amplitude(v), tau * math.Sqrt(f/hz)})
		}
		return m
	}
	silent := -200.0
	kettle := func(f float64) []ringing {
		var m []ringing
		for i, r := range []float64{1, 1.50, 1.99, 2.44, 2.90} {
			m = append(m, ringing{f * r, 0.2 * signal.Amplitude(-4*float64(i)), 0.5 - 0.06*float64(i)})
		}
		// The modes that radiate well die at once.
		return append(m, ringing{f * 0.85, 0.2, 0.02}, ringing{f * 1.68, 0.1, 0.02})
	}
	for _, rate := range []int{44100, 48000, 96000, 192000} {
		k := float64(rate) / 1000
		for _, c := range []struct {
			name  string
			modes []ringing
			noise float64 // RMS
			want  float64
			head  Head
			names []Mode // that must be among those found
		}{
			{"tom, struck between middle and rim", membrane(110, 0.18, 0, -3, -8, -6, -12, -14, -16), 1e-4, 110, HeadMembrane, []Mode{{0, 1}, {1, 1}, {2, 1}, {0, 2}}},
			{"the same a tone lower", membrane(110*math.Exp2(-2.0/12), 0.18, 0, -3, -8, -6, -12, -14, -16), 1e-4, 110 * math.Exp2(-2.0/12), HeadMembrane, []Mode{{0, 1}, {1, 1}, {2, 1}, {0, 2}}},
			{"tom, struck near the rim", membrane(98, 0.2, -14, 0, -3, -16, -5, -10, -8), 1e-4, 98, HeadMembrane, []Mode{{0, 1}, {1, 1}, {2, 1}, {3, 1}}},
			{"tom, struck in the middle", membrane(131, 0.2, 0, silent, silent, -4, silent, silent, silent, silent, -9), 1e-4, 131, HeadMembrane, []Mode{{0, 1}, {0, 2}, {0, 3}}},
			{"tom without its lowest mode", membrane(120, 0.2, silent, 0, -3, -6, -6, -10, -8), 1e-4, 120, HeadMembrane, []Mode{{1, 1}, {2, 1}, {0, 2}, {3, 1}}},
			{"small drum under noise of −50 dB", membrane(192, 0.12, 0, -3, -8, -6, -12), 3e-3, 192, HeadMembrane, []Mode{{0, 1}, {1, 1}}},
			{"kettledrum of A2", kettle(110), 1e-4, 110, HeadKettle, []Mode{{1, 1}, {2, 1}, {3, 1}, {4, 1}, {5, 1}}},
			{"kettledrum of D3", kettle(146.832), 1e-4, 146.832, HeadKettle, []Mode{{1, 1}, {2, 1}, {3, 1}}},
		} {
			x := signal.White(7, c.noise, 3*rate)
			for s := range 3 {
				strike(x, rate, s*rate+rate/5, c.modes)
			}
			got := drumOf(rate, x)
			name := fmt.Sprintf("%s, %g kHz: fundamental", c.name, k)
			drumRow(t, name, c.want, got)
			if got.Head != c.head || got.Strokes != 3 {
				t.Errorf("%s: %s with %d strokes, want %s with 3: %+v", name, got.Head, got.Strokes, c.head, got.Partials)
			}
			for _, want := range c.names {
				found := false
				for _, p := range got.Partials {
					found = found || p.Mode == want
				}
				if !found {
					t.Errorf("%s: mode %s is not named: %+v", name, want, got.Partials)
				}
			}
		}
	}
}

// What rings at random is seldom taken for a head.
func TestPartialsAtRandomAreNoHead(t *testing.T) {
	const rate, each = 12000, 40
	named, of := 0, 0
	for _, n := range []int{3, 4, 6, 8} {
		for seed := range uint64(each) {
			r := signal.NewNoise(seed + 1000*uint64(n))
			x := signal.White(seed, 1e-4, 2*rate)
			var modes []ringing
			for range n {
				modes = append(modes, ringing{80 * math.Exp2(1.6*(1+r.Uniform())), 0.2 * math.Pow(10, (r.Uniform()-1)*10/20), 0.15})
			}
			strike(x, rate, rate/10, modes)
			if of++; drumOf(rate, x).Head != HeadUnknown {
				named++
			}
		}
	}
	t.Logf("of %d sets of partials at random %d are taken for a head's", of, named)
	if named*10 > of {
		t.Errorf("of %d sets of partials at random %d are taken for a head's, want less than a tenth", of, named)
	}
}

// Two heads on one shell: the lowest mode is there twice.
func TestDrumOfTwoHeads(t *testing.T) {
	const rate, drums = 12000, 30
	for _, split := range []float64{1.2, 1.35, 1.7} {
		wrong := 0
		for seed := range uint64(drums) {
			r := signal.NewNoise(seed)
			f := 60 * math.Exp2(1.25+1.25*r.Uniform())
			level := func() float64 { return 0.2 * math.Pow(10, (r.Uniform()-1)*8/20) }
			x := signal.White(seed, 1e-4, 2*rate)
			modes := []ringing{{f * split, level(), 0.15 * math.Sqrt(100/f)}}
			for i := range 10 {
				hz := f * membraneTable[i].ratio
				if i > 0 {
					hz *= 1 + 0.01*r.Uniform()
				}
				modes = append(modes, ringing{hz, level(), 0.15 * math.Sqrt(100/hz)})
			}
			strike(x, rate, rate/10, modes)
			hz, _ := drumOf(rate, x).Fundamental.Get()
			if math.Abs(float64(hz)/f-1) > 0.005 {
				wrong++
			}
		}
		t.Logf("lowest mode again at %g times: %d of %d fundamentals off by more than 0.5 %%", split, wrong, drums)
		if wrong > drums/10 {
			t.Errorf("lowest mode again at %g times: %d of %d fundamentals off by more than 0.5 %%", split, wrong, drums)
		}
	}
}

// The kettledrum's ratios come back as they were put in.
func TestKettledrumRatios(t *testing.T) {
	const rate, f = 48000, 130.813
	x := signal.White(3, 1e-4, 4*rate)
	ratios := []float64{1, 1.50, 1.99, 2.44, 2.90}
	var modes []ringing
	for i, r := range ratios {
		modes = append(modes, ringing{f * r, 0.2 * signal.Amplitude(-4*float64(i)), 0.4})
	}
	for s := range 4 {
		strike(x, rate, s*rate, modes)
	}
	got := drumOf(rate, x)
	if got.Head != HeadKettle || len(got.Partials) != len(ratios) {
		t.Fatalf("%s, %+v", got.Head, got.Partials)
	}
	for i, p := range got.Partials {
		conform.Check(t, conform.Row{Section: "Pitch", Case: fmt.Sprintf("kettledrum of C3, mode %s over (1,1), 48 kHz", p.Mode), Source: "from memory: Rossing 1982, modes of a kettledrum, which the sound is made of; the tolerance is the program's goal",
			Expected: ratios[i], Under: 0.005, Over: 0.005, Digits: 3, Measured: p.Hz / got.Partials[0].Hz})
	}
}

// The blow stretches the head: the pitch told is where it settles.
func TestDrumThatFallsInPitch(t *testing.T) {
	const rate, f = 48000, 100.0
	x := signal.White(9, 1e-4, 4*rate)
	for s := range 4 {
		phase := [3]float64{}
		for i := range rate {
			sec := float64(i) / rate
			for k, r := range []float64{1, 1.5933, 2.1355} {
				phase[k] += 2 * math.Pi * f * r * (1 + 0.06*math.Exp(-sec/0.05)) / rate
				x[s*rate+i] += float32(0.2 / float64(k+1) * math.Sin(phase[k]) * math.Exp(-sec/0.15))
			}
		}
	}
	got := drumOf(rate, x)
	drumRow(t, "membrane of 100 Hz that begins 6 % higher, 48 kHz: fundamental", f, got)
}

func TestWhatIsNoDrum(t *testing.T) {
	const rate, seconds = 48000, 5
	for name, x := range map[string][]float32{
		"silence":       signal.Silence(seconds * rate),
		"pink noise":    signal.Pink(2, 0.1, seconds*rate),
		"a steady tone": signal.Join(signal.Silence(1), signal.Sine(rate, 110, 0.3, seconds*rate)),
		"an offset":     signal.Join(signal.Silence(1), offset(seconds*rate, 0.2)),
	} {
		got := drumOf(rate, x)
		if got.Strokes != 0 || got.Head != HeadUnknown || got.Fundamental.Defined() || got.Principal.Defined() {
			t.Errorf("%s: %+v", name, got)
		}
	}
	// One frequency alone is told, without a name.
	x := make([]float32, 2*rate)
	strike(x, rate, rate/2, []ringing{{70, 0.4, 0.2}})
	got := drumOf(rate, x)
	hz, _ := got.Fundamental.Get()
	if got.Head != HeadUnknown || math.Abs(float64(hz)-70) > 0.35 || got.Fundamental != got.Principal {
		t.Errorf("one mode of 70 Hz: %+v", got)
	}
}
