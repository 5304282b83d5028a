package meter

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"tidemark/internal/conform"
	"tidemark/internal/signal"
	"tidemark/internal/sound"
)

// pitchOf reads the whole of x in blocks.
func pitchOf(rate int, x []float32) PitchReading {
	m := NewPitch(rate)
	for len(x) > 0 {
		k := min(len(x), sound.BlockFrames)
		m.Measure(x[:k])
		x = x[k:]
	}
	return m.Reading()
}

// steady is a frequency that stays, for voiced.
func steady(hz float64) func(second float64) float64 { return func(float64) float64 { return hz } }

// voiced makes harmonics of a moving fundamental, each with its own phase, under
// 0.45 of the rate and up to the 50th.
func voiced(rate, frames int, hz func(second float64) float64, amplitude func(n int, hz float64) float64) []float32 {
	const step = 16 // frames of one fundamental
	var level [51]float64
	x := make([]float32, frames)
	z := complex(1, 0)
	for at := 0; at < frames; at += step {
		f := hz((float64(at) + step/2 - 0.5) / float64(rate))
		top := min(len(level)-1, int(0.45*float64(rate)/f))
		if at%(8*step) == 0 {
			for n := 1; n <= top; n++ {
				level[n] = amplitude(n, f)
			}
		}
		turn := cmplx.Rect(1, 2*math.Pi*f/float64(rate))
		for i := at; i < min(at+step, frames); i++ {
			z *= turn
			p, v := z, 0.0
			for n := 1; n <= top; n++ {
				if n&1 == 0 {
					v += level[n] * real(p)
				} else {
					v += level[n] * imag(p)
				}
				p *= z
			}
			x[i] = float32(v)
		}
		z /= complex(cmplx.Abs(z), 0)
	}
	return x
}

// A saw's harmonics, a bar's sine, a clarinet's odd ones, and some without the
// fundamental.
func sawLike(n int, _ float64) float64 { return 0.2 / float64(n) }
func sineLike(n int, _ float64) float64 {
	if n == 1 {
		return 0.3
	}
	return 0
}
func reedLike(n int, _ float64) float64 { return 0.25 / float64(n) * float64(n&1) }
func onlyPartials(from, to int) func(int, float64) float64 {
	return func(n int, _ float64) float64 {
		if n < from || n > to {
			return 0
		}
		return 0.1
	}
}

// weakOdd is nearly a note an octave higher: odd harmonics 16 dB down.
func weakOdd(n int, _ float64) float64 {
	if n&1 == 1 {
		return 0.06 / float64(n)
	}
	return 0.4 / float64(n)
}

// vowel is a voice whose throat resonates at three frequencies.
func vowel(f1, f2, f3 float64) func(int, float64) float64 {
	resonance := func(f, at, wide float64) float64 { return at * at / math.Hypot(at*at-f*f, wide*f) }
	return func(n int, f float64) float64 {
		g := float64(n) * f
		return 0.2 / float64(n*n) * resonance(g, f1, 60) * resonance(g, f2, 90) * resonance(g, f3, 150)
	}
}

// addNoise lays white noise under x, so many dB softer.
func addNoise(x []float32, snrDB float64, seed uint64) []float32 {
	power := 0.0
	for _, v := range x {
		power += float64(v) * float64(v)
	}
	n := signal.White(seed, math.Sqrt(power/float64(len(x)))*math.Pow(10, -snrDB/20), len(x))
	signal.Add(n, x, 0)
	return n
}

// pitchErrors are how far the values lie off in cents, and how many are missing
// or more than half a semitone off.
func pitchErrors(r PitchReading, rate int, hz func(second float64) float64) (cents []float64, missing, gross int) {
	for i, v := range r.Values {
		if !v.Defined() {
			missing++
			continue
		}
		at := float64(r.First+int64(i)*r.HopFrames) / float64(rate)
		c := math.Abs(Cents(float64(v.Hz), hz(at)))
		if c > 50 {
			gross++
		}
		cents = append(cents, c)
	}
	return cents, missing, gross
}

const pitchGoal = "derived: the frequency generated; the tolerance is the program's goal"

