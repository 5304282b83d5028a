package judge

import (
	"fmt"

	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// wrongDepth finds files with another depth than the rest, and files that use
// fewer bits than they have.
func wrongDepth(e *Evidence) []model.Finding {
	var out []model.Finding
	for p := range e.Passes {
		usual, ok := e.usual(p, bitsOf)
		e.firstChannels(p, func(t *Track) {
			if ok && bitsOf(t) != usual {
				f := e.finding(model.KindWrongDepth, model.Listen, t)
				f.Value, f.Unit, f.Limit, f.LimitSource = unit.Some(float64(bitsOf(t))), "bits", unit.Some(float64(usual)), "the rest of the pass"
				f.Evidence = fmt.Sprintf("%s has %d bits a sample, the rest of %s %d", f.Files[0], bitsOf(t), e.Passes[p].Name, usual)
				f.Advice = "set the track to the session's depth before the next take; a file of fewer bits cannot be mended by converting it"
				if bitsOf(t) > usual {
					f.Weight = model.Note
					f.Advice = "nothing is lost: bring it to the session's depth before the hand-over, and set the track for the next take"
				}
				out = append(out, f)
			}
		})
	}
	for i := range e.Tracks {
		t := &e.Tracks[i]
		used := t.M.Bits.Used
		if t.Line < 0 || t.M.Bits.Float || used == 0 || bitsOf(t) < 24 || used > 16 || t.DurationS() < 1 {
			continue
		}
		f := e.finding(model.KindWrongDepth, model.Note, t)
		f.ID += "/used"
		f.Value, f.Unit, f.Limit, f.LimitSource = unit.Some(float64(used)), "bits", unit.Some(float64(bitsOf(t))), "the file's own header"
		f.Evidence = fmt.Sprintf("%s has %d bits a sample and uses %d: the rest are always zero", f.Lines[0], bitsOf(t), used)
		f.Advice = "some link before the recorder carries 16 bits (a converter's switch, a digital cable, a bounced file): find it if you need the low levels"
		out = append(out, f)
	}
	return out
}
