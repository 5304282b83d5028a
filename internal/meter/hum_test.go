package meter

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

func humOf(rate int, mains Mains, x []float32) HumReading {
	m := NewHum(rate, mains)
	for len(x) > 0 {
		k := min(len(x), 2400)
		m.Measure(x[:k])
		x = x[k:]
	}
	return m.Reading()
}

// pinkish adds noise that falls 3 dB an octave (a sum of one-pole filters an
// octave and a half apart) of about the given RMS.
func pinkish(x []float32, rms float64, seed uint64) {
	r := rand.New(rand.NewPCG(seed, 1))
	var s [6]float64
	for i := range x {
		n, v := r.NormFloat64(), 0.0
		for k := range s {
			p := math.Pow(3, float64(k)) * 0.002
			s[k] += p * (n - s[k])
			v += s[k] * math.Pow(3, -float64(k)/2)
		}
		x[i] += float32(rms * 12 * v)
	}
}

func addHum(x []float32, rate int, hz, db float64, numbers ...int) {
	for _, k := range numbers {
		a := math.Pow(10, db/20)
		z, turn := cmplx.Rect(a, float64(k)), cmplx.Rect(1, 2*math.Pi*hz*float64(k)/float64(rate))
		for i := range x {
			x[i] += float32(imag(z))
			z *= turn
		}
	}
}

// riff is a bass that never rests longer than a tenth of a second, or rests four
// seconds in every twelve.
func riff(x []float32, rate int, amp float64, rests bool, seed uint64) {
	p := newFaultPlayer(rate, seed)
	notes := []float64{41.203, 48.999, 55, 61.735, 65.406, 73.416, 82.407, 97.999}
	for t := 0.0; t < float64(len(x))/float64(rate); t += 0.3 {
		if !rests || math.Mod(t, 12) < 8 {
			p.bass(x, p.seconds(t), notes[p.r.IntN(len(notes))], amp, 0.29)
		}
	}
}

func TestHum(t *testing.T) {
	const rate = 12000 // the meter works at 3 kHz from here on too, and the sounds are made faster
	sound := func(seconds float64, add ...func(x []float32)) []float32 {
		x := make([]float32, int(seconds*rate))
		for _, a := range add {
			a(x)
		}
		return x
	}
	pink := func(db float64) func(x []float32) {
		return func(x []float32) { pinkish(x, math.Pow(10, db/20), 1) }
	}
	hum := func(hz, db float64, numbers ...int) func(x []float32) {
		return func(x []float32) { addHum(x, rate, hz, db, numbers...) }
	}
	bass := func(rests bool) func(x []float32) { return func(x []float32) { riff(x, rate, 0.35, rests, 3) } }
	cases := []struct {
		name   string
		x      []float32
		mains  Mains
		wantHz float64 // 0: none
	}{
		// Published: −60 dBFS at 50, 100 and 150 Hz in pink noise is found, 60 Hz is not reported.
		{"50 Hz and two harmonics in pink noise", sound(16, pink(-50), hum(50, -60, 1, 2, 3)), MainsAuto, 50},
		{"the same where the mains are said to be 60 Hz", sound(16, pink(-50), hum(50, -60, 1, 2, 3)), Mains60, 0},
		{"60 Hz and two harmonics in pink noise", sound(16, pink(-50), hum(60, -60, 1, 2, 3)), MainsAuto, 60},
		{"mains 0.15 Hz low", sound(16, pink(-50), hum(49.85, -60, 1, 2, 3, 5)), MainsAuto, 49.85},
		{"mains 0.2 Hz high", sound(16, pink(-50), hum(60.2, -60, 1, 3, 5)), MainsAuto, 60.2},
		{"rectifier ripple of 100, 200, 300 Hz", sound(16, pink(-50), hum(50, -65, 2, 4, 6)), MainsAuto, 50},
		{"soft hum in a quiet room", sound(16, pink(-75), hum(50, -85, 1, 2, 3)), MainsAuto, 50},
		{"hum under a riff with rests", sound(36, pink(-75), bass(true), hum(50, -65, 1, 2, 3)), MainsAuto, 50},
		{"loud hum under a riff with rests", sound(36, pink(-75), bass(true), hum(50, -42, 1, 2, 3)), MainsAuto, 50},
		{"hum under a riff with rests, 60 Hz", sound(36, pink(-75), bass(true), hum(60, -65, 1, 2, 3)), MainsAuto, 60},
		{"hum under a riff without rests", sound(36, pink(-75), bass(false), hum(50, -35, 1, 2, 3, 4, 5)), MainsAuto, 50},
		{"pink noise alone", sound(45, pink(-30)), MainsAuto, 0},
		{"riff alone", sound(45, pink(-75), bass(false)), MainsAuto, 0},
		{"riff with rests alone", sound(45, pink(-75), bass(true)), MainsAuto, 0},
		{"G1 held, with overtones", sound(16, pink(-70), hum(48.999, -20, 1, 2, 3, 4, 5, 6)), MainsAuto, 0},
		{"B1 held, with overtones", sound(16, pink(-70), hum(61.735, -20, 1, 2, 3, 4, 5, 6)), MainsAuto, 0},
		{"G2 and D3 held", sound(16, pink(-70), hum(97.999, -20, 1, 2, 3, 4), hum(146.832, -25, 1, 2, 3, 4)), MainsAuto, 0},
		{"A#2 and F4 held", sound(16, pink(-70), hum(116.541, -20, 1, 2, 3, 4), hum(349.228, -25, 1, 2)), MainsAuto, 0},
		{"100 Hz alone", sound(16, pink(-70), hum(100, -20, 1)), MainsAuto, 0},
		{"50 Hz alone", sound(36, pink(-70), hum(49.93, -50, 1)), MainsAuto, 49.93},
		{"60 Hz alone", sound(16, pink(-75), hum(60.04, -45, 1)), MainsAuto, 60.04},
		{"a tone near 50 Hz", sound(36, pink(-70), hum(50.3, -30, 1)), MainsAuto, 0},
		{"120 Hz alone", sound(16, pink(-70), hum(120, -20, 1)), MainsAuto, 0},
		{"silence", sound(16), MainsAuto, 0},
		{"an offset", sound(16, func(x []float32) {
			for i := range x {
				x[i] = 0.1
			}
		}), MainsAuto, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := humOf(rate, c.mains, c.x)
			if !r.Known {
				t.Fatal("not known")
			}
			if c.wantHz == 0 && r.FundamentalHz != 0 || c.wantHz > 0 && math.Abs(r.FundamentalHz-c.wantHz) > 0.05 {
				t.Errorf("fundamental %.3f Hz, want %.3f: %+v", r.FundamentalHz, c.wantHz, r)
			}
		})
	}
}