func pitchRow(t *testing.T, name, source string, within float64, digits int, cents float64) {
	t.Helper()
	conform.Check(t, conform.Row{Section: "Pitch", Case: name, Source: source, Unit: "cents", Under: within, Over: within, Digits: digits, Measured: cents})
}

// Steady tones at every rate from one end of the range to the other.
func TestPitchOfSteadyTones(t *testing.T) {
	notes := []float64{25, 27.5, 41.203, 61.735, 110, 196, 329.628, 523.251, 880, 1318.51, 2093, 4186, 4990}
	for _, rate := range []int{44100, 48000, 88200, 96000, 176400, 192000} {
		var all []float64
		for _, hz := range notes {
			for name, amplitude := range map[string]func(int, float64) float64{"saw": sawLike, "sine": sineLike, "odd harmonics": reedLike} {
				r := pitchOf(rate, voiced(rate, rate/5, steady(hz), amplitude))
				cents, missing, gross := pitchErrors(r, rate, steady(hz))
				if missing+gross > 0 || len(cents) < 9 {
					t.Errorf("%s of %g Hz at %d Hz: of %d values %d are missing, %d grossly off", name, hz, rate, len(r.Values), missing, gross)
				}
				all = append(all, cents...)
			}
		}
		median, p95, most := spread(all)
		t.Logf("%d Hz, steady: %d values, off by %.4f cents (median), %.4f (95 of 100), %.4f (largest)", rate, len(all), median, p95, most)
		k := float64(rate) / 1000
		pitchRow(t, fmt.Sprintf("39 steady tones from 25 Hz to 4.99 kHz, %g kHz: 95 of 100 values are nearer than", k), pitchGoal, 1, 2, p95)
		pitchRow(t, fmt.Sprintf("39 steady tones from 25 Hz to 4.99 kHz, %g kHz: largest error", k), pitchGoal, 1, 2, most)
	}
}

// What leads other ears astray by an octave.
func TestPitchIsTheRightOctave(t *testing.T) {
	const rate = 48000
	var all []float64
	for _, hz := range []float64{41.203, 82.407, 110, 220, 440, 1000} {
		for _, c := range []struct {
			name      string
			amplitude func(int, float64) float64
		}{
			{"harmonics 2 to 4 alone", onlyPartials(2, 4)},
			{"harmonics 5 to 9 alone", onlyPartials(5, 9)},
			{"harmonics 2 and 3 alone", onlyPartials(2, 3)},
			{"odd harmonics 16 dB down", weakOdd},
		} {
			r := pitchOf(rate, voiced(rate, rate/4, steady(hz), c.amplitude))
			cents, missing, gross := pitchErrors(r, rate, steady(hz))
			if missing+gross > 0 || len(cents) == 0 {
				t.Errorf("%s of %g Hz: of %d values %d are missing, %d grossly off", c.name, hz, len(r.Values), missing, gross)
				continue
			}
			_, _, most := spread(cents)
			all = append(all, cents...)
			pitchRow(t, fmt.Sprintf("%s, %g Hz, 48 kHz: largest error", c.name, hz),
				"from memory: a tone without its fundamental must still return it; the tolerance is the program's goal", 1, 2, most)
		}
	}
	median, p95, most := spread(all)
	t.Logf("octave traps: off by %.4f cents (median), %.4f (95 of 100), %.4f (largest)", median, p95, most)
}

