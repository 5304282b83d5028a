package meter

import "tidemark/internal/unit"

// Band is one third-octave band.
type Band struct {
	NominalHz float64               // 25, 31.5, 40 …
	CenterHz  float64               // exact base-10 mid-band frequency, IEC 61260-1
	Level     unit.Maybe[unit.DBFS] // AES17
}

// SpectrumReading is the average third-octave spectrum of one channel, from
// 25 Hz up to the last whole band below half the sample rate, at most 20 kHz.
type SpectrumReading struct {
	Bands []Band
}
