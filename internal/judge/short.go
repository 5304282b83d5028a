package judge

import (
	"fmt"
	"sort"

	"tidemark/internal/model"
)

// passEnd is where the recordings of the pass end, in seconds from its start:
// where most of them do within half a second, or else where the last one does.
// Files at another rate say nothing about time.
func (e *Evidence) passEnd(pass int) float64 {
	usual, agreed := e.usual(pass, rateOf)
	var ends []float64
	e.firstChannels(pass, func(t *Track) {
		if !t.Punch && (!agreed || rateOf(t) == usual) {
			ends = append(ends, t.OffsetS+t.DurationS())
		}
	})
	sort.Float64s(ends)
	for i, j := 0, 0; j < len(ends); j++ {
		for ends[j]-ends[i] > limitShort.Value {
			i++
		}
		if 2*(j-i+1) > len(ends) {
			for j+1 < len(ends) && ends[j+1]-ends[i] <= limitShort.Value {
				j++
			}
			return ends[j]
		}
	}
	if len(ends) == 0 {
		return 0
	}
	return ends[len(ends)-1]
}

// short finds files that end before the others of their pass.
func short(e *Evidence) []model.Finding {
	var out []model.Finding
	for p := range e.Passes {
		end := e.passEnd(p)
		usual, agreed := e.usual(p, rateOf)
		e.firstChannels(p, func(t *Track) {
			own := t.OffsetS + t.DurationS()
			if agreed && rateOf(t) != usual {
				return // told by wrong_rate
			}
			if t.Punch || end-own <= limitShort.Value || t.Line < 0 {
				return
			}
			// A file that stops while its line still sounds lost music.
			weight := model.Stop
			if MayBeSilent(e.line(t).Family) {
				weight = model.Note
			}
			f := e.finding(model.KindShort, weight, t)
			measured(&f, end-own, limitShort)
			at(&f, own, end)
			f.Evidence = fmt.Sprintf("%s ends at %s, %.1f s before the rest of %s", f.Files[0], clock(own), end-own, e.Passes[p].Name)
			f.Advice = "see why recording stopped on this track (drive full or too slow, track disarmed) before the next take; what came after is not recorded"
			out = append(out, f)
		})
	}
	return out
}
