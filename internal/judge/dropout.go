package judge

import (
	"fmt"

	"tidemark/internal/meter"
	"tidemark/internal/model"
	"tidemark/internal/unit"
)

const adviceDropout = "look at clock and buffer settings and at the recording drive, then make a short test recording; what is in the holes is lost, so mark the take"

// dropout finds holes in the sound: digital silence or one held value inside
// music, and blocks of sound that were written twice. A hole with both edges
// torn is one; where the sound is only cut off and comes back softly, or the
// line makes its own digital silence (a machine, an electronic keyboard), a
// person must listen.
func dropout(e *Evidence) []model.Finding {
	var out []model.Finding
	for i := range e.Tracks {
		t := &e.Tracks[i]
		if t.Line < 0 {
			continue
		}
		d := t.M.Dropout
		if d.Dropouts.Count > int(limitDropout.Value) {
			out = append(out, holes(e, t))
		} else if d.Repeats.Count > 0 {
			f := e.finding(model.KindDropout, model.Listen, t)
			runs(&f, t, d.Repeats)
			measured(&f, float64(d.Repeats.Count), limitDropout)
			f.Unit = "repeats"
			f.Evidence = fmt.Sprintf("%s has a block of sound written twice in %s, first at %s", f.Lines[0],
				count(d.Repeats.Count, "place", "places"), clock(f.StartS.Or(0)))
			f.Advice = adviceDropout
			out = append(out, f)
		}
	}
	return out
}

// openAir says whether a line has a microphone that is never quite silent, so
// that exact zeros behind a torn edge are lost sound however it comes back.
func openAir(l model.Line) bool { return l.Family != model.Unknown && !electric(l) }

// holes is the finding about a track's holes: about those torn at both edges
// where there are any, and then a reason to stop.
func holes(e *Evidence, t *Track) model.Finding {
	d := t.M.Dropout
	l := e.line(t)
	var torn []meter.Run
	for _, h := range d.Holes {
		if h.TornIn && (h.TornOut || h.Held || openAir(l)) {
			torn = append(torn, h.Run)
		}
	}
	weight, shown := model.Stop, torn
	switch {
	case MayBeSilent(l.Family):
		weight = model.Note
	case l.Family == model.Keys:
		weight = model.Listen
	}
	if len(torn) == 0 {
		weight = lighter(weight, model.Listen)
		shown = d.Dropouts.Kept
	}
	f := e.finding(model.KindDropout, weight, t)
	f.Count = len(shown)
	var lost int64
	for _, r := range shown {
		lost += r.Frames
		addPlace(&f, t.At(r.Frame), t.At(r.Frame+r.Frames))
	}
	if len(d.Dropouts.Kept) > 0 && d.Dropouts.Count > len(d.Dropouts.Kept) {
		f.Count = d.Dropouts.Count * len(shown) / len(d.Dropouts.Kept) // not all were kept: scale up
		lost = lost * int64(d.Dropouts.Count) / int64(len(d.Dropouts.Kept))
	}
	measured(&f, float64(f.Count), limitDropout)
	if len(shown) > 0 {
		last := shown[len(shown)-1]
		f.StartS, f.EndS = unit.Some(round3(t.At(shown[0].Frame))), unit.Some(round3(t.At(last.Frame+last.Frames)))
	}
	f.Evidence = fmt.Sprintf("%s has %s in its sound, first at %s, %.0f ms in all", f.Lines[0],
		count(f.Count, "hole", "holes"), clock(f.StartS.Or(0)), 1000*float64(lost)/float64(t.Header.Format.RateHz))
	f.Advice = adviceDropout
	if weight != model.Stop {
		f.Advice = "listen there: an edit, a gate or a machine may make digital silence; if it is none of these, look at clock, buffers and the drive"
	}
	return f
}
