package meter

import "tidemark/internal/unit"

// WeightedLevelReading is the equivalent level of one channel.
type WeightedLevelReading struct {
	Weighting  Weighting
	Level      unit.Maybe[unit.DBFS] // AES17; undefined for digital silence and for nothing
	Frames     int64
	BadSamples int64 // samples that are NaN or infinite; they count as 0
}

// WeightedLevel measures the equivalent level of one channel, weighted by
// frequency: the level of a steady 1 kHz tone of the same weighted power.
//
//	L = 10·log10(Σy²/N) + 3.0103 dB     y the weighted samples, a full-scale 1 kHz sine reads 0 dBFS
//
// It is the equivalent continuous level of IEC 61672-1 with digital full scale
// (AES17) in the place of 20 µPa: a noise floor of −90 dBFS in dB(A). Like it,
// it covers the time of the recording and no more: what the filter rings after
// the last sample is not counted. Memory does not grow.
type WeightedLevel struct {
	weighting Weighting
	filter    *WeightingFilter
	energy    float64 // Σy²
	bad       int64
	buf       [weightingGroup]float64
}

// NewWeightedLevel makes a meter for one channel, and panics where
// NewWeightingFilter does.
func NewWeightedLevel(rateHz int, w Weighting) *WeightedLevel {
	return &WeightedLevel{weighting: w, filter: NewWeightingFilter(rateHz, w)}
}

// Measure takes the next samples of the channel.
func (m *WeightedLevel) Measure(x []float32) {
	for len(x) > 0 {
		n, bad := m.filter.take(&m.buf, x)
		m.bad += int64(bad)
		// One by one, so that the cut into blocks cannot change a bit.
		for _, y := range m.buf[:n] {
			m.energy += y * y
		}
		x = x[n:]
	}
}

// Reading is the level so far.
func (m *WeightedLevel) Reading() WeightedLevelReading {
	r := WeightedLevelReading{Weighting: m.weighting, Frames: m.filter.frames, BadSamples: m.bad}
	if r.Frames > 0 {
		r.Level = unit.MeanSquare(m.energy / float64(r.Frames))
	}
	return r
}
