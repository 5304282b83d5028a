package judge

import (
	"fmt"
	"strings"

	"tidemark/internal/model"
)

// hum finds steady mains hum.
func hum(e *Evidence) []model.Finding {
	var out []model.Finding
	for i := range e.Tracks {
		t := &e.Tracks[i]
		h := t.M.Hum
		level, ok := h.Level.Get()
		if t.Line < 0 || !h.Known || h.FundamentalHz == 0 || !ok || float64(level) < limitHumNote.Value {
			continue
		}
		weight, limit := model.Listen, limitHum
		if float64(level) < limitHum.Value {
			weight, limit = model.Note, limitHumNote
		}
		f := e.finding(model.KindHum, weight, t)
		measured(&f, float64(level), limit)
		from, to := t.OffsetS, t.OffsetS+t.DurationS()
		if h.To > h.From {
			from, to = t.At(h.From), t.At(h.To)
		}
		at(&f, from, to)
		f.Evidence = fmt.Sprintf("%s hums at %.2f Hz, %.0f dBFS in all, %s", f.Lines[0], h.FundamentalHz, float64(level), harmonicsInWords(t))
		f.Advice = "move the cable away from mains leads, dimmers and transformers, and isolate an unbalanced run with a transformer or DI; " +
			"never lift or defeat a protective earth: if it stays, ask the house technician or a licensed electrician"
		out = append(out, f)
	}
	return out
}

func harmonicsInWords(t *Track) string {
	var parts []string
	for i, h := range t.M.Hum.Harmonics {
		if i == 4 {
			parts = append(parts, fmt.Sprintf("and %d more", len(t.M.Hum.Harmonics)-i))
			break
		}
		parts = append(parts, fmt.Sprintf("%.0f Hz at %.0f", h.Hz, h.LevelDBFS))
	}
	return strings.Join(parts, ", ")
}
