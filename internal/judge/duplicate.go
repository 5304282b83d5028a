package judge

import (
	"fmt"

	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// duplicate finds one sound under two names.
func duplicate(e *Evidence) []model.Finding {
	var out []model.Finding
	for _, tw := range e.Twins {
		a, b := &e.Tracks[tw.A], &e.Tracks[tw.B]
		weight := model.Stop
		la, lb := e.line(a), e.line(b)
		switch {
		case a.Line < 0 || b.Line < 0:
			weight = model.Note // a copy beside the original
		case !b.Match.Certain, !tw.Identical:
			weight = model.Listen
		case la.Side != model.NoSide && lb.Side != model.NoSide && la.Stem == lb.Stem && la.Side != lb.Side:
			weight = model.Listen // one channel on both sides: a mono sound on a stereo pair may be meant
		}
		f := e.findingOfTwo(model.KindDuplicate, weight, a, b)
		f.Value, f.Unit, f.Limit, f.LimitSource = unit.Some(round3(tw.GainDB)), "dB", unit.Some(0.0), "two open lines never carry the same samples"
		if tw.Identical {
			f.Evidence = fmt.Sprintf("%s and %s hold the same sound, sample for sample", f.Lines[0], f.Lines[1])
		} else {
			what := fmt.Sprintf("%.1f dB of gain", tw.GainDB)
			if tw.Flipped {
				what = "its polarity turned, " + what
			}
			f.Evidence = fmt.Sprintf("%s is %s with %s and nothing else", f.Lines[1], f.Lines[0], what)
		}
		f.Advice = "one of the two is not recorded: look at the recorder's input menu and the patch for a channel that is fed twice"
		if weight == model.Note {
			f.Advice = "a copy or a bounce lies beside the original: keep one of them out of the hand-over"
		}
		out = append(out, f)
	}
	return out
}
