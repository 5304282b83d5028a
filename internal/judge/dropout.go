package judge

import (
	"fmt"

	"tidemark/internal/model"
)

// dropout finds holes in the sound: digital silence or one held value inside
// music, with torn edges, and blocks of sound that were written twice.
func dropout(e *Evidence) []model.Finding {
	var out []model.Finding
	for i := range e.Tracks {
		t := &e.Tracks[i]
		if t.Line < 0 {
			continue
		}
		d := t.M.Dropout
		advice := "look at clock and buffer settings and at the recording drive, then make a short test recording; what is in the holes is lost, so mark the take"
		if d.Dropouts.Count > int(limitDropout.Value) {
			f := e.finding(model.KindDropout, model.Stop, t)
			runs(&f, t, d.Dropouts)
			measured(&f, float64(d.Dropouts.Count), limitDropout)
			f.Evidence = fmt.Sprintf("%s has %s in its sound, first at %s, %.0f ms in all", f.Lines[0],
				count(d.Dropouts.Count, "hole", "holes"), clock(f.StartS.Or(0)), 1000*float64(d.Dropouts.Frames)/float64(t.Header.Format.RateHz))
			f.Advice = advice
			out = append(out, f)
		} else if d.Repeats.Count > 0 {
			f := e.finding(model.KindDropout, model.Listen, t)
			runs(&f, t, d.Repeats)
			measured(&f, float64(d.Repeats.Count), limitDropout)
			f.Unit = "repeats"
			f.Evidence = fmt.Sprintf("%s has a block of sound written twice in %s, first at %s", f.Lines[0],
				count(d.Repeats.Count, "place", "places"), clock(f.StartS.Or(0)))
			f.Advice = advice
			out = append(out, f)
		}
	}
	return out
}
