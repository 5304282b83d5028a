package judge

import (
	"fmt"
	"math"

	"tidemark/internal/model"
)

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
