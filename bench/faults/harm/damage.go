package harm

import (
	"fmt"
	"math"
	"math/rand/v2"

	"tidemark/bench/faults/stage"
	"tidemark/internal/model"
)

// Crackle adds bursts of impulses and steps, as a bad contact makes them: each
// begins at once and dies within a millisecond, rounded by the line's bandwidth.
//
// Strength is the impulses' height over the line's rms where they fall.
func Crackle(s *Sound, l stage.Line, r *rand.Rand) (Wound, bool) {
	w := Wound{Kind: model.KindCrackle, Unit: "dB", Strength: between(r, 6, 40), Timed: true}
	if l.Feed == stage.Digital || l.Role == "talkback" {
		return w, false
	}
	bursts := 1 + r.IntN(6)
	rate := math.Exp(between(r, math.Log(2), math.Log(200)))
	total := 0
	for range bursts {
		from, ok := s.Anywhere(r)
		if !ok {
			return w, false
		}
		to := min(from+int(between(r, 0.3, 4)*float64(s.RateHz)), len(s.X))
		level := math.Max(s.At(from), s.Floor()) * ratio(w.Strength)
		n, first := Crackles(s.X[from:to], rate, float64(s.RateHz), math.Min(level, 0.9), r)
		if n > 0 {
			total += n
			w.Starts = append(w.Starts, s.seconds(from+first))
		}
	}
	w.Variant = fmt.Sprintf("%s a second", band(rate, 5, 20, 60))
	w.Detail = fmt.Sprintf("%d impulses in %d bursts, %.0f a second", total, bursts, rate)
	w.Severe = total >= 12 && w.Strength >= 20
	return w, total > 0
}

// band names the range that x lies in.
func band(x float64, limits ...float64) string {
	low := 0.0
	for _, l := range limits {
		if x < l {
			return fmt.Sprintf("%g–%g", low, l)
		}
		low = l
	}
	return fmt.Sprintf("over %g", low)
}

// Anywhere is a frame clear of the ends.
func (s *Sound) Anywhere(r *rand.Rand) (int, bool) {
	n := len(s.X) - 8*s.RateHz
	if n <= 0 {
		return 0, false
	}
	return 2*s.RateHz + r.IntN(n), true
}

// Crackles adds impulses at random times, rate a second, of about a height, and
// returns how many and the frame of the first.
func Crackles(x []float32, rate, fs, height float64, r *rand.Rand) (n, first int) {
	pole := 1 - math.Exp(-2*math.Pi*between(r, 4000, 18000)/fs)
	for at := int(r.ExpFloat64() / rate * fs); at < len(x); at += 1 + int(r.ExpFloat64()/rate*fs) {
		if n == 0 {
			first = at
		}
		n++
		h := height * ratio(between(r, -6, 3))
		if r.IntN(2) == 0 {
			h = -h
		}
		fall := math.Exp(-1 / (between(r, 0.00003, 0.0008) * fs))
		v, y := h, 0.0
		for t := at; t < len(x) && math.Abs(v)+math.Abs(y) > 1e-6; t++ {
			y += pole * (v - y)
			x[t] += float32(y)
			v *= fall
		}
	}
	return n, first
}

// Dropout tears holes: zeros, one held value, or a block written twice.
// Strength is the length of the longest in milliseconds.
func Dropout(s *Sound, l stage.Line, r *rand.Rand) (Wound, bool) {
	w := Wound{Kind: model.KindDropout, Unit: "ms", Timed: true}
	if l.Feed == stage.Digital {
		return w, false // machines are silent at will
	}
	w.Strength = math.Exp(between(r, math.Log(1.2), math.Log(500)))
	n := int(w.Strength / 1000 * float64(s.RateHz))
	kind := r.IntN(3)
	for range 1 + r.IntN(3) {
		at, ok := s.Sounding(r, -55, 15)
		if !ok || at+n >= len(s.X) || at < n {
			return w, false
		}
		hole := s.X[at : at+n]
		switch kind {
		case 0:
			w.Variant = "zeros"
			clear(hole)
		case 1:
			w.Variant = "held value"
			for i := range hole {
				hole[i] = s.X[at-1]
			}
		default:
			w.Variant = "repeated block"
			block := []int{64, 128, 256, 512, 1024}[r.IntN(5)]
			if at+2*block >= len(s.X) {
				return w, false
			}
			w.Strength = 1000 * float64(block) / float64(s.RateHz)
			copy(s.X[at+block:at+2*block], s.X[at:at+block])
			at += block
		}
		w.Starts = append(w.Starts, s.seconds(at))
	}
	w.Severe = w.Variant != "repeated block" && w.Strength >= 2
	return w, true
}

// Clipped turns the gain up past what comes next: the converter's full scale,
// or a preamp that gives way below it, a little softly.
// Strength is how far the peak was over the limit.
func Clipped(s *Sound, l stage.Line, r *rand.Rand) (Wound, bool) {
	w := Wound{Kind: model.KindClipped, Unit: "dB over", Strength: between(r, 0.3, 12), Timed: true}
	if !l.Plays {
		return w, false
	}
	over := ratio(w.Strength)
	preamp := r.Float64() < 0.35
	limit := 1.0
	if preamp {
		limit = ratio(between(r, -12, -2))
	}
	whole := preamp || r.Float64() < 0.5
	if whole {
		scale(s.X, over*limit/s.Peak())
	} else { // one hit or word, played much harder
		at, ok := s.Sounding(r, -45, 15)
		if !ok {
			return w, false
		}
		from, to := max(at-s.RateHz/5, 0), min(at+s.RateHz/4, len(s.X))
		var peak float64
		for _, v := range s.X[from:to] {
			peak = math.Max(peak, math.Abs(float64(v)))
		}
		if peak < 0.01 {
			return w, false
		}
		Swell(s.X[from:to], over/peak, s.RateHz/50)
	}
	switch {
	case preamp:
		w.Variant = "preamp"
		knee := between(r, 0.005, 0.05)
		for i, v := range s.X {
			if a := math.Abs(float64(v)); a > limit*(1-knee) {
				w.Starts = append(w.Starts, s.seconds(i))
				// Above the knee what is left is squeezed towards the limit.
				y := limit * (1 - knee*math.Exp(-(a-limit*(1-knee))/(limit*knee)))
				s.X[i] = float32(math.Copysign(y, float64(v)))
			}
		}
	default:
		w.Variant = "converter"
		flat := 0
		for i, v := range s.X {
			if v >= 1 || v <= -1 {
				flat++
				w.Starts = append(w.Starts, s.seconds(i))
			}
			s.X[i] = max(min(v, 1), -1)
		}
		w.Severe = flat >= 8
		w.Detail = fmt.Sprintf("%d frames at full scale", flat)
	}
	w.Starts = thin(w.Starts)
	return w, len(w.Starts) > 0
}

// Swell multiplies by g, easing in and out over ramp frames.
func Swell(x []float32, g float64, ramp int) {
	for i := range x {
		e := math.Min(1, math.Min(float64(i), float64(len(x)-1-i))/float64(ramp))
		x[i] *= float32(1 + (g-1)*e)
	}
}

// thin keeps one time of each quarter second.
func thin(s []float64) []float64 {
	var out []float64
	for _, t := range s {
		if len(out) == 0 || t-out[len(out)-1] > 0.25 {
			out = append(out, t)
		}
	}
	return out
}
