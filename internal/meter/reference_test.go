package meter

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"tidemark/internal/signal"
)

// Cross-checks against general-purpose programs, where they are installed. The
// tolerances were set with ffmpeg 5.1.9 and sox 14.4.2.

// referenceSounds are stereo sounds of 24 bits, with steps in level.
func referenceSounds(rate int) map[string][2][]float32 {
	steps := func(seed uint64, db ...float64) []float32 {
		var x []float32
		noise := signal.NewNoise(seed)
		for _, l := range db {
			y := make([]float32, 3*rate)
			noise.FillPink(y, signal.Amplitude(l))
			x = append(x, y...)
		}
		signal.Clip(x, 0.98)
		return signal.Quantize(x, 24)
	}
	hits := func(hz float64) []float32 {
		var x []float32
		for i := range 20 {
			y := signal.Sine(rate, hz*(1+float64(i)/10), signal.Amplitude(float64(-3-i/2)), rate/2)
			signal.Decay(y, float64(rate)/12)
			x = append(x, y...)
		}
		return signal.Quantize(x, 24)
	}
	return map[string][2][]float32{
		"noise in steps": {steps(1, -30, -20, -14, -40), steps(2, -28, -22, -16, -42)},
		"hits":           {hits(300), hits(1700)},
		"clipped noise":  {steps(3, -3, -1, -9), steps(4, -1, -6, -3)},
	}
}

// writeReferenceWAV writes a 24-bit stereo WAV.
func writeReferenceWAV(t *testing.T, rate int, x [2][]float32) string {
	t.Helper()
	size := uint32(len(x[0]) * 6)
	le := binary.LittleEndian
	b := append([]byte("RIFF"), le.AppendUint32(nil, 36+size)...)
	b = append(b, "WAVEfmt "...)
	b = le.AppendUint32(b, 16)
	b = le.AppendUint16(b, 1)
	b = le.AppendUint16(b, 2)
	b = le.AppendUint32(b, uint32(rate))
	b = le.AppendUint32(b, uint32(rate*6))
	b = le.AppendUint16(b, 6)
	b = le.AppendUint16(b, 24)
	b = append(b, "data"...)
	b = le.AppendUint32(b, size)
	for i := range x[0] {
		for c := range 2 {
			v := int32(float64(x[c][i]) * (1 << 23))
			b = append(b, byte(v), byte(v>>8), byte(v>>16))
		}
	}
	path := filepath.Join(t.TempDir(), "reference.wav")
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// ffmpeg's ebur128 filter: loudness to three decimals through its metadata.
// Its true peak comes from another interpolator.
func TestAgainstFFmpeg(t *testing.T) {
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("ffmpeg is not installed")
	}
	for _, rate := range []int{44100, 48000, 96000} {
		for name, x := range referenceSounds(rate) {
			t.Run(fmt.Sprintf("%s at %d Hz", name, rate), func(t *testing.T) {
				path := writeReferenceWAV(t, rate, x)
				out, err := exec.Command("ffmpeg", "-hide_banner", "-nostats", "-i", path,
					"-af", "ebur128=peak=true:metadata=1,ametadata=print:file=-", "-f", "null", "-").Output()
				if err != nil {
					t.Fatal(err)
				}
				last, most := map[string]float64{}, map[string]float64{}
				for _, m := range regexp.MustCompile(`(?m)^lavfi\.r128\.(\w+)=(\S+)$`).FindAllStringSubmatch(string(out), -1) {
					v, err := strconv.ParseFloat(m[2], 64)
					if err != nil || math.IsNaN(v) {
						continue
					}
					last[m[1]] = v
					if old, ok := most[m[1]]; !ok || v > old {
						most[m[1]] = v
					}
				}
				r := loudnessOfSound(rate, nil, x[0], x[1]).Reading()
				compare := func(what string, got, want, tolerance float64) {
					t.Helper()
					t.Logf("%s: ours %.3f, ffmpeg %.3f", what, got, want)
					wantNear(t, what, got, want, tolerance)
				}
				// It keeps blocks in a histogram of 0.01 LU and reads them at its floor: 0.005 low.
				compare("integrated", float64(r.Integrated.Or(0)), last["I"], 0.01)
				// It takes other percentiles of the same values than the reference code of Tech 3342 does.
				compare("range", rangeByCount(loudnessOfSound(rate, nil, x[0], x[1]).ProgrammeHops()), last["LRA"], 0.02)
				wantNear(t, "our range", float64(r.Range.Or(0)), last["LRA"], 0.5)
				compare("largest short-term", float64(r.MaxShortTerm.Or(0)), most["S"], 0.01)
				// It looks each 100 ms, we look each 10 ms: ours is never below.
				if got := float64(r.MaxMomentary.Or(-99)); got < most["M"]-0.01 || got > most["M"]+0.6 {
					t.Errorf("largest momentary: got %.3f, want from %.3f to 0.6 LU above", got, most["M"])
				}
				tolerance := 0.12
				if name == "clipped noise" {
					// Full of sound at half the rate, where interpolators differ most.
					tolerance = 0.65
				}
				for c := range 2 {
					m := NewTruePeak(rate, WindowedSinc)
					m.Measure(x[c])
					db := 20 * math.Log10(last[fmt.Sprintf("true_peaks_ch%d", c)])
					compare(fmt.Sprintf("true peak of channel %d", c), float64(m.Reading().Max.Or(0)), db, tolerance)
				}
			})
		}
	}
}

