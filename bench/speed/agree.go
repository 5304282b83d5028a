package main

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"

	"tidemark/bench/reference"
)

// agreement is part f.
func agreement(b *bench) error {
	b.title("f. Agreement")
	s, err := makeSession(b.folder, 24, scaled(240), 96000)
	if err != nil {
		return err
	}
	files := s.files
	for _, f := range []struct {
		kind    string
		rate    int
		seconds float64
	}{{"mix", 48000, 600}, {"mix", 96000, 600}, {"clipped white noise", 48000, 300}} {
		path, err := b.stereo(f.kind, f.rate, scaled(f.seconds))
		if err != nil {
			return err
		}
		files = append(files, path)
	}
	b.say("Largest differences from %s on %d files, the range from a value each second:\n", b.eb.Version, len(files))
	b.say("| build | integrated LU | range LU | sample peak dB | true peak dB | goal |\n|---|---|---|---|---|---|")
	worst := make([][4]float64, len(b.builds))
	for _, f := range files {
		want, err := b.eb.Measure(f, 0)
		if err != nil {
			return err
		}
		for i, p := range b.builds {
			got, err := reference.Ask(p.ltp, "-second", f)
			if err != nil {
				return err
			}
			w := &worst[i]
			w[0] = max(w[0], math.Abs(got.Integrated-want.Integrated))
			w[1] = max(w[1], math.Abs(got.Range-want.Range))
			for c := range want.TruePeaks {
				w[2] = max(w[2], math.Abs(20*math.Log10(got.SamplePeaks[c]/want.SamplePeaks[c])))
				w[3] = max(w[3], math.Abs(20*math.Log10(got.TruePeaks[c]/want.TruePeaks[c])))
			}
		}
	}
	for i, p := range b.builds {
		w := worst[i]
		b.say("| %s | %.2g | %.2g | %.2g | %.2g | %s |", p.name, w[0], w[1], w[2], w[3], atMost(0.0001).judge(max(w[0], w[1], w[2], w[3])))
	}
	b.say("")

	var first []byte
	same := true
	for _, p := range b.builds {
		for _, n := range []int{1, 2, 8} {
			out, err := exec.Command(p.tidemark, "check", "--json", "--workers", fmt.Sprint(n), s.folder).Output()
			if len(out) == 0 {
				return fmt.Errorf("check printed nothing: %w", err)
			}
			if first == nil {
				first = out
			} else if !bytes.Equal(first, out) {
				same = false
				fmt.Fprintf(os.Stderr, "%s with %d workers differs\n", p.name, n)
			}
		}
	}
	answer := "the same bytes: met"
	if !same {
		answer = "**not** the same bytes"
	}
	b.say("`check --json` of the session with 1, 2 and 8 workers, %d builds: %s.\n", len(b.builds), answer)
	return nil
}