func TestPitchOfVowels(t *testing.T) {
	const rate = 48000
	var plain, shaken []float64
	values, lost := 0, 0
	for _, c := range []struct {
		name      string
		amplitude func(int, float64) float64
	}{{"ee", vowel(280, 2300, 3000)}, {"ah", vowel(750, 1100, 2500)}, {"oo", vowel(320, 800, 2300)}} {
		for _, hz := range []float64{85, 120, 150, 240, 375, 700} {
			vibrato := func(s float64) float64 { return ShiftCents(hz, 50*math.Sin(2*math.Pi*5.5*s)) }
			for i, f := range []func(float64) float64{steady(hz), vibrato} {
				r := pitchOf(rate, voiced(rate, rate*6/10, f, c.amplitude))
				cents, missing, gross := pitchErrors(r, rate, f)
				values, lost = values+len(r.Values), lost+missing+gross
				if i == 0 {
					plain = append(plain, cents...)
					continue
				}
				shaken = append(shaken, cents...)
				// Three whole turns of the vibrato and not the ends of the sound.
				mean, n := 0.0, 0
				for k, v := range r.Values {
					if at := float64(r.First+int64(k)*r.HopFrames) / rate; at < 0.04+3/5.5-0.005 && v.Defined() {
						mean += Cents(float64(v.Hz), hz)
						n++
					}
				}
				if math.Abs(mean/float64(n)) > 3 {
					t.Errorf("%s of %g Hz, vibrato: mean %.2f cents off", c.name, hz, mean/float64(n))
				}
			}
		}
	}
	if lost*1000 > values {
		t.Errorf("of %d values %d are missing or grossly off", values, lost)
	}
	a, b, c := spread(plain)
	d, e, f := spread(shaken)
	t.Logf("vowels: %d values, %d lost; steady: off by %.4f, %.4f, %.4f cents (median, 95 of 100, largest); vibrato of ±50 cents at 5.5 Hz: %.2f, %.2f, %.2f", values, lost, a, b, c, d, e, f)
	pitchRow(t, "three vowels from 85 to 700 Hz, steady, 48 kHz: largest error", pitchGoal, 1, 2, c)
	pitchRow(t, "three vowels from 85 to 700 Hz, vibrato of ±50 cents at 5.5 Hz, 48 kHz: 95 of 100 values are nearer than", pitchGoal, 8, 1, e)
}

func TestPitchInNoise(t *testing.T) {
	const rate = 48000
	for _, snr := range []float64{30, 20, 10} {
		var all, medians []float64
		for i, hz := range []float64{30.868, 41.203, 82.407, 110, 220, 440, 1318.51, 4186} {
			r := pitchOf(rate, addNoise(voiced(rate, rate/2, steady(hz), sawLike), snr, uint64(i)))
			cents, missing, gross := pitchErrors(r, rate, steady(hz))
			if missing+gross > 0 {
				t.Errorf("%g Hz in noise %g dB down: of %d values %d are missing, %d grossly off", hz, snr, len(r.Values), missing, gross)
			}
			m, ok := r.Median.Get()
			if !ok {
				t.Fatalf("%g Hz in noise %g dB down: no stretch", hz, snr)
			}
			all = append(all, cents...)
			medians = append(medians, math.Abs(Cents(float64(m), hz)))
		}
		median, p95, most := spread(all)
		_, _, worst := spread(medians)
		t.Logf("white noise %g dB down: %d values, off by %.3f cents (median), %.3f (95 of 100), %.3f (largest); median of half a second at worst %.3f", snr, len(all), median, p95, most, worst)
		if snr == 20 {
			pitchRow(t, "eight saws from 30.868 Hz to 4.186 kHz, white noise 20 dB down, 48 kHz: 95 of 100 values are nearer than", pitchGoal, 1, 2, p95)
			pitchRow(t, "eight saws from 30.868 Hz to 4.186 kHz, white noise 20 dB down, 48 kHz: median of half a second at worst", pitchGoal, 0.5, 2, worst)
		}
	}
}

func TestPitchOfGlides(t *testing.T) {
	const rate = 48000
	for _, octaves := range []float64{-1, 0.5, 1} { // a second
		hz := func(s float64) float64 { return 220 * math.Exp2(octaves*s) }
		r := pitchOf(rate, voiced(rate, rate, hz, sawLike))
		cents, missing, gross := pitchErrors(r, rate, hz)
		if missing+gross > 0 {
			t.Errorf("%g octaves a second: of %d values %d are missing, %d grossly off", octaves, len(r.Values), missing, gross)
		}
		if len(r.Stretches) > 0 {
			t.Errorf("%g octaves a second: a glide has stretches: %+v", octaves, r.Stretches)
		}
		_, p95, most := spread(cents)
		t.Logf("%g octaves a second from 220 Hz: 95 of 100 values nearer than %.3f cents, largest %.3f", octaves, p95, most)
		pitchRow(t, fmt.Sprintf("saw from 220 Hz, gliding %g octaves a second, 48 kHz: 95 of 100 values are nearer than", octaves), pitchGoal, 2, 2, p95)
	}
}

