package harm

import (
	"fmt"
	"math"
	"math/rand/v2"

	"tidemark/bench/faults/stage"
	"tidemark/internal/model"
)

// OnLine wounds the samples of one line in place; false when the line does not
// lend itself to it.
type OnLine func(s *Sound, l stage.Line, r *rand.Rand) (Wound, bool)

// Lines holds the wounds to a single line's sound.
var Lines = map[model.Kind]OnLine{
	model.KindDead:     Dead,
	model.KindNoisy:    Noisy,
	model.KindHum:      Hum,
	model.KindCrackle:  Crackle,
	model.KindDropout:  Dropout,
	model.KindClipped:  Clipped,
	model.KindHot:      Hot,
	model.KindLow:      Low,
	model.KindDCOffset: DCOffset,
}

// hearsRoom says whether the line hears the rest of the band whatever its own
// player does.
func hearsRoom(l stage.Line) bool {
	switch l.Role {
	case "kick", "snare", "hat", "tom", "cymbals", "percussion":
		return l.Feed == stage.Air
	}
	return false
}

// Dead silences a line: digital zero, a converter's floor, nothing but hum, or
// crackle and then silence half-way.
func Dead(s *Sound, l stage.Line, r *rand.Rand) (Wound, bool) {
	w := Wound{Kind: model.KindDead}
	if l.Role == "talkback" || l.Feed == stage.Digital {
		return w, false
	}
	floor := between(r, -112, -98)
	switch v := r.IntN(4); {
	case v == 0:
		w.Variant, w.Severe, w.Strength, w.Unit = "digital zero", true, -200, "dBFS"
		clear(s.X)
	case v == 1:
		w.Variant, w.Severe, w.Strength, w.Unit = "converter floor", l.Feed == stage.Air, floor, "dBFS"
		clear(s.X)
		Hiss(s.X, floor, 0, r)
	case v == 2:
		level := between(r, -75, -45)
		w.Variant, w.Severe, w.Strength, w.Unit = "only hum", hearsRoom(l), level, "dBFS"
		w.Accept = []model.Kind{model.KindHum}
		clear(s.X)
		Hiss(s.X, between(r, -100, -88), 0, r)
		stage.AddHum(s.X, mains(r), level, 2+r.IntN(6), float64(s.RateHz), r)
	default:
		if !l.Plays {
			return w, false
		}
		at := int(between(r, 0.25, 0.75) * float64(len(s.X)))
		before := max(at-int(between(r, 0.2, 4)*float64(s.RateHz)), 0)
		zero := r.Float64() < 0.4
		w.Variant, w.Timed, w.Unit, w.Strength = "dies", true, "dBFS", floor
		// A direct line may be no louder when nobody plays; where the last sound
		// comes before the death there is nothing to lose.
		w.Severe = l.Feed == stage.Air
		w.Starts = []float64{s.seconds(at), s.seconds(before)}
		Crackles(s.X[before:at], between(r, 10, 60), float64(s.RateHz), s.Loud()*ratio(between(r, 10, 25)), r)
		clear(s.X[at:])
		if !zero {
			Hiss(s.X[at:], floor, 0, r)
		}
		w.Detail = fmt.Sprintf("crackles from %.2f s, silent from %.2f s (zero: %v)", w.Starts[1], w.Starts[0], zero)
		w.Accept = []model.Kind{model.KindCrackle}
		return w, true
	}
	return w, true
}

func mains(r *rand.Rand) float64 { return []float64{50, 60}[r.IntN(2)] }

// Hiss adds noise of a level in dBFS rms (AES17); tilt 1 makes it pink-like.
func Hiss(x []float32, dbfs, tilt float64, r *rand.Rand) {
	rms := ratio(dbfs - 3.0103)
	var b [3]float64
	for i := range x {
		v := r.NormFloat64()
		if tilt > 0 {
			// Paul Kellet's three-pole economy filter (from memory): −3 dB an
			// octave within 0.5 dB above 10 Hz at 44.1 kHz.
			b[0] = 0.99765*b[0] + v*0.0990460
			b[1] = 0.96300*b[1] + v*0.2965164
			b[2] = 0.57000*b[2] + v*1.0526913
			v = (b[0] + b[1] + b[2] + v*0.1848) / pinkGain
		}
		x[i] += float32(rms * v)
	}
}

// pinkGain is the rms of the pink filter's output for white noise of rms 1,
// √(Σᵢⱼ aᵢaⱼ/(1−pᵢpⱼ) + 2dΣaᵢ + d²) for its poles p, weights a and direct part d.
const pinkGain = 2.979

// Noisy lays hiss under a line, some decibels over its own floor.
func Noisy(s *Sound, l stage.Line, r *rand.Rand) (Wound, bool) {
	w := Wound{Kind: model.KindNoisy, Variant: "white", Unit: "dBFS"}
	if l.Feed == stage.Digital || l.Role == "talkback" {
		return w, false
	}
	level := between(r, -75, -35)
	floor := decibels(s.Floor()) + 3.01
	if level < floor+6 {
		level = math.Min(floor+between(r, 6, 20), -30)
	}
	tilt := 0.0
	if r.Float64() < 0.3 {
		tilt, w.Variant = 1, "pink"
	}
	Hiss(s.X, level, tilt, r)
	w.Strength = level
	w.Detail = fmt.Sprintf("%.0f dB over the line's floor of %.0f dBFS", level-floor, floor)
	return w, true
}

// Hum adds mains and harmonics.
func Hum(s *Sound, l stage.Line, r *rand.Rand) (Wound, bool) {
	w := Wound{Kind: model.KindHum, Unit: "dBFS"}
	if l.Feed == stage.Digital || l.Role == "talkback" {
		return w, false
	}
	hz, n := mains(r), 1+r.IntN(12)
	w.Strength = between(r, -85, -30)
	w.Variant = fmt.Sprintf("%.0f Hz", hz)
	w.Detail = fmt.Sprintf("%d harmonics", n)
	stage.AddHum(s.X, hz, w.Strength, n, float64(s.RateHz), r)
	return w, true
}

// DCOffset moves the zero line.
func DCOffset(s *Sound, l stage.Line, r *rand.Rand) (Wound, bool) {
	w := Wound{Kind: model.KindDCOffset, Variant: "whole", Unit: "dBFS", Strength: between(r, -58, -20)}
	if s.Peak()+ratio(w.Strength) > 0.98 {
		return w, false
	}
	d := float32(ratio(w.Strength))
	if r.IntN(2) == 0 {
		d = -d
	}
	for i := range s.X {
		s.X[i] += d
	}
	return w, true
}

// Hot turns the gain up until the peak lies just under full scale.
func Hot(s *Sound, l stage.Line, r *rand.Rand) (Wound, bool) {
	w := Wound{Kind: model.KindHot, Variant: "gain", Unit: "dBFS", Strength: between(r, -4, -0.1)}
	if !l.Plays {
		return w, false
	}
	scale(s.X, ratio(w.Strength)/s.Peak())
	return w, true
}

// Low turns the gain down.
func Low(s *Sound, l stage.Line, r *rand.Rand) (Wound, bool) {
	w := Wound{Kind: model.KindLow, Variant: "gain", Unit: "dBFS", Strength: between(r, -55, -28)}
	if !l.Plays || l.Role == "talkback" || decibels(s.Peak()) < w.Strength+6 {
		return w, false
	}
	scale(s.X, ratio(w.Strength)/s.Peak())
	return w, true
}

func scale(x []float32, g float64) {
	for i := range x {
		x[i] *= float32(g)
	}
}
