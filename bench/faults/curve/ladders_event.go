package curve

import (
	"math"
	"math/rand/v2"
	"slices"

	"tidemark/bench/faults/harm"
	"tidemark/bench/faults/stage"
	"tidemark/internal/model"
)

// click adds one impulse of a height as a bad contact makes it: it begins at
// once and dies within a millisecond, rounded by the line's bandwidth.
func click(x []float32, at int, height, fs float64, r *rand.Rand) {
	pole := 1 - math.Exp(-2*math.Pi*(4000+14000*r.Float64())/fs)
	fall := math.Exp(-1 / ((0.00003 + 0.00077*r.Float64()) * fs))
	v, y := height, 0.0
	if r.IntN(2) == 0 {
		v = -v
	}
	for t := at; t < len(x) && math.Abs(v)+math.Abs(y) > 1e-6; t++ {
		y += pole * (v - y)
		x[t] += float32(y)
		v *= fall
	}
}

// clicks adds impulses at frames, each so far over the line's rms of its 100 ms.
func clicks(s *harm.Sound, at []int, db float64, r *rand.Rand) harm.Wound {
	slices.Sort(at)
	w := harm.Wound{Timed: true}
	for _, f := range at {
		level := math.Max(s.At(f), s.Floor()) * ratio(db)
		click(s.X, f, math.Min(level, 0.9), float64(s.RateHz), r)
		w.Starts = append(w.Starts, seconds(s, f))
	}
	return w
}

// burst is n frames within a stretch of seconds.
func burst(s *harm.Sound, n int, long float64, r *rand.Rand) []int {
	from, ok := s.Anywhere(r)
	if !ok {
		return nil
	}
	var at []int
	for range n {
		at = append(at, from+int(r.Float64()*long*float64(s.RateHz)))
	}
	return at
}

// usualHeight is the height of the clicks where their number is the strength.
const usualHeight = 26

// hole tears one hole of a length in milliseconds into sound.
func hole(held bool) OnLine {
	return func(s *harm.Sound, _ stage.Line, ms float64, r *rand.Rand) (harm.Wound, bool) {
		at, ok := s.Sounding(r, -55, 15)
		n := max(1, int(math.Round(ms/1000*float64(s.RateHz))))
		if !ok || at+n+s.RateHz/10 > len(s.X) {
			return harm.Wound{}, false
		}
		var v float32
		if held {
			v = s.X[at-1]
		}
		for i := at; i < at+n; i++ {
			s.X[i] = v
		}
		return harm.Wound{Timed: true, Starts: []float64{seconds(s, at)}}, true
	}
}

// twice writes one block of so many samples twice, in the place of what followed.
func twice(s *harm.Sound, _ stage.Line, samples float64, r *rand.Rand) (harm.Wound, bool) {
	at, ok := s.Sounding(r, -55, 15)
	n := int(samples)
	if !ok || at+2*n > len(s.X) {
		return harm.Wound{}, false
	}
	copy(s.X[at+n:at+2*n], s.X[at:at+n])
	return harm.Wound{Timed: true, Starts: []float64{seconds(s, at+n)}}, true
}

var eventLadders = []*Ladder{
	{
		Kind: model.KindCrackle, Name: "height", Unit: "dB", Fits: analogue, Stops: true,
		What:  "Forty clicks in four bursts of a second, each so far over the line's rms of the 100 ms that it falls into.",
		Steps: []float64{-30, -20, -10, 0, 6, 10, 18, 26, 35, 40},
		Line: func(s *harm.Sound, _ stage.Line, x float64, r *rand.Rand) (harm.Wound, bool) {
			var at []int
			for range 4 {
				at = append(at, burst(s, 10, 1, r)...)
			}
			return clicks(s, at, x, r), len(at) > 0
		},
	},
	{
		Kind: model.KindCrackle, Name: "number in one burst", Unit: "clicks", Log: true, Fits: analogue, Stops: true,
		What:  "So many clicks of 26 dB within a second and a half.",
		Steps: []float64{1, 2, 3, 4, 6, 8, 10, 12, 20, 40},
		Line: func(s *harm.Sound, _ stage.Line, x float64, r *rand.Rand) (harm.Wound, bool) {
			at := burst(s, int(x), 1.5, r)
			return clicks(s, at, usualHeight, r), len(at) > 0
		},
	},
	{
		Kind: model.KindCrackle, Name: "number a minute, scattered", Unit: "a minute", Log: true, Fits: analogue, Stops: true,
		What:  "Clicks of 26 dB at any time of the take.",
		Steps: []float64{2, 6, 12, 20, 30, 45, 60, 120, 240},
		Line: func(s *harm.Sound, _ stage.Line, x float64, r *rand.Rand) (harm.Wound, bool) {
			n := max(1, int(math.Round(x/60*seconds(s, len(s.X)))))
			var at []int
			for range n {
				at = append(at, s.RateHz/2+r.IntN(len(s.X)-s.RateHz))
			}
			return clicks(s, at, usualHeight, r), true
		},
	},
	{
		Kind: model.KindDropout, Name: "zeros", Unit: "ms", Log: true, Fits: analogueAndPlays, Stops: true, Line: hole(false),
		What:  "One hole of exact zeros in the midst of sound.",
		Steps: []float64{0.2, 0.8, 0.95, 1.05, 1.5, 5, 20, 100, 500, 2000},
	},
	{
		Kind: model.KindDropout, Name: "held value", Unit: "ms", Log: true, Fits: analogueAndPlays, Stops: true, Line: hole(true),
		What:  "One stretch in which the sample before is held.",
		Steps: []float64{0.2, 0.8, 0.95, 1.05, 2, 5, 20, 100},
	},
	{
		Kind: model.KindDropout, Name: "block written twice, usual lengths", Unit: "samples", Log: true, Fits: analogueAndPlays, Line: twice,
		What:  "One buffer of a usual length is written again in the place of the next one.",
		Steps: []float64{16, 32, 64, 128, 256, 512, 1024, 2048, 4096},
	},
	{
		Kind: model.KindDropout, Name: "block written twice, odd lengths", Unit: "samples", Log: true, Fits: analogueAndPlays, Line: twice,
		What:  "The same with lengths that no buffer usually has.",
		Steps: []float64{100, 300, 700, 1500},
	},
}

