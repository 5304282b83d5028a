package crosscheck

import (
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"tidemark/internal/band"
	"tidemark/internal/meter"
	"tidemark/internal/signal"
	"tidemark/internal/sound"
	"tidemark/internal/sound/soundfile"
	"tidemark/internal/sound/wav"
)

// file is made-up sound in a file.
type file struct {
	name   string // says sound, rate and bits
	path   string
	format sound.Format
}

// made are the files of this run: each set is rendered once for all tests.
var made struct {
	sync.Mutex
	dirs []string
	sets map[string][]file
}

// set renders files once; render hands each to write.
func set(t *testing.T, name string, render func(write func(name string, f sound.Format, x [][]float32))) []file {
	t.Helper()
	made.Lock()
	defer made.Unlock()
	if files, ok := made.sets[name]; ok {
		return files
	}
	dir, err := os.MkdirTemp("", "tidemark-crosscheck-")
	if err != nil {
		t.Fatal(err)
	}
	made.dirs = append(made.dirs, dir)
	var files []file
	render(func(name string, f sound.Format, x [][]float32) {
		f.Channels = len(x)
		path := filepath.Join(dir, fmt.Sprintf("%d.wav", len(files)))
		writeFile(t, path, f, x)
		files = append(files, file{name, path, f})
	})
	if made.sets == nil {
		made.sets = map[string][]file{}
	}
	made.sets[name] = files
	return files
}

func writeFile(t *testing.T, path string, f sound.Format, x [][]float32) {
	t.Helper()
	out, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer out.Close()
	w, err := wav.Create(out, wav.Spec{Format: f})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(sound.Block{Channels: x}); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}

func wavOf(rateHz, bits int) sound.Format {
	f := sound.Format{RateHz: rateHz, Bits: bits}
	if bits == 32 {
		f.Encoding = sound.Float
	}
	return f
}

// lines are the 23 lines of the demo band with its faults (one clips, one dies,
// one hums), 12 s from the song's beginning, and a line of noise that goes up and
// down: 24 mono files of 24 bits at 48 kHz.
func lines(t *testing.T) []file {
	return set(t, "lines", func(write func(string, sound.Format, [][]float32)) {
		const rate, seconds = 48000, 12
		s, err := band.NewSession(band.Options{RateHz: rate, DurationS: seconds, Faults: true})
		if err != nil {
			t.Fatal(err)
		}
		r, err := band.NewRenderer(&s.Scene)
		if err != nil {
			t.Fatal(err)
		}
		x := make([][]float32, len(s.Scene.Mics))
		for b := sound.NewBlock(len(x), sound.BlockFrames); ; {
			if err := r.Next(b); err == io.EOF {
				break
			} else if err != nil {
				t.Fatal(err)
			}
			for c := range x {
				x[c] = append(x[c], b.Channels[c]...)
			}
		}
		for c, l := range s.Lines {
			write(fmt.Sprintf("line %d %s, 48 kHz / 24 bit", c+1, l.Source), wavOf(rate, 24), [][]float32{x[c]})
		}
		write("line 24 noise in steps, 48 kHz / 24 bit", wavOf(rate, 24), [][]float32{noiseInSteps(rate, 9, -30, -20, -14, -40)})
	})
}

// noiseInSteps is pink noise of 3 s at each RMS level.
func noiseInSteps(rateHz int, seed uint64, db ...float64) []float32 {
	var x []float32
	noise := signal.NewNoise(seed)
	for _, l := range db {
		y := make([]float32, 3*rateHz)
		noise.FillPink(y, signal.Amplitude(l))
		x = append(x, y...)
	}
	signal.Clip(x, 0.98)
	return x
}

// hits are twenty struck notes that fall, then rise in pitch.
func hits(rateHz int, hz float64) []float32 {
	var x []float32
	for i := range 20 {
		y := signal.Sine(rateHz, hz*(1+float64(i)/10), signal.Amplitude(float64(-3-i/2)), rateHz/2)
		signal.Decay(y, float64(rateHz)/12)
		x = append(x, y...)
	}
	return x
}

// mix is a stereo sound of notes over noise that goes up and down.
func mix(rateHz int, seed uint64) [][]float32 {
	l := noiseInSteps(rateHz, seed, -32, -24, -18, -42)
	r := noiseInSteps(rateHz, seed+1, -30, -26, -20, -44)
	signal.Add(l, signal.Gain(hits(rateHz, 300), -3), rateHz/3)
	signal.Add(r, signal.Gain(hits(rateHz, 1700), -6), rateHz)
	signal.Add(r, signal.Gain(hits(rateHz, 300), -9), rateHz/3+7)
	return [][]float32{l, r}
}

