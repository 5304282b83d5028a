package judge

import (
	"fmt"
	"math"

	"tidemark/internal/between"
	"tidemark/internal/model"
)

const (
	// pairHits is how many hits a pair must have been measured on before anything is said.
	pairHits = 4
	// sureOfPolarity is the confidence from which a flip is a reason to stop.
	sureOfPolarity = 0.7
	// sureOfThird is the coherence with which both overheads must hear a line that
	// is to tell their polarity, and sameTimeS how near to each other: less than a
	// tenth of the period of a kick. Common practice, no source.
	sureOfThird = 0.6
	sameTimeS   = 0.001
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
		if !judged {
			continue
		}
		coherence, on := p.Reading.Coherence.Or(0), fmt.Sprintf("on %d hits", p.Reading.Hits)
		sure := p.Reading.PolarityConfidence >= sureOfPolarity
		if !upsideDown(p) {
			third, least, ok := oppositeOn(e, p)
			if !ok {
				continue
			}
			coherence, sure, on = least, true, fmt.Sprintf("on %s, which both hear at the same time", e.name(&e.Tracks[third]))
		}
		a, b := &e.Tracks[p.A], &e.Tracks[p.B]
		if !sure || !a.Match.Certain || !b.Match.Certain {
			weight = model.Listen
		}
		wrong, right := b, a
		if p.Relation.Kind == model.TopBottom && againstOverheads(e, p.A) {
			wrong, right = a, b
		}
		f := e.findingOfTwo(model.KindFlipped, weight, wrong, right)
		measured(&f, coherence, limitCoherence)
		f.Unit = "coherence"
		f.Evidence = fmt.Sprintf("%s is upside down against %s %s (coherence %.2f)", f.Lines[0], f.Lines[1], on, coherence)
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

// oppositeOn looks for a line of the kit that two overheads, whose own reading
// tells nothing, both hear surely and at the same time, the one right way up and
// the other upside down. It gives the lesser of the two coherences.
func oppositeOn(e *Evidence, p *Pair) (third int, coherence float64, ok bool) {
	if p.Relation.Kind != model.StereoPair || p.Reading.Coherence.Or(0) >= limitCoherence.Value || e.line(&e.Tracks[p.A]).Family != model.Overhead {
		return 0, 0, false
	}
	hears := func(overhead, line int) *between.PairReading {
		for i := range e.Pairs {
			q := &e.Pairs[i]
			if q.Relation.Kind == model.KitPair && (q.A == overhead && q.B == line || q.B == overhead && q.A == line) &&
				q.Reading.Hits >= pairHits && q.Reading.PolarityConfidence >= sureOfPolarity && q.Reading.Coherence.Or(0) >= sureOfThird {
				return &q.Reading
			}
		}
		return nil
	}
	for i := range e.Tracks {
		l, r := hears(p.A, i), hears(p.B, i)
		if l == nil || r == nil || l.Polarity == r.Polarity || l.Polarity == between.Unclear || r.Polarity == between.Unclear {
			continue
		}
		a, ok1 := l.DelaySamples.Get()
		b, ok2 := r.DelaySamples.Get()
		if rate := float64(e.Tracks[i].Header.Format.RateHz); !ok1 || !ok2 || math.Abs(math.Abs(a)-math.Abs(b)) > sameTimeS*rate {
			continue
		}
		return i, min(l.Coherence.Or(0), r.Coherence.Or(0)), true
	}
	return 0, 0, false
}

// upsideDownOn says whether a third line tells so instead.
func upsideDownOn(e *Evidence, p *Pair) bool {
	_, _, ok := oppositeOn(e, p)
	return ok
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
