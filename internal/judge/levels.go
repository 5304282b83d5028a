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
		if t.Line < 0 || !ok || float64(peak) <= limitHot.Value || t.M.Clipping.FullScale.Count > 0 {
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
		f.Evidence = fmt.Sprintf("%s never rises above %.0f dBFS, %.0f dB under the nominal %.0f", f.Lines[0], float64(peak), -under, e.NominalDBFS)
		f.Advice = "turn the preamp up if it is played in this take (look for a pad left in); leave it if this is only what leaks into it"
		out = append(out, f)
	}
	return out
}

// dcOffset finds a mean that is not zero.
func dcOffset(e *Evidence) []model.Finding {
	var out []model.Finding
	for i := range e.Tracks {
		t := &e.Tracks[i]
		dc := math.Abs(t.M.Level.DC)
		if t.Line < 0 || dc == 0 || t.DurationS() < 2 {
			continue
		}
		level := 20 * math.Log10(dc)
		if level <= limitDC.Value {
			continue
		}
		f := e.finding(model.KindDCOffset, model.Note, t)
		measured(&f, level, limitDC)
		at(&f, t.OffsetS, t.OffsetS+t.DurationS())
		f.Evidence = fmt.Sprintf("%s stands off zero by %+.2f %% of full scale (%.0f dBFS)", f.Lines[0], 100*t.M.Level.DC, level)
		f.Advice = "a converter or an active box is off: harmless until it is edited, but tell the house technician and filter it before any cut"
		out = append(out, f)
	}
	return out
}
