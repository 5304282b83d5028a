// Package signal makes the sounds that tests listen to: tones, noise, impulses
// and silence, with segments and fades.
//
// Everything is exact and repeatable: the same arguments give the same samples
// on every machine (but for the last bit of math.Sin), noise comes from a seed.
// Amplitudes are linear with full scale 1; levels in dB are peak levels re full
// scale. Generators return fresh slices; methods called Fill go on where the
// last call stopped, so a long signal can be made block by block.
package signal

import "math"

// Amplitude is the linear amplitude of a peak level in dBFS: 10^(dB/20).
func Amplitude(dbfs float64) float64 { return math.Pow(10, dbfs/20) }

// Frames is the number of frames in a time, rounded to the nearest.
func Frames(rateHz int, seconds float64) int {
	return int(math.Round(float64(rateHz) * seconds))
}

// Silence is digital zero.
func Silence(frames int) []float32 { return make([]float32, frames) }

// Impulse is one sample of the given value at frame at, zero elsewhere.
// It panics when at lies outside.
func Impulse(frames, at int, value float64) []float32 {
	x := make([]float32, frames)
	x[at] = float32(value)
	return x
}
