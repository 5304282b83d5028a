package judge

import (
	"fmt"
	"math"

	"tidemark/internal/acoustics"
	"tidemark/internal/model"
)

// AirC is the temperature of the air assumed where nobody measured it, in °C:
// common practice.
const AirC = 20

// late finds pairs that are meant to hear a source at the same time and do not:
// two overheads on the snare. Room microphones are late by nature, an amplifier's
// microphone is later than the direct line, and neither is a fault.
func late(e *Evidence) []model.Finding {
	var out []model.Finding
	for i := range e.Pairs {
		p := &e.Pairs[i]
		if !p.Relation.MeantToAgree() {
			continue
		}
		a, b, on := &e.Tracks[p.A], &e.Tracks[p.B], &e.Tracks[p.On]
		if e.line(a).Family != model.Overhead || e.line(on).Family != model.Snare || p.Reading.Hits < pairHits || p.Reading.Coherence.Or(0) < limitCoherence.Value {
			continue
		}
		samples, ok := p.Reading.DelaySamples.Get()
		if !ok {
			continue
		}
		rate := float64(a.Header.Format.RateHz)
		ms := 1000 * samples / rate
		if math.Abs(ms) <= limitLate.Value {
			continue
		}
		if spread, ok := p.Reading.DelaySpread.Get(); ok && 1000*spread/rate > math.Abs(ms) {
			continue // the hits do not agree: nothing was measured
		}
		far, near := b, a
		if ms < 0 {
			far, near = a, b
		}
		cm := acoustics.Centimetres(acoustics.DistanceOfSamples(math.Abs(samples), a.Header.Format.RateHz, acoustics.SpeedOfSound(AirC)))
		f := e.findingOfTwo(model.KindLate, model.Listen, far, near)
		measured(&f, math.Abs(ms), limitLate)
		f.Evidence = fmt.Sprintf("%s hears %s %.2f ms after %s: %.0f cm (%.1f in) of air, on %d hits", f.Lines[0], e.name(on), math.Abs(ms), f.Lines[1], cm, cm/2.54, p.Reading.Hits)
		f.Advice = fmt.Sprintf("bring %s %.0f cm closer to the snare, or move %s as far away; measure both to the middle of the drum with a tape; mind the stand's weight overhead and its sandbag", f.Lines[0], cm, f.Lines[1])
		out = append(out, f)
	}
	return out
}
