package judge

import (
	"fmt"

	"tidemark/internal/between"
	"tidemark/internal/model"
)

// monoLoss finds pairs that lose when they are added. A stereo pair may not lose
// more in all than two unrelated sounds would. Two microphones on one source at
// different distances always comb in the middle; what they may not lose is the
// low end. A pair that is upside down is told by flipped, which explains it better.
func monoLoss(e *Evidence) []model.Finding {
	var out []model.Finding
	for i := range e.Pairs {
		p := &e.Pairs[i]
		switch p.Relation.Kind {
		case model.StereoPair, model.MidSide, model.TopBottom, model.InOut, model.DIAmp, model.TwoMics:
		default:
			continue
		}
		loss, ok := p.Reading.MonoLossMatchedDB.Get()
		if !ok || p.Reading.Hits < pairHits || upsideDown(p) || upsideDownOn(e, p) {
			continue
		}
		a, b := &e.Tracks[p.A], &e.Tracks[p.B]
		limit, value, where := limitMonoLoss, float64(loss), "in all"
		if p.Relation.Kind != model.StereoPair && p.Relation.Kind != model.MidSide {
			worst := lowOctave(p)
			if worst == nil {
				continue
			}
			limit, value = limitMonoLossLow, float64(worst.MonoLossMatchedDB.Or(0))
			where = fmt.Sprintf("around %.0f Hz", worst.NominalHz)
		} else if value >= limit.Value {
			continue
		}
		f := e.findingOfTwo(model.KindMonoLoss, model.Listen, a, b)
		measured(&f, value, limit)
		f.Evidence = fmt.Sprintf("%s and %s lose %.1f dB %s when they are added to mono at equal level", f.Lines[0], f.Lines[1], -value, where)
		f.Advice = "listen to both in mono, flip one and keep what sounds fuller; then move one of them a hand's width and listen again"
		out = append(out, f)
	}
	return out
}

// lowOctave is the octave from 63 to 125 Hz with the largest loss over the
// limit, where both hear the source there.
func lowOctave(p *Pair) *between.OctaveReading {
	var worst *between.OctaveReading
	for i := range p.Reading.Octaves {
		o := &p.Reading.Octaves[i]
		loss, ok := o.MonoLossMatchedDB.Get()
		coherence, known := o.Coherence.Get()
		if !ok || !known || coherence < limitCoherence.Value || o.NominalHz > 130 || float64(loss) >= limitMonoLossLow.Value {
			continue
		}
		if worst == nil || loss < worst.MonoLossMatchedDB.Or(0) {
			worst = o
		}
	}
	return worst
}
