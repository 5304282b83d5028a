package judge

import (
	"fmt"

	"tidemark/internal/model"
)

// low finds lines recorded far under the nominal level.
func low(e *Evidence) []model.Finding {
	var out []model.Finding
	for i := range e.Tracks {
		t := &e.Tracks[i]
		peak, ok := t.M.Tidemark.Peak.Get()
		under := float64(peak) - e.NominalDBFS
		if t.Line < 0 || !ok || under >= limitLow.Value {
			continue
		}
		if d, ok := lift(t); !ok || d < 12 {
			continue // nothing but its floor: dead, noisy or not played
		}
		if MayBeSilent(e.line(t).Family) {
			continue
		}
		f := e.finding(model.KindLow, model.Note, t)
		measured(&f, under, limitLow)
		s := t.At(t.M.Level.PeakFrame)
		at(&f, s, s)
		f.Evidence = fmt.Sprintf("%s never rises above %.0f dBFS, %.0f dB under the nominal %.0f dBFS", f.Lines[0], float64(peak), -under, e.NominalDBFS)
		f.Advice = "turn the preamp up if it is played in this take (look for a pad left in); leave it if this is only what leaks into it"
		out = append(out, f)
	}
	return out
}