var clippedLadders = []*Ladder{
	{
		Kind: model.KindClipped, Name: "converter, decibels", Unit: "dB over", Fits: plays, Stops: true,
		What:  "The whole line is turned up until its peak would lie so far over full scale.",
		Steps: []float64{-1, -0.1, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 3, 6},
		Line: func(s *harm.Sound, l stage.Line, x float64, r *rand.Rand) (harm.Wound, bool) {
			w, ok := peaks(s, l, x, r)
			return full(s, w), ok
		},
	},
	{
		Kind: model.KindClipped, Name: "converter, samples", Unit: "samples", Log: true, Fits: plays, Stops: true,
		What:  "The whole line is turned up until exactly so many of its samples, wherever they lie, are at full scale.",
		Steps: []float64{1, 2, 3, 4, 6, 8, 10, 15, 20, 50, 100, 300},
		Line: func(s *harm.Sound, _ stage.Line, x float64, _ *rand.Rand) (harm.Wound, bool) {
			n := int(x)
			v := largest(s.X, n)
			if v == 0 {
				return harm.Wound{}, false
			}
			scale(s.X, 1.0000002/float64(v))
			return full(s, harm.Wound{}), true
		},
	},
	{
		Kind: model.KindClipped, Name: "flat tops at -6 dBFS, digital", Unit: "dB over", Log: true, Fits: plays,
		What:  "Something digital before the recorder clipped and was turned down: hard flat tops at -6 dBFS, with the peak so far over.",
		Steps: []float64{0.05, 0.2, 0.5, 1, 2, 3, 6, 9},
		Line: func(s *harm.Sound, l stage.Line, x float64, r *rand.Rand) (harm.Wound, bool) {
			w, ok := peaks(s, l, x, r)
			w = full(s, w)
			for i, v := range s.X {
				s.X[i] = 0.5 * max(min(v, 1), -1)
			}
			return w, ok
		},
	},
	{
		Kind: model.KindClipped, Name: "flat tops at -6 dBFS, preamp", Unit: "dB over", Log: true, Fits: analogueAndPlays,
		What:  "A preamp gives way at -6 dBFS, with a knee of 2 % and noise of -90 dBFS behind it.",
		Steps: []float64{0.1, 0.5, 1, 2, 3, 4, 6, 9, 12},
		Line: func(s *harm.Sound, l stage.Line, x float64, r *rand.Rand) (harm.Wound, bool) {
			w, ok := peaks(s, l, x, r)
			w = full(s, w)
			const limit, knee = 0.5, 0.02
			for i, v := range s.X {
				a := limit * math.Abs(float64(v))
				if from := limit * (1 - knee); a > from {
					a = limit * (1 - knee*math.Exp(-(a-from)/(limit*knee)))
				}
				s.X[i] = float32(math.Copysign(a, float64(v)))
			}
			harm.Hiss(s.X, -90, 0, r)
			return w, ok
		},
	},
}

// full gives a wound the places at which the samples lie at full scale or over.
func full(s *harm.Sound, w harm.Wound) harm.Wound {
	w.Timed = true
	for i, v := range s.X {
		if at := seconds(s, i); (v >= 1 || v <= -1) && (len(w.Starts) == 0 || at-w.Starts[len(w.Starts)-1] > 0.1) {
			w.Starts = append(w.Starts, at)
		}
	}
	w.Timed = len(w.Starts) > 0 // under full scale there is no place: any finding counts
	return w
}

// largest is the n-th largest absolute sample.
func largest(x []float32, n int) float32 {
	top := make([]float32, 0, n+1) // falling
	for _, v := range x {
		v = max(v, -v)
		if len(top) == n && v <= top[n-1] {
			continue
		}
		i, _ := slices.BinarySearchFunc(top, v, func(a, b float32) int {
			switch {
			case a > b:
				return -1
			case a < b:
				return 1
			}
			return 0
		})
		top = slices.Insert(top, i, v)
		top = top[:min(n, len(top))]
	}
	if len(top) < n {
		return 0
	}
	return top[n-1]
}