func TestWhatHasNoPitch(t *testing.T) {
	const rate, seconds = 48000, 6
	for name, x := range map[string][]float32{
		"silence":                   signal.Silence(seconds * rate),
		"an offset":                 offset(seconds*rate, 0.25),
		"white noise":               signal.White(1, 0.1, seconds*rate),
		"pink noise":                signal.Pink(2, 0.1, seconds*rate),
		"a tone softer than −80 dB": signal.Sine(rate, 220, signal.Amplitude(-90), rate),
	} {
		r := pitchOf(rate, x)
		if r.Voiced != 0 || len(r.Values) == 0 || r.Median.Defined() || r.Tuning(ConcertA).Defined() {
			t.Errorf("%s: %d of %d values have a pitch, median %v", name, r.Voiced, len(r.Values), r.Median)
		}
	}
}

// Facts of the difference function: a pure tone of a whole number of samples
// has none at that lag; noise is nowhere under 0.1.
func TestDifferenceFunction(t *testing.T) {
	const source = "from memory: de Cheveigné & Kawahara 2002, d′ at a period is about 0"
	const rate = 24000 // nothing is left out on the way
	for _, period := range []int{10, 48, 291, 600} {
		m := NewPitch(rate)
		m.Measure(signal.Sine(rate, rate/float64(period), 0.5, rate/6))
		conform.Check(t, conform.Row{
			Section: "Pitch", Case: fmt.Sprintf("pure tone of %d samples, 24 kHz: d′ at that lag", period), Source: source, Over: 0.001, Digits: 3,
			Measured: m.d[period] * m.norm[period],
		})
	}
	m := NewPitch(rate)
	least := math.Inf(1)
	noise := signal.White(5, 0.1, 4*rate)
	for at := 0; at < len(noise); at += m.hop {
		m.Measure(noise[at:min(at+m.hop, len(noise))])
		for lag := m.least; lag < m.top && m.norm[m.top] > 0; lag++ {
			least = min(least, m.d[lag]*m.norm[lag])
		}
	}
	t.Logf("white noise: least d′ %.3f", least)
	if least < 0.1 {
		t.Errorf("white noise: d′ of %.3f, want none under 0.1", least)
	}
	for _, rate := range []int{44100, 48000, 96000} {
		if m := NewPitch(rate); float64(len(m.low)) < 2*m.hz/PitchLowestHz*0.999 {
			t.Errorf("%d Hz: a segment of %d samples holds less than two periods of the lowest pitch", rate, len(m.low))
		}
	}
}

// A melody becomes stretches, and how far it lies off 440 Hz is told.
func TestPitchStretches(t *testing.T) {
	const rate = 48000
	melody := []Note{57, 60, 64, 62, 69}
	var x []float32
	for _, n := range melody {
		note := voiced(rate, rate/2, steady(n.Hz(443)), sawLike)
		signal.Fade(note, rate/100, rate/100)
		x = append(x, append(note, signal.Silence(rate/10)...)...)
	}
	r := pitchOf(rate, x)
	if len(r.Stretches) != len(melody) {
		t.Fatalf("%d stretches, want %d: %+v", len(r.Stretches), len(melody), r.Stretches)
	}
	for i, s := range r.Stretches {
		n, cents := NearestNote(float64(s.Hz), ConcertA)
		at := float64(s.Frame) / rate
		if n != melody[i] || math.Abs(cents-11.764) > 0.3 || math.Abs(at-0.6*float64(i)-0.02) > 0.03 || math.Abs(float64(s.Frames)/rate-0.5) > 0.05 {
			t.Errorf("stretch %d: %v %+.2f cents at %.3f s for %.3f s, want %v +11.76 at about %.2f for half a second", i, n, cents, at, float64(s.Frames)/rate, melody[i], 0.6*float64(i))
		}
	}
	tuning, _ := r.Tuning(ConcertA).Get()
	conform.Check(t, conform.Row{Section: "Pitch", Case: "a melody of five notes tuned to 443 Hz, 48 kHz: tuning against 440 Hz", Source: "derived: 443/440; the tolerance is the program's goal",
		Unit: "cents", Expected: 11.764, Under: 0.3, Over: 0.3, Digits: 2, Measured: tuning})
	if got, _ := r.Tuning(443).Get(); math.Abs(got) > 0.3 {
		t.Errorf("against its own reference: %+.2f cents, want 0", got)
	}
}

