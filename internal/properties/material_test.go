// Package properties holds no code: its tests hold the whole engine to what must
// be true of any sound, whatever the numbers are. Gain moves every level by
// itself, polarity changes nothing but polarity, the cut into blocks and the
// form of the file change not a bit, silence moves no gated loudness, order and
// workers do not matter, and nothing but numbers ever leaves a reading.
//
// The sounds are made up and random, from a seed that a failure names.
package properties

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"tidemark/internal/meter"
	"tidemark/internal/signal"
	"tidemark/internal/sound"
)

// each runs a property on so many random cases, named by their seed.
func each(t *testing.T, cases int, property func(t *testing.T, r *rand.Rand)) {
	t.Helper()
	t.Parallel() // beside the other properties; the cases of one follow each other
	for seed := range cases {
		ok := t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			property(t, rand.New(rand.NewPCG(uint64(seed), 0x71de)))
		})
		if !ok {
			return // one is enough to look for the cause
		}
	}
}

// within is a random number between two limits.
func within(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

// line makes up a line: room noise, now and then a struck or plucked note that
// dies away, at times mains hum, a held note, an offset or a click.
func line(r *rand.Rand, rateHz, frames int) []float32 {
	noise := signal.NewNoise(r.Uint64())
	x := make([]float32, frames)
	noise.FillPink(x, signal.Amplitude(within(r, -58, -42)))
	add := func(at int, hz, amplitude, decayS float64) {
		n := min(frames-at, int(6*decayS*float64(rateHz)))
		phase := within(r, 0, 2*math.Pi)
		for i := range n {
			t := float64(i) / float64(rateHz)
			rise := min(1, t/0.002)
			x[at+i] += float32(amplitude * rise * math.Exp(-t/decayS) * math.Sin(2*math.Pi*hz*t+phase))
		}
	}
	for at := int(within(r, 0.05, 0.3) * float64(rateHz)); at < frames; at += int(within(r, 0.2, 0.7) * float64(rateHz)) {
		hz, amplitude, decay := math.Exp(within(r, math.Log(50), math.Log(900))), signal.Amplitude(within(r, -30, -12)), within(r, 0.03, 0.3)
		for k := 1.0; k < 6 && k*hz < 0.45*float64(rateHz); k++ {
			add(at, k*hz*(1+0.001*k), amplitude/k, decay/math.Sqrt(k))
		}
		if r.IntN(2) == 0 { // the stick
			n := min(frames-at, rateHz/100)
			stick := signal.White(r.Uint64(), amplitude/2, n)
			signal.Decay(stick, float64(rateHz)/500)
			signal.Add(x, stick, at)
		}
	}
	if r.IntN(3) == 0 {
		mains := []float64{50, 60}[r.IntN(2)] + within(r, -0.1, 0.1)
		for k := range 4 {
			signal.Add(x, signal.Sine(rateHz, mains*float64(1+k), signal.Amplitude(within(r, -50, -38)), frames), 0)
		}
	}
	if r.IntN(4) == 0 {
		offset := float32(within(r, -0.05, 0.05))
		for i := range x {
			x[i] += offset
		}
	}
	if r.IntN(3) == 0 {
		for range 3 {
			x[r.IntN(frames)] += float32(within(r, -0.4, 0.4))
		}
	}
	return x
}

// take makes up several lines.
func take(r *rand.Rand, channels, rateHz, frames int) [][]float32 {
	x := make([][]float32, channels)
	for c := range x {
		x[c] = line(r, rateHz, frames)
	}
	return x
}

func float(rateHz, channels int) sound.Format {
	return sound.Format{Container: "WAV", Encoding: sound.Float, Bits: 32, RateHz: rateHz, Channels: channels}
}

// measure gives planar sound to all meters in blocks of next() frames.
func measure(f sound.Format, x [][]float32, next func() int) meter.Readings {
	set := meter.NewSet(f, meter.Options{})
	b := sound.Block{Channels: make([][]float32, len(x))}
	for at := 0; at < len(x[0]); {
		end := min(at+next(), len(x[0]))
		b.Start = int64(at)
		for c := range x {
			b.Channels[c] = x[c][at:end]
		}
		set.Measure(&b)
		at = end
	}
	return set.Reading()
}

// whole is the measurement in the usual blocks.
func whole(rateHz int, x ...[]float32) meter.Readings {
	return measure(float(rateHz, len(x)), x, func() int { return sound.BlockFrames })
}

// leaf is one number, truth or text of a reading, with the way to it.
type leaf struct {
	path  string
	value any // float64, int64, bool or string
}

// leaves takes a reading apart, its hidden parts too.
func leaves(reading any) []leaf {
	var out []leaf
	var walk func(path string, v reflect.Value)
	walk = func(path string, v reflect.Value) {
		switch v.Kind() {
		case reflect.Struct:
			for i := range v.NumField() {
				walk(path+"."+v.Type().Field(i).Name, v.Field(i))
			}
		case reflect.Slice, reflect.Array:
			out = append(out, leaf{path + ".len", int64(v.Len())})
			for i := range v.Len() {
				walk(fmt.Sprintf("%s[%d]", path, i), v.Index(i))
			}
		case reflect.Float32, reflect.Float64:
			out = append(out, leaf{path, v.Float()})
		case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
			out = append(out, leaf{path, v.Int()})
		case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
			out = append(out, leaf{path, int64(v.Uint())})
		case reflect.Bool:
			out = append(out, leaf{path, v.Bool()})
		case reflect.String:
			out = append(out, leaf{path, v.String()})
		default:
			panic("a reading holds a " + v.Kind().String() + " at " + path)
		}
	}
	walk("", reflect.ValueOf(reading))
	return out
}

// same fails unless both readings are the same to the bit; skip says of a path
// whether it is none of the property's business.
func same(t *testing.T, what string, got, want any, skip func(path string) bool) {
	t.Helper()
	a, b := leaves(got), leaves(want)
	told := 0
	for i := range a {
		if i >= len(b) || a[i].path != b[i].path {
			if skip == nil || !skip(a[i].path) {
				t.Errorf("%s: another shape from %s on", what, a[i].path)
				return
			}
			break
		}
		v, w := a[i].value, b[i].value
		if x, ok := v.(float64); ok {
			v, w = math.Float64bits(x), math.Float64bits(w.(float64))
		}
		if v != w && (skip == nil || !skip(a[i].path)) {
			t.Errorf("%s: %s: got %v, want %v", what, a[i].path, a[i].value, b[i].value)
			if told++; told == 8 {
				return
			}
		}
	}
	if len(a) < len(b) && told == 0 {
		t.Errorf("%s: %d values, want %d", what, len(a), len(b))
	}
}

// near fails where two numbers are further apart than a tolerance.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.9g, want %.9g ± %g", what, got, want, tolerance)
	}
}

// powerOf is the power of a level in dB.
func powerOf(db float64) float64 { return math.Pow(10, db/10) }
