// Package unit holds the units that Tidemark measures in, and the one way to
// say that a measure does not exist.
//
// Levels are logarithmic and carry their reference in the type: DBFS is a
// level re digital full scale, DBTP a true-peak level, LUFS a loudness, DB and
// LU are differences. Two conventions meet under "dBFS", so the whole program
// keeps to these:
//
//   - a peak level is 20·log10 of the largest absolute sample, full scale = 1;
//   - an RMS level follows AES17: the RMS of a full-scale sine is 0 dBFS, so a
//     level is 20·log10(rms) + 3.0103 dB. A square wave of full scale reads +3.01.
//
// Crest stays what it is everywhere, peak over RMS: 3.01 dB for a sine.
package unit

import (
	"encoding/json"
	"math"
)

type (
	// DB is a difference of levels in decibels.
	DB float64
	// DBFS is a level re digital full scale (see the package comment).
	DBFS float64
	// DBTP is a true-peak level re full scale, ITU-R BS.1770 Annex 2.
	DBTP float64
	// LUFS is a loudness re full scale, ITU-R BS.1770; the same as LKFS.
	LUFS float64
	// LU is a difference of loudnesses; 1 LU = 1 dB.
	LU float64
	// Hertz is a frequency.
	Hertz float64
	// Seconds is a time or a duration.
	Seconds float64
	// Metres is a distance.
	Metres float64
	// Frames counts frames: one frame is one sample per channel.
	Frames = int64
)

// SineOffsetDB is what AES17 adds to a mathematical RMS level (re 1.0) so that
// a full-scale sine reads 0 dBFS: 10·log10(2).
const SineOffsetDB = 3.010299956639812

// Maybe is a value that may be undefined: the level of digital silence, the
// correlation with a silent channel. It is null in JSON, never −Inf or NaN.
type Maybe[T any] struct {
	value T
	ok    bool
}

// Some is a defined value.
func Some[T any](v T) Maybe[T] { return Maybe[T]{v, true} }

// None is the undefined value.
func None[T any]() Maybe[T] { return Maybe[T]{} }

// Get returns the value and whether it is defined.
func (m Maybe[T]) Get() (T, bool) { return m.value, m.ok }

// Defined says whether there is a value.
func (m Maybe[T]) Defined() bool { return m.ok }

// Or returns the value, or other where it is undefined.
func (m Maybe[T]) Or(other T) T {
	if m.ok {
		return m.value
	}
	return other
}

// MarshalJSON writes the value, or null.
func (m Maybe[T]) MarshalJSON() ([]byte, error) {
	if !m.ok {
		return []byte("null"), nil
	}
	return json.Marshal(m.value)
}

// UnmarshalJSON reads a value, or null as undefined.
func (m *Maybe[T]) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*m = Maybe[T]{}
		return nil
	}
	var v T
	if err := json.Unmarshal(b, &v); err != nil {
		return err
	}
	*m = Some(v)
	return nil
}

// Amplitude returns 20·log10(a) for a linear amplitude re full scale;
// undefined for a ≤ 0.
func Amplitude[T ~float64](a float64) Maybe[T] {
	if !(a > 0) || math.IsInf(a, 0) {
		return None[T]()
	}
	return Some(T(20 * math.Log10(a)))
}

// MeanSquare returns the AES17 RMS level 10·log10(p) + 3.0103 of a mean square
// p re full scale squared; undefined for p ≤ 0.
func MeanSquare(p float64) Maybe[DBFS] {
	if !(p > 0) || math.IsInf(p, 0) {
		return None[DBFS]()
	}
	return Some(DBFS(10*math.Log10(p) + SineOffsetDB))
}

// Power returns 10·log10(p) for a ratio of powers; undefined for p ≤ 0.
func Power[T ~float64](p float64) Maybe[T] {
	if !(p > 0) || math.IsInf(p, 0) {
		return None[T]()
	}
	return Some(T(10 * math.Log10(p)))
}

// Ratio is the linear amplitude ratio of x dB: 10^(x/20).
func Ratio[T ~float64](x T) float64 { return math.Pow(10, float64(x)/20) }

// PowerRatio is the linear power ratio of x dB: 10^(x/10).
func PowerRatio[T ~float64](x T) float64 { return math.Pow(10, float64(x)/10) }
