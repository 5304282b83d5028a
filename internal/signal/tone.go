package signal

import "math"

// Tone is a sine that can be taken in pieces without a seam.
//
//	x[n] = amplitude · sin(2π·hz·n/rate + phase)
//
// The phase is computed from n afresh each time, so that an hour of tone is as
// pure as its first second.
type Tone struct {
	cyclesPerFrame float64
	amplitude      float64
	phase          float64 // radians
	n              int64
}

// NewTone starts a sine; phase is in radians at frame 0.
func NewTone(rateHz int, hz, amplitude, phase float64) *Tone {
	return &Tone{hz / float64(rateHz), amplitude, phase, 0}
}

// Fill writes the next len(dst) samples.
func (t *Tone) Fill(dst []float32) {
	for i := range dst {
		dst[i] = float32(t.amplitude * t.next())
	}
}

// next is the next sample of the sine at amplitude 1.
func (t *Tone) next() float64 {
	cycles := t.cyclesPerFrame * float64(t.n)
	t.n++
	// Only the part of a cycle counts: Sin is exact for small arguments.
	return math.Sin(2*math.Pi*(cycles-math.Floor(cycles)) + t.phase)
}

// Sine is a tone of so many frames, starting at phase 0.
func Sine(rateHz int, hz, amplitude float64, frames int) []float32 {
	x := make([]float32, frames)
	NewTone(rateHz, hz, amplitude, 0).Fill(x)
	return x
}

// Segment is a stretch of a stepped tone.
type Segment struct {
	DBFS    float64 // peak level; math.Inf(-1) is silence
	Seconds float64
}

// Steps is one tone whose level jumps from segment to segment while its phase
// runs on. Segment ends are rounded to frames as times from the start, so
// roundings do not add up.
func Steps(rateHz int, hz float64, segments ...Segment) []float32 {
	var total float64
	for _, s := range segments {
		total += s.Seconds
	}
	x := make([]float32, Frames(rateHz, total))
	t := NewTone(rateHz, hz, 1, 0)
	var at float64
	n := 0
	for _, s := range segments {
		at += s.Seconds
		a := Amplitude(s.DBFS)
		for end := min(Frames(rateHz, at), len(x)); n < end; n++ {
			x[n] = float32(a * t.next())
		}
	}
	return x
}
