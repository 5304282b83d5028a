package desk

import (
	"context"

	"tidemark/internal/meter"
)

// FileReport is one file measured by itself. Levels are those of the whole
// file: the highest peak of its channels, the RMS over all of them, the
// loudness of the programme; Channels has each by itself.
type FileReport struct {
	File        string        `json:"file"`
	Format      Format        `json:"format"`
	Damage      []string      `json:"damage"`
	Levels      Levels        `json:"levels"`
	LoudnessAs  string        `json:"loudness_as"` // order of the channels of a surround programme; "" where all count alike
	Channels    []Levels      `json:"channels"`
	ThirdOctave [][]BandValue `json:"-"`
	Correlation number        `json:"correlation"`
	MonoLossDB  number        `json:"mono_loss_db"`
}

// Measurement is the result of measuring files, and the object tidemark.measure/1.
type Measurement struct {
	Schema     string       `json:"schema"`
	TruePeakBy string       `json:"true_peak_by"` // the interpolator
	Files      []FileReport `json:"files"`
	// Refused are the files that could not be read.
	Refused []Refused `json:"refused"`
}

// MeasureFiles measures every file of a library by itself.
func MeasureFiles(ctx context.Context, lib Library, opt meter.Options, workers int, progress func(Progress)) (Measurement, error) {
	files, err := lib.Files()
	if err != nil {
		return Measurement{}, err
	}
	measured, refused, err := measureAll(ctx, lib, files, opt, workers, newTeller(files, progress))
	if err != nil {
		return Measurement{}, err
	}
	m := Measurement{Schema: MeasureSchema, TruePeakBy: opt.Interpolator.Describe(), Files: []FileReport{}, Refused: append([]Refused{}, refused...)}
	for _, f := range measured {
		m.Files = append(m.Files, fileReport(f))
	}
	return m, nil
}

func fileReport(m Measured) FileReport {
	r := FileReport{File: m.File.Name, LoudnessAs: meter.DescribeWeights(len(m.Readings.Channels)), Damage: []string{}, Channels: []Levels{}}
	bits := 0
	for _, c := range m.Readings.Channels {
		bits = max(bits, c.Bits.Used)
		r.Channels = append(r.Channels, levelsReport(c, m.Header.Format.RateHz))
	}
	r.Format = formatReport(m.Header, m.Readings.Frames, bits)
	for _, d := range m.Damage {
		r.Damage = append(r.Damage, d.Text)
	}
	r.Levels = levelsReport(m.Readings.Together(), m.Header.Format.RateHz)
	if s, ok := m.Readings.Stereo.Get(); ok {
		r.Correlation, r.MonoLossDB = rounded(s.Correlation), rounded(s.MonoLoss)
	}
	return r
}