// rangeByCount is the loudness range as ffmpeg counts it: the first value with
// at least n·0.10 values up to it, and the last with fewer than n·0.95 below, both counts rounded.
func rangeByCount(hops []float64) float64 {
	var powers []float64
	for i := shortTermHops; i <= len(hops); i++ {
		powers = append(powers, levelMean(hops[i-shortTermHops:i]))
	}
	slices.Sort(powers)
	powers = levelsAbove(powers, loudnessPower(gateAbsoluteLUFS))
	powers = levelsAbove(powers, levelMean(powers)/100)
	n := float64(len(powers))
	return 10 * math.Log10(powers[int(n*0.95+0.5)-1]/powers[int(n*0.10+0.5)-1])
}

// sox stats: peak, RMS (without the 3.01 dB of AES17), DC, crest and bits.
func TestAgainstSox(t *testing.T) {
	if _, err := exec.LookPath("sox"); err != nil {
		t.Skip("sox is not installed")
	}
	const rate = 48000
	sounds := referenceSounds(rate)
	sixteen := signal.Quantize(sounds["hits"][0], 16)
	sounds["16 bits in a 24-bit file"] = [2][]float32{sixteen, signal.Quantize(signal.Gain(sixteen, -20), 16)}
	shifted := signal.Quantize(signal.Gain(sounds["noise in steps"][0], -12), 24)
	for i := range shifted {
		shifted[i] += 1.0 / 64
	}
	sounds["an offset"] = [2][]float32{shifted, sounds["noise in steps"][1]}
	for name, x := range sounds {
		t.Run(name, func(t *testing.T) {
			path := writeReferenceWAV(t, rate, x)
			out, err := exec.Command("sox", path, "-n", "stats").CombinedOutput()
			if err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			for c := range 2 {
				level := measureLevel(rate, x[c])
				bits := NewBits()
				bits.Measure(x[c])
				field := func(label string) string {
					for line := range strings.Lines(string(out)) {
						if rest, ok := strings.CutPrefix(line, label); ok {
							if f := strings.Fields(rest); len(f) == 3 { // overall, left, right
								return f[1+c]
							}
						}
					}
					t.Fatalf("sox printed no %q: %s", label, out)
					return ""
				}
				number := func(label string) float64 {
					v, err := strconv.ParseFloat(field(label), 64)
					if err != nil {
						t.Fatal(err)
					}
					return v
				}
				wantNear(t, "DC", level.DC, number("DC offset"), 1e-6)
				wantNear(t, "peak", 20*math.Log10(level.Peak), number("Pk lev dB"), 0.006)
				wantNear(t, "RMS", 10*math.Log10(level.MeanSquare), number("RMS lev dB"), 0.006)
				// It prints the bits from the peak down, then those from full scale down.
				if got, want := strconv.Itoa(bits.Reading().Used), strings.Split(field("Bit-depth"), "/")[1]; got != want {
					t.Errorf("bits used: got %s, want %s", got, want)
				}
			}
		})
	}
}
