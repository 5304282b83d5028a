package judge

import (
	"fmt"

	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// wrongRate finds files with another sample rate than the rest of their pass.
func wrongRate(e *Evidence) []model.Finding {
	var out []model.Finding
	for p := range e.Passes {
		usual, ok := e.usual(p, rateOf)
		if !ok {
			continue
		}
		e.firstChannels(p, func(t *Track) {
			if rateOf(t) == usual {
				return
			}
			f := e.finding(model.KindWrongRate, model.Stop, t)
			f.Value, f.Unit, f.Limit, f.LimitSource = unit.Some(float64(rateOf(t))), "Hz", unit.Some(float64(usual)), "the rest of the pass"
			at(&f, t.OffsetS, t.OffsetS+t.DurationS())
			f.Evidence = fmt.Sprintf("%s says %s, the rest of %s %s", f.Files[0], kHz(rateOf(t)), e.Passes[p].Name, kHz(usual))
			f.Advice = "check the clock source and the recorder's session rate; if only the header is wrong it plays at the wrong pitch and drifts from the others"
			out = append(out, f)
		})
	}
	return out
}

func kHz(hz int) string { return fmt.Sprintf("%g kHz", float64(hz)/1000) }
