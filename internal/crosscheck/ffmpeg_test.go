package crosscheck

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"tidemark/internal/unit"
)

// ffmpeg's ebur128 filter through its metadata: three decimals each 100 ms. It
// looks at momentary loudness at those times alone, keeps gating blocks in a
// histogram of 0.01 LU that it reads at its floor, and interpolates by
// resampling to 192 kHz.
func TestLoudnessAgainstFFmpeg(t *testing.T) {
	ffmpeg := find(t, "ffmpeg")
	source := ffmpeg.Version + " ebur128"
	for _, f := range mixes(t) {
		t.Run(f.name, func(t *testing.T) {
			t.Parallel()
			out, err := ffmpeg.Output(false, "-hide_banner", "-nostats", "-i", f.path,
				"-af", "ebur128=peak=true:metadata=1,ametadata=print:file=-", "-f", "null", "-")
			if err != nil {
				t.Fatal(err)
			}
			last, most := map[string]float64{}, map[string]float64{}
			for _, m := range metadata.FindAllStringSubmatch(string(out), -1) {
				v, err := strconv.ParseFloat(m[2], 64)
				if err != nil || math.IsNaN(v) {
					continue
				}
				last[m[1]] = v
				if old, ok := most[m[1]]; !ok || v > old {
					most[m[1]] = v
				}
			}
			got := measure(t, f)
			hops := got.loudness.ProgrammeHops()
			r := got.loudness.Reading()
			row(t, source, f.name+": integrated, read from a histogram", "LUFS", last["I"], float64(r.Integrated.Or(0)), 0.01+atTheGate(hops), 2)
			row(t, source, f.name+": largest short-term", "LUFS", most["S"], float64(r.MaxShortTerm.Or(0)), 0.001, 3)
			row(t, source, f.name+": largest momentary at whole 100 ms", "LUFS", most["M"], momentaryEach100ms(hops), 0.001, 3)
			row(t, source, f.name+": range, with its percentiles from a histogram", "LU", last["LRA"], rangeByCount(hops), 0.021, 2)
			if d := math.Abs(float64(r.Range.Or(0)) - last["LRA"]); d > 0.5 {
				t.Errorf("range by the percentiles of Tech 3342: got %v, ffmpeg's %.3f", r.Range, last["LRA"])
			}
			if strings.HasPrefix(f.name, "clipped") {
				// Full of sound at half the rate, where interpolators differ by more than
				// a dB: 4 times with 49 taps reads 5.2, this 6.4, the endless sinc 7.5 dBTP.
				return
			}
			for c := range got.peaks {
				want, ok := last[fmt.Sprintf("true_peaks_ch%d", c)]
				if !ok {
					t.Fatalf("ffmpeg printed no true peak of channel %d", c+1)
				}
				row(t, source, fmt.Sprintf("%s: true peak of channel %d, by resampling", f.name, c+1), "dBTP", decibels(want), float64(got.peaks[c].Reading().Max.Or(0)), 0.15, 2)
			}
		})
	}
}

var metadata = regexp.MustCompile(`(?m)^lavfi\.r128\.(\w+)=(\S+)$`)

// loudnessOf is the loudness of a power, BS.1770.
func loudnessOf(power float64) float64 { return -0.691 + 10*math.Log10(power) }

func mean(x []float64) float64 {
	var sum float64
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// atTheGate is how far the blocks that lie within two steps of the histogram of
// the relative gate can move the integrated loudness: it may take them or not.
func atTheGate(hops []float64) float64 {
	var powers []float64
	for i := 4; i <= len(hops); i++ {
		if p := mean(hops[i-4 : i]); loudnessOf(p) > -70 {
			powers = append(powers, p)
		}
	}
	gate := loudnessOf(mean(powers)) - 10
	var above, near float64
	for _, p := range powers {
		switch d := loudnessOf(p) - gate; {
		case math.Abs(d) < 0.02:
			near++
		case d > 0:
			above++
		}
	}
	return math.Ceil(1000*10*math.Log10((above+near)/above)) / 1000
}

func momentaryEach100ms(hops []float64) float64 {
	var top float64
	for i := 4; i <= len(hops); i++ {
		top = max(top, mean(hops[i-4:i]))
	}
	return loudnessOf(top)
}

// rangeByCount is the loudness range as ffmpeg counts it: the first value with
// at least n·0.10 values up to it, and the last with fewer than n·0.95 below, both counts rounded.
func rangeByCount(hops []float64) float64 {
	var powers []float64
	for i := 30; i <= len(hops); i++ {
		powers = append(powers, mean(hops[i-30:i]))
	}
	slices.Sort(powers)
	above := func(limit float64) []float64 {
		i, _ := slices.BinarySearch(powers, limit)
		return powers[i:]
	}
	powers = above(unit.PowerRatio(unit.LU(-70 + 0.691)))
	powers = above(mean(powers) / 100)
	n := float64(len(powers))
	return 10 * math.Log10(powers[int(n*0.95+0.5)-1]/powers[int(n*0.10+0.5)-1])
}
