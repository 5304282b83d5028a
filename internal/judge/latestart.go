package judge

import (
	"fmt"

	"tidemark/internal/model"
)

// lateStart finds files that begin after the others of their pass.
func lateStart(e *Evidence) []model.Finding {
	var out []model.Finding
	for p := range e.Passes {
		e.firstChannels(p, func(t *Track) {
			if t.Punch || t.OffsetS <= limitLateStart.Value || t.Line < 0 {
				return
			}
			f := e.finding(model.KindLateStart, model.Listen, t)
			measured(&f, t.OffsetS, limitLateStart)
			at(&f, 0, t.OffsetS)
			f.Evidence = fmt.Sprintf("%s begins %.2f s after the start of %s", f.Files[0], t.OffsetS, e.Passes[p].Name)
			f.Advice = "the track was armed late: listen whether the line had already begun to play, and keep the file's time stamp when it is moved"
			out = append(out, f)
		})
	}
	return out
}
