package judge

import (
	"fmt"
	"math"
	"sort"

	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// steadyNoiseSpreadDB is how closely the quietest tenth of 100 ms levels lie
// together when they are noise. The RMS of 100 ms of white noise spreads by
// 0.1 dB (4.34/√(bandwidth·time) with 20 kHz), music by several.
const steadyNoiseSpreadDB = 1.0

// noisy finds hiss under a line: a floor that is steady and bright. It looks at
// the power of differences, so that low notes over the hiss do not hide it.
func noisy(e *Evidence) []model.Finding {
	var out []model.Finding
	for i := range e.Tracks {
		t := &e.Tracks[i]
		if t.Line < 0 {
			continue
		}
		floor, steady := noiseFloor(t)
		if !steady {
			continue
		}
		l := e.line(t)
		limit := limitNoiseMic
		if l.Part == model.Amp || (l.Family == model.Guitar && l.Part != model.DI) || l.Family == model.Organ {
			limit = limitNoiseAmp
		}
		if floor <= limit.Value {
			continue
		}
		f := e.finding(model.KindNoisy, model.Listen, t)
		measured(&f, floor, limit)
		at(&f, t.OffsetS, t.OffsetS+t.DurationS())
		f.Evidence = fmt.Sprintf("a steady noise of %.0f dBFS lies under %s", floor, f.Lines[0])
		if high, ok := t.M.Tidemark.UsualHigh.Get(); ok && float64(high) > floor {
			f.Evidence += fmt.Sprintf(", %.0f dB under its usual high level", float64(high)-floor)
		}
		f.Advice = "look for a pad in with the gain turned up, then a wrong preamp setting, then a tired microphone: swap it and listen again"
		if limit == limitNoiseAmp {
			f.Advice = "ask whether the amplifier is meant to hiss like this; then move the microphone closer and turn the preamp down"
		}
		out = append(out, f)
	}
	return out
}

// noiseFloor is the level of the white noise that would give the quietest tenth
// of the hops their brightness, in dBFS, and whether that floor is steady.
// White noise of mean square p has differences of mean square 2p.
func noiseFloor(t *Track) (levelDBFS float64, steady bool) {
	var b []float64
	for _, h := range t.M.Level.Hops {
		if h.Bright > 0 {
			b = append(b, float64(h.Bright))
		}
	}
	if len(b) < 30 {
		return 0, false
	}
	sort.Float64s(b)
	tenth := b[:max(5, len(b)/10)]
	low, high := tenth[len(tenth)/10], tenth[len(tenth)-1]
	mid := tenth[len(tenth)/2]
	return 10*math.Log10(mid/2) + unit.SineOffsetDB, 10*math.Log10(high/low) <= steadyNoiseSpreadDB
}