// mixes are stereo files at all usual rates and depths, the band's rough mix,
// two that hurt, and one for five loudspeakers.
func mixes(t *testing.T) []file {
	return set(t, "mixes", func(write func(string, sound.Format, [][]float32)) {
		for i, f := range []sound.Format{wavOf(44100, 16), wavOf(44100, 24), wavOf(48000, 32), wavOf(48000, 24), wavOf(88200, 24), wavOf(96000, 32), wavOf(96000, 16), wavOf(192000, 24)} {
			write(fmt.Sprintf("mix, %s", formatName(f)), f, mix(f.RateHz, uint64(10+2*i)))
		}
		s, err := band.NewSession(band.Options{DurationS: 12})
		if err != nil {
			t.Fatal(err)
		}
		rough := make([][]float32, 2)
		err = band.RoughMix(context.Background(), s, func(b *sound.Block) error {
			for c := range rough {
				rough[c] = append(rough[c], b.Channels[c]...)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		write("rough mix of the band, 48 kHz / 24 bit", wavOf(48000, 24), rough)
		for c := range rough {
			rough[c] = signal.Gain(rough[c], 14)
			signal.Clip(rough[c], 1)
		}
		write("rough mix of the band 14 dB into the rails, 48 kHz / 24 bit", wavOf(48000, 24), rough)
		for _, rate := range []int{48000, 96000} {
			var x [][]float32
			for seed := range uint64(2) {
				y := signal.White(seed+40, 1, 8*rate)
				signal.Clip(y, 1)
				x = append(x, y)
			}
			write(fmt.Sprintf("clipped white noise, %s", formatName(wavOf(rate, 24))), wavOf(rate, 24), x)
		}
		a, b, c := mix(48000, 60), mix(48000, 62), mix(48000, 64)
		lfe := signal.Sine(48000, 40, signal.Amplitude(-6), len(a[0]))
		write("5.1 in the order L R C LFE Ls Rs, 48 kHz / 24 bit", wavOf(48000, 24),
			[][]float32{a[0], a[1], b[0], lfe, signal.Gain(c[0], -4), signal.Gain(c[1], -7)})
	})
}

func formatName(f sound.Format) string {
	if f.Encoding == sound.Float {
		return fmt.Sprintf("%g kHz / float", float64(f.RateHz)/1000)
	}
	return fmt.Sprintf("%g kHz / %d bit", float64(f.RateHz)/1000, f.Bits)
}

// readFile hands a file to each block by block, through the decoders.
func readFile(t *testing.T, f file, each func(*sound.Block)) {
	t.Helper()
	in, err := os.Open(f.path)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	info, err := in.Stat()
	if err != nil {
		t.Fatal(err)
	}
	r, err := soundfile.Open(in, info.Size())
	if err != nil {
		t.Fatal(err)
	}
	b := sound.NewBlock(f.format.Channels, sound.BlockFrames)
	for {
		if err := r.Read(b); err == io.EOF {
			return
		} else if err != nil {
			t.Fatal(err)
		}
		each(b)
	}
}

// ours is what the meters say of a file.
type ours struct {
	loudness *meter.Loudness
	peaks    []*meter.TruePeak
	levels   []*meter.Level
	bits     []*meter.Bits
}

func measure(t *testing.T, f file) ours {
	t.Helper()
	o := ours{loudness: meter.NewLoudness(f.format.RateHz, f.format.Channels, nil)}
	for range f.format.Channels {
		o.peaks = append(o.peaks, meter.NewTruePeak(f.format.RateHz, meter.WindowedSinc))
		o.levels = append(o.levels, meter.NewLevel(f.format.RateHz))
		o.bits = append(o.bits, meter.NewBits())
	}
	readFile(t, f, func(b *sound.Block) {
		o.loudness.Measure(b)
		for c, x := range b.Channels {
			o.peaks[c].Measure(x)
			o.levels[c].Measure(x)
			o.bits[c].Measure(x)
		}
	})
	return o
}

// rangeEachSecond is the loudness range from a short-term value each second, as
// libebur128 takes them; ours takes one each 100 ms. Programmes of 3 s that are
// heard as one give just that: each holds one short-term value.
func rangeEachSecond(hops []float64) float64 {
	var threes [][]float64
	for end := 30; end <= len(hops); end += 10 {
		threes = append(threes, hops[end-30:end])
	}
	return float64(meter.PooledRange(threes...).Or(0))
}

func decibels(linear float64) float64 { return 20 * math.Log10(linear) }
