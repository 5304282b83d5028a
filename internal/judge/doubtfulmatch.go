package judge

import (
	"fmt"

	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// doubtfulMatch lists matches that a person should look at.
func doubtfulMatch(e *Evidence) []model.Finding {
	var out []model.Finding
	for i := range e.Tracks {
		t := &e.Tracks[i]
		if t.Line < 0 || t.Match.Certain {
			continue
		}
		f := e.finding(model.KindDoubtfulMatch, model.Listen, t)
		f.Value, f.Unit = unit.Some(round3(t.Match.Score)), "of 1"
		f.LimitSource = common
		file := e.Recordings[t.Recording].Name
		f.Evidence = fmt.Sprintf("%s was taken for %s, by its %s", file, f.Lines[0], t.Match.By)
		if r := t.Match.RunnerUp; r >= 0 && r < len(e.Lines) {
			f.Evidence += fmt.Sprintf("; it could be %s as well", e.Lines[r].Name())
			f.Limit = unit.Some(round3(t.Match.RunnerUpScore))
		}
		f.Advice = "settle it with --match \"" + e.fileKey(t) + "=" + lineKey(e.Lines[t.Line]) + "\" (or the other number); until then nothing on this line counts as a reason to stop"
		out = append(out, f)
	}
	return out
}
