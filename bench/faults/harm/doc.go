// Package harm does to recordings what cables, converters and people do to them,
// and remembers what it did: which lines, when, how strongly, and whether an
// engineer would stop the session for it.
//
// A wound to sound works on the samples of one line. A wound to a folder works
// on files. Each kind draws its strength at random over a range that reaches
// from what nobody would hear to what nobody would miss.
package harm

import (
	"math"
	"math/rand/v2"
	"slices"

	"tidemark/internal/model"
)

// Wound is one fault that was put into a session, the truth to score against.
type Wound struct {
	Kind     model.Kind `json:"kind"`
	Variant  string     `json:"variant"`
	Lines    []string   `json:"lines"` // names as findings have them; any of them is the right line
	All      bool       `json:"all"`   // the finding must name all of them
	Files    []string   `json:"files"`
	Strength float64    `json:"strength"`
	Unit     string     `json:"unit"`
	// Severe: an engineer stops the session for this one, so that the finding
	// must weigh stop. Others count as found at any weight.
	Severe bool `json:"severe"`
	// Timed faults have a place; a finding must point within half a second of
	// one of the Starts.
	Timed  bool         `json:"timed"`
	Starts []float64    `json:"starts_s"`
	Detail string       `json:"detail"`
	Accept []model.Kind `json:"accept"` // other kinds that say the same thing of this wound
}

// Sound is one line's samples with what a wound needs to know of them.
type Sound struct {
	X      []float32
	RateHz int
	hops   []float64 // rms of 100 ms
}

// Listen takes the levels of a line.
func Listen(x []float32, rateHz int) *Sound {
	s := &Sound{X: x, RateHz: rateHz}
	hop := rateHz / 10
	for at := 0; at+hop <= len(x); at += hop {
		var p float64
		for _, v := range x[at : at+hop] {
			p += float64(v) * float64(v)
		}
		s.hops = append(s.hops, math.Sqrt(p/float64(hop)))
	}
	return s
}

// Floor is the rms that a twentieth of the 100 ms hops lie below.
func (s *Sound) Floor() float64 { return s.quantile(0.05) }

// Loud is the rms that a twentieth of the hops lie above.
func (s *Sound) Loud() float64 { return s.quantile(0.95) }

func (s *Sound) quantile(q float64) float64 {
	h := append([]float64(nil), s.hops...)
	if len(h) == 0 {
		return 0
	}
	slices.Sort(h)
	return h[min(int(q*float64(len(h))), len(h)-1)]
}

// At is the rms of the hop that holds a frame.
func (s *Sound) At(frame int) float64 {
	if len(s.hops) == 0 {
		return 0
	}
	return s.hops[min(frame/(s.RateHz/10), len(s.hops)-1)]
}

// Peak is the largest absolute sample.
func (s *Sound) Peak() float64 {
	var p float32
	for _, v := range s.X {
		p = max(p, v, -v)
	}
	return float64(p)
}

// Sounding is a random frame at which the line stands over db dBFS rms and
// margin dB over its floor, clear of the ends. ok is false where there is none.
func (s *Sound) Sounding(r *rand.Rand, dbfs, marginDB float64) (int, bool) {
	limit := math.Max(ratio(dbfs), s.Floor()*ratio(marginDB))
	var at []int
	for i, h := range s.hops {
		if h > limit && i > 10 && i < len(s.hops)-10 {
			at = append(at, i)
		}
	}
	if len(at) == 0 {
		return 0, false
	}
	hop := s.RateHz / 10
	return at[r.IntN(len(at))]*hop + r.IntN(hop), true
}

func (s *Sound) seconds(frame int) float64 { return float64(frame) / float64(s.RateHz) }

func ratio(db float64) float64 { return math.Pow(10, db/20) }

func decibels(x float64) float64 { return 20 * math.Log10(math.Max(x, 1e-12)) }

func between(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
