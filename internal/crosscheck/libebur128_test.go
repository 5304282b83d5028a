package crosscheck

import (
	"fmt"
	"math"
	"sync"
	"testing"
)

// libebur128 shares our filters (the K weighting of BS.1770 at any rate, the
// 49-tap windowed sinc), so what is left is rounding: its true peaks are summed
// in float64, ours in float32.
const tolerance = 0.0001

func TestAgainstLibebur128(t *testing.T) {
	e := ebur128(t)
	var mu sync.Mutex
	worst := map[string]float64{}
	t.Cleanup(func() { t.Logf("largest differences, by unit: %v", worst) })
	for _, f := range append(lines(t), mixes(t)...) {
		t.Run(f.name, func(t *testing.T) {
			t.Parallel()
			want, err := e.Measure(f.path, 10)
			if err != nil {
				t.Fatal(err)
			}
			got := measure(t, f)
			compare := func(what, unit string, expected, measured float64) {
				t.Helper()
				row(t, e.Version, f.name+": "+what, unit, expected, measured, tolerance, 4)
				mu.Lock()
				defer mu.Unlock()
				worst[unit] = max(worst[unit], math.Abs(expected-measured))
			}
			r := got.loudness.Reading()
			if l, ok := r.Integrated.Get(); ok != !math.IsInf(want.Integrated, -1) {
				t.Errorf("integrated loudness: got %v (defined: %v), want %v", l, ok, want.Integrated)
			} else if ok {
				compare("integrated", "LUFS", want.Integrated, float64(l))
				compare("range, a value each second", "LU", want.Range, rangeEachSecond(got.loudness.ProgrammeHops()))
			}
			if l, ok := r.MaxMomentary.Get(); ok {
				compare("largest momentary", "LUFS", want.Momentary, float64(l))
			}
			if l, ok := r.MaxShortTerm.Get(); ok {
				compare("largest short-term", "LUFS", want.ShortTerm, float64(l))
			}
			for c := range got.peaks {
				channel := ""
				if len(got.peaks) > 1 {
					channel = fmt.Sprintf(" of channel %d", c+1)
				}
				sample := got.levels[c].Reading().Peak
				if sample == 0 {
					if want.SamplePeaks[c] != 0 {
						t.Errorf("sample peak%s: got silence, want %v", channel, want.SamplePeaks[c])
					}
					continue
				}
				compare("sample peak"+channel, "dBFS", decibels(want.SamplePeaks[c]), decibels(sample))
				compare("true peak"+channel, "dBTP", decibels(want.TruePeaks[c]), float64(got.peaks[c].Reading().Max.Or(0)))
			}
		})
	}
}

// Fed in pieces of 100 ms it looks at momentary loudness less often, and must
// come to the same integrated loudness and peaks.
func TestPiecesDoNotMatterToLibebur128(t *testing.T) {
	e := ebur128(t)
	f := mixes(t)[0]
	a, err := e.Measure(f.path, 10)
	if err != nil {
		t.Fatal(err)
	}
	b, err := e.Measure(f.path, 100)
	if err != nil {
		t.Fatal(err)
	}
	if a.Integrated != b.Integrated || a.Range != b.Range || a.ShortTerm != b.ShortTerm || a.TruePeaks[0] != b.TruePeaks[0] || b.Momentary > a.Momentary {
		t.Errorf("in pieces of 10 ms %+v, of 100 ms %+v", a, b)
	}
}