func TestHumLevels(t *testing.T) {
	for _, rate := range []int{44100, 48000, 96000} {
		x := make([]float32, 20*rate)
		pinkish(x, 1e-4, 2)
		addHum(x, rate, 50, -60, 1, 2, 3)
		r := humOf(rate, MainsAuto, x)
		if len(r.Harmonics) != 3 {
			t.Fatalf("%d Hz: %d harmonics, want 3: %+v", rate, len(r.Harmonics), r)
		}
		for i, h := range r.Harmonics {
			if h.Number != i+1 || math.Abs(h.LevelDBFS+60) > 0.3 || math.Abs(h.Hz-50*float64(i+1)) > 0.02 {
				t.Errorf("%d Hz: harmonic %+v, want −60 dBFS at %d Hz", rate, h, 50*(i+1))
			}
		}
		want := -60 + 10*math.Log10(3)
		if got, ok := r.Level.Get(); !ok || math.Abs(float64(got)-want) > 0.3 {
			t.Errorf("%d Hz: level %v, want %.2f", rate, got, want)
		}
	}
}

func TestHumOfPartOfARecording(t *testing.T) {
	const rate = 48000
	x := make([]float32, 90*rate)
	pinkish(x, 1e-4, 2)
	addHum(x[40*rate:], rate, 50, -60, 1, 2, 3)
	r := humOf(rate, MainsAuto, x)
	if math.Abs(r.FundamentalHz-50) > 0.05 || r.From < 30*rate || r.From > 52*rate || r.To < 78*rate {
		t.Errorf("%.2f Hz from %.1f to %.1f s, want 50 from 40 to 90", r.FundamentalHz, float64(r.From)/rate, float64(r.To)/rate)
	}
}

func TestHumOfAMomentIsNotKnown(t *testing.T) {
	x := make([]float32, 5*48000)
	addHum(x, 48000, 50, -40, 1, 2, 3)
	if r := humOf(48000, MainsAuto, x); r.Known || r.FundamentalHz != 0 {
		t.Errorf("5 s: %+v, want not known", r)
	}
	x = make([]float32, 7*48000)
	addHum(x, 48000, 50, -40, 1, 2, 3)
	if r := humOf(48000, MainsAuto, x); !r.Known || r.FundamentalHz == 0 {
		t.Errorf("7 s: %+v, want hum", r)
	}
}

// The made-up players have no hum.
func TestPlayersHaveNoHum(t *testing.T) {
	for name, x := range clickBand() {
		if r := humOf(48000, MainsAuto, x); !r.Known || r.FundamentalHz != 0 {
			t.Errorf("%s: %+v, want no hum", name, r)
		}
	}
}

func BenchmarkHum(b *testing.B) {
	for _, rate := range []int{48000, 96000} {
		b.Run(map[int]string{48000: "48k", 96000: "96k"}[rate], func(b *testing.B) {
			x := plusNoise(make([]float32, 10*rate), 0.05, 1)
			m := NewHum(rate, MainsAuto)
			m.Measure(x)
			faultBench(b, m.Measure, x)
		})
	}
}