// Pitches stand at the frames where they sound.
func TestPitchStandsAtItsFrame(t *testing.T) {
	for _, rate := range []int{44100, 48000, 96000} {
		hz := func(s float64) float64 {
			if s < 1 {
				return 330
			}
			return 392
		}
		r := pitchOf(rate, voiced(rate, 2*rate, hz, sawLike))
		turn := 0.0
		for i, v := range r.Values {
			if v.Defined() && v.Hz < 360 {
				turn = float64(r.First+int64(i)*r.HopFrames) / float64(rate)
			}
		}
		if math.Abs(turn-1) > 0.02 {
			t.Errorf("%d Hz: the last value of the first note is at %.3f s, it ends at 1", rate, turn)
		}
	}
}

// Stiff strings: partials lie at n·f·√(1 + B·n²) (Fletcher 1964, from memory),
// and the pitch among the strong ones, a little above the first. Each dies
// with its own time.
func TestPitchOfStiffStrings(t *testing.T) {
	const rate = 48000
	for _, c := range []struct {
		name      string
		hz, stiff float64
		within    float64 // cents over f
	}{
		{"bass, E1", 41.203, 0.0002, 5},
		{"guitar, E2", 82.407, 0.0001, 3},
		{"guitar, E4", 329.628, 0.00003, 1},
		{"piano, A3", 220, 0.0004, 6},
	} {
		x := signal.White(3, 1e-4, rate)
		var modes []ringing
		for n := 1.0; n <= 12; n++ {
			modes = append(modes, ringing{n * c.hz * math.Sqrt(1+c.stiff*n*n), 0.3 / n, 1.2 / n})
		}
		strike(x, rate, 0, modes)
		r := pitchOf(rate, x)
		cents, missing, gross := pitchErrors(r, rate, steady(c.hz))
		m, _ := r.Median.Get()
		if missing+gross > 0 || m == 0 {
			t.Fatalf("%s: of %d values %d are missing, %d grossly off", c.name, len(r.Values), missing, gross)
		}
		off := Cents(float64(m), c.hz)
		_, _, most := spread(cents)
		t.Logf("%s, B = %g: median %+.2f cents, largest %.2f", c.name, c.stiff, off, most)
		if off < -0.1 || off > c.within {
			t.Errorf("%s: %+.2f cents, want up to %g above", c.name, off, c.within)
		}
	}
}

// What goes wrong on the way to a recorder: too much level, a rumble, a hum, a
// voice of another player that leaks in.
func TestPitchOfDamagedTones(t *testing.T) {
	const rate, hz = 48000, 196.0
	for _, c := range []struct {
		name   string
		spoil  func(x []float32)
		within float64
	}{
		{"clipped", func(x []float32) { signal.Clip(x, 0.05) }, 0.3},
		{"an offset", func(x []float32) {
			for i := range x {
				x[i] += 0.3
			}
		}, 0.3},
		{"hum 20 dB down", func(x []float32) { addHum(x, rate, 50, -32, 1, 2, 3) }, 3},
		{"another note 20 dB down", func(x []float32) { signal.Add(x, signal.Gain(voiced(rate, len(x), steady(261.626), sawLike), -20), 0) }, 6},
		{"16 bits at −60 dB", func(x []float32) { copy(x, signal.Quantize(signal.Gain(x, -46), 16)) }, 1},
	} {
		x := voiced(rate, rate/2, steady(hz), sawLike)
		c.spoil(x)
		cents, missing, gross := pitchErrors(pitchOf(rate, x), rate, steady(hz))
		_, p95, _ := spread(cents)
		t.Logf("%s: 95 of 100 values nearer than %.2f cents", c.name, p95)
		if missing+gross > 0 || p95 > c.within {
			t.Errorf("%s: %d missing, %d grossly off, 95 of 100 nearer than %.2f cents, want %g", c.name, missing, gross, p95, c.within)
		}
	}
}
