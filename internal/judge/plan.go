package judge

import (
	"fmt"
	"strings"

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

func lineKey(l model.Line) string {
	if l.Number > 0 {
		return fmt.Sprint(l.Number)
	}
	return l.Source
}

// unlisted finds sound that no line of the list claims.
func unlisted(e *Evidence) []model.Finding {
	if !e.Listed {
		return nil
	}
	var out []model.Finding
	for i := range e.Tracks {
		t := &e.Tracks[i]
		if t.Line >= 0 {
			continue
		}
		f := e.finding(model.KindUnlisted, model.Note, t)
		f.Value, f.Unit, f.Limit, f.LimitSource = unit.Some(0.0), "lines", unit.Some(1.0), common
		f.Evidence = fmt.Sprintf("%s is not on the input list", f.Lines[0])
		if peak, ok := t.M.Tidemark.Peak.Get(); ok {
			f.Evidence += fmt.Sprintf("; it peaks at %.0f dBFS", float64(peak))
		} else {
			f.Evidence += "; it is silent"
		}
		f.Advice = "add it to the list, or tell which line it is with --match \"" + e.Recordings[t.Recording].Name + "=NUMBER\""
		out = append(out, f)
	}
	return out
}

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
		f.Advice = "settle it with --match \"" + file + "=" + lineKey(e.Lines[t.Line]) + "\" (or the other number); until then nothing on this line counts as a reason to stop"
		out = append(out, f)
	}
	return out
}

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
		f := e.finding(model.KindDuplicate, weight, a)
		f.ID += "/" + e.name(b)
		f.Lines = append(f.Lines, e.name(b))
		if fb := e.Recordings[b.Recording].Name; fb != f.Files[0] {
			f.Files = append(f.Files, fb)
		}
		at(&f, a.OffsetS, a.OffsetS+a.DurationS())
		f.Value, f.Unit, f.Limit, f.LimitSource = unit.Some(round3(tw.GainDB)), "dB", unit.Some(0.0), "two open lines never carry the same samples"
		if tw.Identical {
			f.Evidence = fmt.Sprintf("%s and %s hold the same sound, sample for sample", f.Lines[0], f.Lines[1])
		} else {
			f.Evidence = fmt.Sprintf("%s is %s with %.1f dB of gain and nothing else", f.Lines[1], f.Lines[0], tw.GainDB)
		}
		f.Advice = "one of the two is not recorded: look at the recorder's input menu and the patch for a channel that is fed twice"
		if weight == model.Note {
			f.Advice = "a copy or a bounce lies beside the original: keep one of them out of the hand-over"
		}
		out = append(out, f)
	}
	return out
}

// truncated finds files whose header and contents disagree, and files that
// cannot be read at all.
func truncated(e *Evidence) []model.Finding {
	var out []model.Finding
	for _, r := range e.Refused {
		f := model.Finding{ID: "truncated/" + r.File, Kind: model.KindTruncated, Weight: model.Stop, Lines: []string{}, Files: []string{r.File}, Count: 1}
		f.Value, f.Unit, f.LimitSource = unit.Some(0.0), "s", "the file's own header"
		f.Evidence = "nothing could be read: " + r.Reason
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
