package judge

import (
	"fmt"

	"tidemark/internal/model"
)

// unlisted finds sound that no line of the list claims.
func unlisted(e *Evidence) []model.Finding {
	if !e.Listed {
		return nil
	}
	var out []model.Finding
	for i := range e.Tracks {
		t := &e.Tracks[i]
		if t.Line >= 0 || t.Copy {
			continue // a copy is told by duplicate
		}
		f := e.finding(model.KindUnlisted, model.Note, t)
		f.Unit, f.LimitSource = "lines", "the input list"
		f.Evidence = fmt.Sprintf("%s is not on the input list", f.Lines[0])
		if peak, ok := t.M.Tidemark.Peak.Get(); ok {
			f.Evidence += fmt.Sprintf("; it peaks at %.0f dBFS", float64(peak))
		} else {
			f.Evidence += "; it is silent"
		}
		f.Advice = "add it to the list, or tell which line it is with --match \"" + e.fileKey(t) + "=NUMBER\""
		out = append(out, f)
	}
	return out
}
