package judge

import (
	"fmt"
	"path"
	"strings"

	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// truncated finds files whose header and contents disagree, and files that
// cannot be read at all.
func truncated(e *Evidence) []model.Finding {
	var out []model.Finding
	for _, r := range e.Refused {
		f := model.Finding{ID: "truncated/" + r.File, Kind: model.KindTruncated, Weight: model.Stop, Lines: []string{}, Files: []string{r.File}, Count: 1}
		f.Unit, f.LimitSource = "s", "the file's own header"
		f.Evidence = fmt.Sprintf("%s could not be read: %s", r.File, strings.TrimPrefix(strings.TrimPrefix(r.Reason, r.File+": "), path.Base(r.File)+": "))
		f.Advice = "copy the file as it is before anything opens it, and look at the recorder and its drive; move it out of the folder if it is not a recording"
		out = append(out, f)
	}
	seen := map[int]bool{}
	for i := range e.Tracks {
		t := &e.Tracks[i]
		if seen[t.Recording] {
			continue
		}
		seen[t.Recording] = true
		var texts []string
		var declared, held int64
		for _, d := range t.Damage {
			if d.Kind == "odd" {
				continue
			}
			texts = append(texts, d.Text)
			declared, held = max(declared, d.DeclaredFrames), max(held, d.HeldFrames)
		}
		if len(texts) == 0 {
			continue
		}
		f := e.finding(model.KindTruncated, model.Stop, t)
		end := t.OffsetS + t.DurationS()
		at(&f, end, end)
		rate := float64(t.Header.Format.RateHz)
		f.Value, f.Unit, f.LimitSource = unit.Some(round3(float64(held)/rate)), "s", "the file's own header"
		if declared > 0 {
			f.Limit = unit.Some(round3(float64(declared) / rate))
		}
		f.Evidence = fmt.Sprintf("%s: %s; %s could be read", f.Files[0], strings.Join(texts, "; "), clock(t.DurationS()))
		f.Advice = "copy the file as it is before anything opens it, look at the recorder and its drive, and do not trust the take until somebody has listened to its end"
		out = append(out, f)
	}
	return out
}
