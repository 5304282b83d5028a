package acoustics

import (
	"math"

	"tidemark/internal/unit"
)

// Metres in the units of tapes, exact by definition.
const (
	Foot       unit.Metres = 0.3048
	Inch       unit.Metres = 0.0254
	Centimetre unit.Metres = 0.01
)

// Feet, Inches and Centimetres are a distance in those units.
func Feet(d unit.Metres) float64        { return float64(d / Foot) }
func Inches(d unit.Metres) float64      { return float64(d / Inch) }
func Centimetres(d unit.Metres) float64 { return float64(d / Centimetre) }

// FeetInches splits a distance into whole feet and inches; both carry the sign of d.
func FeetInches(d unit.Metres) (feet, inches float64) {
	feet = math.Trunc(float64(d / Foot))
	return feet, float64((d - unit.Metres(feet)*Foot) / Inch)
}

// DelayOver is how long sound takes over a distance at a speed of c m/s.
func DelayOver(d unit.Metres, c float64) unit.Seconds { return unit.Seconds(float64(d) / c) }

// DistanceOf is how far sound comes in a time at a speed of c m/s; negative for a negative time.
func DistanceOf(t unit.Seconds, c float64) unit.Metres { return unit.Metres(float64(t) * c) }

// SamplesOver is DelayOver in samples of a rate in Hz, with their fraction.
func SamplesOver(d unit.Metres, c float64, rateHz int) float64 {
	return float64(d) / c * float64(rateHz)
}

// DistanceOfSamples is how far sound comes in a number of samples.
func DistanceOfSamples(samples float64, rateHz int, c float64) unit.Metres {
	return unit.Metres(samples / float64(rateHz) * c)
}

// LevelOver is the level at distance far re that at distance near, of a small
// source in the open: −20·log10(far/near), 6.02 dB less for each doubling.
// Undefined where either distance is not positive.
func LevelOver(near, far unit.Metres) unit.Maybe[unit.DB] {
	if !(near > 0) || !(far > 0) {
		return unit.None[unit.DB]()
	}
	return unit.Amplitude[unit.DB](float64(near / far))
}

// FloorBounce is the way from a source to a microphone by the floor: straight
// to the mirror image of the microphone below it. apart is measured along the floor.
func FloorBounce(sourceHeight, micHeight, apart unit.Metres) (direct, byFloor unit.Metres) {
	up := float64(sourceHeight - micHeight)
	both := float64(sourceHeight + micHeight)
	return unit.Metres(math.Hypot(float64(apart), up)), unit.Metres(math.Hypot(float64(apart), both))
}
