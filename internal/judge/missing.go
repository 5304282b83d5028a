package judge

import (
	"fmt"

	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// missing finds lines of the list that have no file in a pass. Where more than
// half of the lines have none the pass is an overdub or a line check, and one
// note tells it.
func missing(e *Evidence) []model.Finding {
	if !e.Listed {
		return nil
	}
	var out []model.Finding
	for p, pass := range e.Passes {
		have := map[int]bool{}
		for i := range e.Tracks {
			if t := &e.Tracks[i]; t.Pass == p && t.Line >= 0 {
				have[t.Line] = true
			}
		}
		var gone []int
		for i := range e.Lines {
			if !have[i] {
				gone = append(gone, i)
			}
		}
		if len(have) == 0 || len(gone) == 0 {
			continue
		}
		if 2*len(gone) > len(e.Lines) {
			f := model.Finding{ID: "missing/" + pass.Name, Kind: model.KindMissing, Weight: model.Note, Pass: pass.Name, Files: []string{}, Count: len(gone)}
			for _, i := range gone {
				f.Lines = append(f.Lines, e.Lines[i].Name())
			}
			f.Value, f.Unit, f.Limit, f.LimitSource = unit.Some(float64(len(gone))), "lines", unit.Some(0.0), common
			f.Evidence = fmt.Sprintf("%s holds %d of the %d lines on the list", pass.Name, len(have), len(e.Lines))
			f.Advice = "fine for an overdub or a line check; if this was the whole band, see which tracks were not armed"
			out = append(out, f)
			continue
		}
		for _, i := range gone {
			l := e.Lines[i]
			f := model.Finding{ID: "missing/" + pass.Name + "/" + l.Name(), Kind: model.KindMissing, Weight: model.Stop, Pass: pass.Name,
				Lines: []string{l.Name()}, Files: []string{}, Count: 1}
			if MayBeSilent(l.Family) {
				f.Weight = model.Note
			}
			f.Value, f.Unit, f.Limit, f.LimitSource = unit.Some(0.0), "files", unit.Some(1.0), common
			f.Evidence = fmt.Sprintf("%s is on the list (row %d), and no file of %s is it", l.Name(), l.Row, pass.Name)
			f.Advice = "see whether its track was armed and named as on the list; if a file goes by another name, tell it with --match \"FILE=" + lineKey(l) + "\""
			out = append(out, f)
		}
	}
	return out
}
