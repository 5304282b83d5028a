package crosscheck

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"tidemark/internal/meter"
	"tidemark/internal/signal"
	"tidemark/internal/sound"
)

// levelled are stereo files for the plain figures: 16 bits in a file of 24, an
// offset, samples at full scale, and mixes of other formats.
func levelled(t *testing.T) []file {
	files := set(t, "levels", func(write func(string, sound.Format, [][]float32)) {
		f := wavOf(48000, 24)
		notes := [][]float32{hits(48000, 300), hits(48000, 1700)}
		write("hits, 48 kHz / 24 bit", f, notes)
		write("16 bits in a file of 24, 48 kHz", f, [][]float32{signal.Quantize(notes[0], 16), signal.Quantize(signal.Gain(notes[1], -20), 16)})
		shifted := mix(48000, 30)
		for i := range shifted[0] {
			shifted[0][i] = shifted[0][i]/4 + 1.0/64
		}
		write("an offset in the left channel, 48 kHz / 24 bit", f, shifted)
		// Equal rails on both sides, which the reference counts as peaks.
		full := mix(48000, 32)
		for c := range full {
			full[c] = signal.Gain(full[c], 15)
			signal.Clip(full[c], 1-1.0/(1<<23))
		}
		write("clipped at full scale, 48 kHz / 24 bit", f, full)
	})
	return append(files, mixes(t)[:8]...)
}

// sox stats, which prints two decimals, and six of the offset.
func TestLevelsAgainstSox(t *testing.T) {
	sox := find(t, "sox")
	for _, f := range levelled(t) {
		t.Run(f.name, func(t *testing.T) {
			t.Parallel()
			out, err := sox.Output(true, f.path, "-n", "stats")
			if err != nil {
				t.Fatal(err)
			}
			got := measure(t, f)
			for c := range got.levels {
				field := func(label string) string {
					for line := range strings.Lines(string(out)) {
						if rest, ok := strings.CutPrefix(line, label); ok {
							if f := strings.Fields(rest); len(f) == 1+len(got.levels) { // all, left, right
								return f[1+c]
							}
						}
					}
					t.Fatalf("sox printed no %q: %s", label, out)
					return ""
				}
				compareLevels(t, sox.Version+" stats", f, c, got, levelFields{
					dc: field("DC offset"), peak: field("Pk lev dB"), rms: field("RMS lev dB"), crest: field("Crest factor"),
					// It prints the bits from the peak down, then those from full scale down.
					bits: strings.Split(field("Bit-depth"), "/")[1],
				}, 0.006)
			}
		})
	}
}

// ffmpeg's astats, which prints six decimals. It divides 16-bit sound by 32767
// instead of 32768 (0.0003 dB), so integers are handed to it as 32 bits.
func TestLevelsAgainstFFmpeg(t *testing.T) {
	ffmpeg := find(t, "ffmpeg")
	for _, f := range levelled(t) {
		t.Run(f.name, func(t *testing.T) {
			t.Parallel()
			chain := "astats"
			if f.format.Encoding == sound.Integer {
				chain = "aformat=sample_fmts=s32,astats"
			}
			out, err := ffmpeg.Output(true, "-hide_banner", "-nostats", "-i", f.path, "-af", chain, "-f", "null", "-")
			if err != nil {
				t.Fatal(err)
			}
			got := measure(t, f)
			parts := strings.Split(string(out), "Channel: ")
			if len(parts) != 1+len(got.levels) {
				t.Fatalf("ffmpeg printed %d channels, want %d: %s", len(parts)-1, len(got.levels), out)
			}
			for c := range got.levels {
				field := func(label string) string {
					m := regexp.MustCompile(regexp.QuoteMeta(label) + `: (\S+)`).FindStringSubmatch(parts[1+c])
					if m == nil {
						t.Fatalf("ffmpeg printed no %q: %s", label, parts[1+c])
					}
					return m[1]
				}
				fields := levelFields{dc: field("DC offset"), peak: field("Peak level dB"), rms: field("RMS level dB"), crest: field("Crest factor"),
					bits: strings.Split(field("Bit depth"), "/")[0]}
				if strings.HasPrefix(f.name, "clipped at full scale") {
					fields.atPeak = field("Peak count")
				}
				compareLevels(t, ffmpeg.Version+" astats", f, c, got, fields, 0.0001)
			}
		})
	}
}

// levelFields are what a program prints of one channel.
type levelFields struct{ dc, peak, rms, crest, bits, atPeak string }

func compareLevels(t *testing.T, source string, f file, c int, got ours, want levelFields, tolerance float64) {
	t.Helper()
	name := fmt.Sprintf("%s: channel %d ", f.name, c+1)
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatalf("%s: %v", source, err)
		}
		return v
	}
	r := got.levels[c].Reading()
	digits := 4
	if tolerance > 0.001 {
		digits = 2
	}
	row(t, source, name+"DC offset", "of full scale", number(want.dc), r.DC, 1e-6, 6)
	row(t, source, name+"sample peak", "dBFS", number(want.peak), decibels(r.Peak), tolerance, digits)
	// Both leave away the 3.01 dB of AES17.
	row(t, source, name+"RMS less 3.01 dB", "dBFS", number(want.rms), 10*math.Log10(r.MeanSquare), tolerance, digits)
	crest := float64(meter.CrestDB(r).Or(0))
	if digits == 2 { // it prints a ratio of two decimals, which is coarser than two decimals of a dB
		row(t, source, name+"crest", "", number(want.crest), math.Pow(10, crest/20), 0.006, 2)
	} else {
		row(t, source, name+"crest", "dB", decibels(number(want.crest)), crest, tolerance, digits)
	}
	if f.format.Encoding == sound.Integer {
		row(t, source, name+"bits used", "bits", number(want.bits), float64(got.bits[c].Reading().Used), 0, 0)
	}
	if want.atPeak != "" {
		m := meter.NewClipping(f.format.RateHz, float32(1-1.0/(1<<23)))
		readFile(t, f, func(b *sound.Block) { m.Measure(b.Channels[c]) })
		row(t, source, name+"samples at full scale", "", number(want.atPeak), float64(m.Reading().AtFull), 0, 0)
	}
}
