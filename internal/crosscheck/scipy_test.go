package crosscheck

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os/exec"
	"strings"
	"testing"

	"tidemark/internal/sound"
)

// Numerical Python has no word on loudness: testdata/wave.py writes BS.1770
// down anew, with the coefficients as printed, and sees between the samples as
// well as can be seen: 16 places a frame, by a sinc without a window. Two places a
// frame, as from 96 kHz on, and sound that jumps (at the rails) leave up to 0.2 dB unseen.
func TestAgainstScipy(t *testing.T) {
	python := find(t, "python3")
	for _, f := range []file{mixes(t)[0], mixes(t)[3], mixes(t)[4], mixes(t)[5], mixes(t)[8], mixes(t)[9], mixes(t)[12], lines(t)[0], lines(t)[3], lines(t)[19]} {
		t.Run(f.name, func(t *testing.T) {
			t.Parallel()
			var raw []byte
			readFile(t, f, func(b *sound.Block) {
				for i := range b.Frames() {
					for _, x := range b.Channels {
						raw = binary.LittleEndian.AppendUint32(raw, math.Float32bits(x[i]))
					}
				}
			})
			c := exec.Command(python.Path, testdata("wave.py"), fmt.Sprint(f.format.RateHz), fmt.Sprint(f.format.Channels))
			c.Stdin = bytes.NewReader(raw)
			var says bytes.Buffer
			c.Stderr = &says
			out, err := c.Output()
			if err != nil {
				t.Fatalf("%v: %s", err, &says)
			}
			got := measure(t, f)
			seen := 0
			for line := range strings.Lines(string(out)) {
				var name string
				var v float64
				if _, err := fmt.Sscan(line, &name, &v); err != nil {
					t.Fatalf("%q: %v", line, err)
				}
				seen++
				if name == "integrated" {
					row(t, python.Version, f.name+": integrated, by the coefficients as printed", "LUFS", v, float64(got.loudness.Reading().Integrated.Or(0)), tolerance, 4)
					continue
				}
				var channel int
				if _, err := fmt.Sscanf(name, "true-peak-%d", &channel); err != nil {
					t.Fatalf("%q: %v", line, err)
				}
				within := 0.1
				if f.format.RateHz >= 96000 || strings.Contains(f.name, "rails") {
					within = 0.25
				}
				peak := float64(got.peaks[channel].Reading().Max.Or(0))
				t.Logf("channel %d: ours %+.3f dB", channel+1, peak-decibels(v))
				row(t, python.Version, fmt.Sprintf("%s: true peak of channel %d, 16 places a frame", f.name, channel+1), "dBTP", decibels(v), peak, within, 2)
			}
			if seen < f.format.Channels {
				t.Errorf("scipy printed %d values of %d channels", seen, f.format.Channels)
			}
		})
	}
}
