package judge

import (
	"fmt"
	"math"

	"tidemark/internal/model"
)

// hot finds lines with no room left for the band to play harder.
func hot(e *Evidence) []model.Finding {
	var out []model.Finding
	for i := range e.Tracks {
		t := &e.Tracks[i]
		peak, ok := t.M.Tidemark.Peak.Get()
		if t.Line < 0 || !ok || float64(peak) <= limitHot.Value || t.M.Clipping.FullScale.Count > 0 || float64(t.M.Clipping.AtFull) > limitAtFull.Value {
			continue
		}
		f := e.finding(model.KindHot, model.Listen, t)
		measured(&f, float64(peak), limitHot)
		s := t.At(t.M.Level.PeakFrame)
		at(&f, s, s)
		f.Evidence = fmt.Sprintf("%s peaks at %.1f dBFS at %s", f.Lines[0], float64(peak), clock(s))
		if tp, ok := t.M.TruePeak.Max.Get(); ok && float64(tp) > float64(peak)+0.05 {
			f.Evidence += fmt.Sprintf(" (true peak %.1f dBTP)", float64(tp))
		}
		f.Advice = fmt.Sprintf("turn the preamp down by %.0f dB: a band playing together is 2 to 8 dB louder than a player alone", math.Ceil(float64(peak)+9))
		out = append(out, f)
	}
	return out
}
