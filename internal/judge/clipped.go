package judge

import (
	"fmt"
	"math"

	"tidemark/internal/model"
)

const adviceClipped = "turn the preamp down by 6 dB or more (or put the pad in) before the next take; these words or hits cannot be mended, plan to do them again"

// clipped finds flat tops: at full scale the converter had no more numbers,
// below it something in front of the converter gave way. The second may also be
// a limiter or an effect that is wanted, so a person has to listen.
func clipped(e *Evidence) []model.Finding {
	var out []model.Finding
	for i := range e.Tracks {
		t := &e.Tracks[i]
		if t.Line < 0 {
			continue
		}
		c := t.M.Clipping
		switch {
		case c.FullScale.Count > int(limitClipped.Value):
			weight := model.Stop
			if c.FullScale.Count == 1 && c.FullScale.Frames < 5 {
				weight = model.Listen // one run of three or four: at the edge, hardly to be heard
			}
			f := e.finding(model.KindClipped, weight, t)
			runs(&f, t, c.FullScale)
			measured(&f, float64(c.FullScale.Count), limitClipped)
			f.Evidence = fmt.Sprintf("%s is flat at full scale in %s, first at %s, %.1f ms in all", f.Lines[0],
				count(c.FullScale.Count, "place", "places"), clock(f.StartS.Or(0)), 1000*float64(c.FullScale.Frames)/float64(t.Header.Format.RateHz))
			f.Advice = adviceClipped
			out = append(out, f)
		case float64(c.AtFull) > limitAtFull.Value:
			f := e.finding(model.KindClipped, model.Stop, t)
			s := t.At(t.M.Level.PeakFrame)
			at(&f, s, s)
			measured(&f, float64(c.AtFull), limitAtFull)
			f.Count = int(c.AtFull)
			f.Evidence = fmt.Sprintf("%s is at full scale in %d samples, one or two at a time, first at %s", f.Lines[0], c.AtFull, clock(s))
			f.Advice = adviceClipped
			out = append(out, f)
		case c.FlatTop.Count > int(limitFlatTop.Value):
			f := e.finding(model.KindClipped, model.Listen, t)
			runs(&f, t, c.FlatTop)
			measured(&f, float64(c.FlatTop.Count), limitFlatTop)
			level := "below full scale"
			if c.FlatLevel > 0 {
				level = fmt.Sprintf("at %.1f dBFS", 20*math.Log10(c.FlatLevel))
			}
			f.Evidence = fmt.Sprintf("%s has flat tops %s in %s, first at %s", f.Lines[0], level, count(c.FlatTop.Count, "place", "places"), clock(f.StartS.Or(0)))
			f.Advice = "the preamp, the microphone or an insert clips before the converter: listen, then use the pad or more distance; leave it if a limiter is meant to do this"
			out = append(out, f)
		}
	}
	return out
}
