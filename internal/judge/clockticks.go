package judge

import (
	"fmt"
	"sort"
	"strings"

	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// All common practice, no source.
const (
	// oneInstantS: no sound reaches microphones apart so nearly at once.
	oneInstantS = 0.0004
	// instantLines and instantShare: so many of a pass's lines, and so large a
	// share of them, must tick together.
	instantLines = 4
	instantShare = 0.6
	// instantsLeast is how many such ticks make a finding.
	instantsLeast = 3
)

// tick is one click of a track.
type tick struct {
	s     float64 // from the start of the pass
	track int     // index into Tracks
}

// clockTicks finds clicks that most lines of a pass have at one instant. Air
// does not do that, and neither does a cable: it is the clock, a buffer or the
// drive. It is a kind of crackle that no single line can be blamed for.
func clockTicks(e *Evidence) []model.Finding {
	var out []model.Finding
	for p, pass := range e.Passes {
		var ticks []tick
		lines := 0
		for i := range e.Tracks {
			t := &e.Tracks[i]
			if t.Pass != p || t.Line < 0 || t.Punch {
				continue
			}
			lines++
			for _, c := range t.M.Clicks.Clicks {
				ticks = append(ticks, tick{t.At(c.Frame), i})
			}
		}
		at, hit := instants(ticks, max(instantLines, int(instantShare*float64(lines)+0.5)))
		if len(at) < instantsLeast {
			continue
		}
		f := model.Finding{ID: strings.Join([]string{string(model.KindCrackle), pass.Name, "all"}, "/"), Kind: model.KindCrackle, Weight: model.Stop, Pass: pass.Name,
			Count: len(at), Value: unit.Some(float64(len(at))), Unit: "ticks", Limit: unit.Some(float64(instantsLeast)), LimitSource: common, Files: []string{}}
		for i := range e.Tracks {
			if hit[i] {
				f.Lines = append(f.Lines, e.name(&e.Tracks[i]))
				f.Files = appendNew(f.Files, e.Recordings[e.Tracks[i].Recording].Name)
			}
		}
		for _, s := range at {
			addPlace(&f, s, s)
		}
		f.StartS, f.EndS = unit.Some(round3(at[0])), unit.Some(round3(at[len(at)-1]))
		f.Evidence = fmt.Sprintf("%s, each at one instant on most lines (%d of %d have them), first at %s", count(len(at), "tick", "ticks"), len(f.Lines), lines, clock(at[0]))
		f.Advice = "no microphone or cable does this: look at the clock source, the buffer and the drive, make a short test recording and mark the take"
		out = append(out, f)
	}
	return out
}

// instants finds the times at which need or more tracks tick at once, and the
// tracks that do. It puts the ticks in order.
func instants(ticks []tick, need int) (at []float64, hit map[int]bool) {
	sort.Slice(ticks, func(i, j int) bool { return ticks[i].s < ticks[j].s })
	hit = map[int]bool{}
	for i := 0; i < len(ticks); {
		j, on := i, map[int]bool{}
		for j < len(ticks) && ticks[j].s-ticks[i].s <= oneInstantS {
			on[ticks[j].track] = true
			j++
		}
		if len(on) < need {
			i++
			continue
		}
		at = append(at, ticks[i].s)
		for track := range on {
			hit[track] = true
		}
		i = j
	}
	return at, hit
}
