// Command ltp measures loudness, range and true peak of sound files and nothing
// else, as the C program over libebur128 in bench/reference does, and prints the
// same lines: what bench/speed sets against each other.
//
//	ltp [-second] FILE...
package main

import (
	"flag"
	"fmt"
	"io"
	"math"
	"os"

	"tidemark/internal/kernel"
	"tidemark/internal/meter"
	"tidemark/internal/sound"
	"tidemark/internal/sound/soundfile"
	"tidemark/internal/unit"
)

var second = flag.Bool("second", false, "take the range from a short-term value each second, as libebur128 does, not each 100 ms")

func main() {
	flag.Parse()
	fmt.Printf("version Tidemark, %s kernels\n", kernel.Path())
	for _, path := range flag.Args() {
		if err := measure(path); err != nil {
			fmt.Fprintln(os.Stderr, "ltp:", path+":", err)
			os.Exit(1)
		}
	}
}

func measure(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	r, err := soundfile.Open(f, info.Size())
	if err != nil {
		return err
	}
	format := r.Header().Format
	loudness := meter.NewLoudness(format.RateHz, format.Channels, nil)
	var peaks []*meter.TruePeak
	sample := make([]float32, format.Channels)
	for range format.Channels {
		peaks = append(peaks, meter.NewTruePeak(format.RateHz, meter.WindowedSinc))
	}
	b := sound.NewBlock(format.Channels, sound.BlockFrames)
	for {
		if err := r.Read(b); err == io.EOF {
			break
		} else if err != nil {
			return err
		}
		loudness.Measure(b)
		for c, x := range b.Channels {
			peaks[c].Measure(x)
			sample[c] = max(sample[c], math.Float32frombits(kernel.MaxAbs(x)))
		}
	}
	reading := loudness.Reading()
	lra := reading.Range
	if *second {
		lra = rangeEachSecond(loudness.ProgrammeHops())
	}
	fmt.Printf("file %s\nintegrated %.9f\nrange %.9f\n", path, float64(reading.Integrated.Or(unit.LUFS(math.Inf(-1)))), float64(lra.Or(0)))
	for c := range peaks {
		db := float64(peaks[c].Reading().Max.Or(unit.DBTP(math.Inf(-1))))
		fmt.Printf("sample-peak-%d %.17g\ntrue-peak-%d %.17g\n", c, sample[c], c, math.Pow(10, db/20))
	}
	return nil
}

// rangeEachSecond is the range of programmes of 3 s that begin each second and
// are heard as one: each holds one short-term value.
func rangeEachSecond(hops []float64) unit.Maybe[unit.LU] {
	var threes [][]float64
	for end := 30; end <= len(hops); end += 10 {
		threes = append(threes, hops[end-30:end])
	}
	return meter.PooledRange(threes...)
}
