package judge

import (
	"fmt"

	"tidemark/internal/between"
	"tidemark/internal/model"
)

const (
	// pairHits is how many hits a pair must have been measured on before anything is said.
	pairHits = 4
	// sureOfPolarity is the confidence from which a flip is a reason to stop.
	sureOfPolarity = 0.7
)

// flipped finds lines that hear their source the wrong way up: both halves of a
// stereo pair, top and bottom of a drum once the lower one is flipped at the
// preamp, inside and outside, direct and amplifier.
func flipped(e *Evidence) []model.Finding {
	var out []model.Finding
	for i := range e.Pairs {
		p := &e.Pairs[i]
		weight, judged := model.Stop, true
		switch p.Relation.Kind {
		case model.StereoPair, model.TopBottom:
		case model.InOut, model.DIAmp, model.TwoMics:
			weight = model.Listen // sound on the two sides of a shell, or through an amplifier, may well be turned over on purpose
		default:
			judged = false
		}
		if !judged || !upsideDown(p) {
			continue
		}
		coherence := p.Reading.Coherence.Or(0)
		a, b := &e.Tracks[p.A], &e.Tracks[p.B]
		if p.Reading.PolarityConfidence < sureOfPolarity || !a.Match.Certain || !b.Match.Certain {
			weight = model.Listen
		}
		wrong, right := b, a
		if p.Relation.Kind == model.TopBottom && againstOverheads(e, p.A) {
			wrong, right = a, b
		}
		f := e.findingOfTwo(model.KindFlipped, weight, wrong, right)
		measured(&f, coherence, limitCoherence)
		f.Unit = "coherence"
		f.Evidence = fmt.Sprintf("%s is upside down against %s on %d hits (coherence %.2f)", f.Lines[0], f.Lines[1], p.Reading.Hits, coherence)
		if loss, ok := p.Reading.MonoLossMatchedDB.Get(); ok && loss < -3 {
			f.Evidence += fmt.Sprintf("; added to mono they lose %.0f dB", -float64(loss))
		}
		if e.line(wrong).Polarity != "" {
			f.Evidence += fmt.Sprintf("; the list says that its polarity is turned (%s), and the sound says that it is not", e.line(wrong).Polarity)
		}
		switch p.Relation.Kind {
		case model.TopBottom:
			f.Advice = "press the polarity switch on " + f.Lines[0] + ": the two heads of a drum move in opposite directions, so one of its lines is always flipped"
		case model.DIAmp:
			f.Advice = "listen to both together and flip the one that makes them thin; some amplifiers turn the sound over by themselves"
		default:
			f.Advice = "press the polarity switch on " + f.Lines[0] + ", or look for a cable wired the other way round"
		}
		out = append(out, f)
	}
	return out
}

// upsideDown says whether a pair is surely enough of opposite polarity to say so.
func upsideDown(p *Pair) bool {
	return p.Reading.Polarity == between.Opposite && p.Reading.Hits >= pairHits && p.Reading.Coherence.Or(0) >= limitCoherence.Value
}

// againstOverheads says whether the overheads of the same pass, all that can
// tell, hear the track upside down.
func againstOverheads(e *Evidence, track int) bool {
	opposite, same := 0, 0
	for i := range e.Pairs {
		p := &e.Pairs[i]
		if p.Relation.Kind != model.KitPair || (p.A != track && p.B != track) || p.Reading.Hits < pairHits {
			continue
		}
		switch p.Reading.Polarity {
		case between.Opposite:
			opposite++
		case between.Same:
			same++
		}
	}
	return opposite > 0 && same == 0
}
