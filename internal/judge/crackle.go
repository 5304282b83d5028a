package judge

import (
	"fmt"
	"sort"

	"tidemark/internal/meter"
	"tidemark/internal/model"
)

const (
	// apartBeforeS and apartAfterS are how far from a click another line's hit may
	// lie and still be the same event: sound needs 20 ms for 7 m.
	apartBeforeS = 0.025
	apartAfterS  = 0.025
	// togetherS: clicks of two lines this close are one electrical or clock event.
	togetherS = 0.0015
)

// crackle finds clicks that belong to the line and not to the music: no other
// line of the pass has a hit or click at the same time. A drum reaches several
// microphones; a bad connector reaches one track.
func crackle(e *Evidence) []model.Finding {
	var out []model.Finding
	for i := range e.Tracks {
		t := &e.Tracks[i]
		if t.Line < 0 || t.M.Clicks.Count == 0 {
			continue
		}
		lonely := lonelyClicks(e, t)
		if len(lonely) < int(limitCrackle.Value) {
			continue
		}
		// A crackle comes in bursts; a slow scatter of ticks must be many to count.
		bursts := 0
		for k := 2; k < len(lonely); k++ {
			if t.At(lonely[k].Frame)-t.At(lonely[k-2].Frame) < 2 {
				bursts++
			}
		}
		weight := model.Listen
		if float64(len(lonely)) >= limitCrackleStop.Value && bursts >= 3 && companions(e, t) >= 1 {
			weight = model.Stop
		}
		f := e.finding(model.KindCrackle, weight, t)
		limit := limitCrackle
		if weight == model.Stop {
			limit = limitCrackleStop
		}
		total := len(lonely)
		if t.M.Clicks.Count > len(t.M.Clicks.Clicks) { // not all were kept: scale up
			total = t.M.Clicks.Count * len(lonely) / len(t.M.Clicks.Clicks)
		}
		measured(&f, float64(total), limit)
		f.Count = total
		for k, c := range lonely {
			if k == maxPlaces {
				break
			}
			f.Places = append(f.Places, model.Place{Line: f.Lines[0], StartS: round3(t.At(c.Frame)), EndS: round3(t.At(c.Frame + c.Frames))})
		}
		first, last := lonely[0], lonely[len(lonely)-1]
		at2(&f, t.At(first.Frame), t.At(last.Frame+last.Frames))
		f.Evidence = fmt.Sprintf("%s crackles: %s that no other line hears, from %s to %s", f.Lines[0], count(total, "click", "clicks"), clock(t.At(first.Frame)), clock(t.At(last.Frame)))
		f.Advice = "swap the cable first, then the microphone, and write down which one it was; a failing capsule or phantom supply crackles before it dies"
		if electric(e.line(t)) {
			f.Advice = "swap the cable first, then the box, and write down which one it was; look at the jack and its socket"
		}
		out = append(out, f)
	}
	return out
}

// at2 sets the extent of a finding that already has its places.
func at2(f *model.Finding, startS, endS float64) {
	places := f.Places
	at(f, startS, endS)
	f.Places = places
}

// companions counts the other lines of the pass.
func companions(e *Evidence, t *Track) int {
	n := 0
	for i := range e.Tracks {
		if o := &e.Tracks[i]; o != t && o.Pass == t.Pass && o.Line >= 0 {
			n++
		}
	}
	return n
}

func lonelyClicks(e *Evidence, t *Track) []meter.Click {
	var hits, ticks []float64
	for i := range e.Tracks {
		o := &e.Tracks[i]
		if o == t || o.Pass != t.Pass {
			continue
		}
		for _, h := range o.M.Onsets.Onsets {
			hits = append(hits, o.At(h.Frame))
		}
		for _, c := range o.M.Clicks.Clicks {
			ticks = append(ticks, o.At(c.Frame))
		}
	}
	sort.Float64s(hits)
	sort.Float64s(ticks)
	near := func(xs []float64, from, to float64) bool {
		i := sort.SearchFloat64s(xs, from)
		return i < len(xs) && xs[i] <= to
	}
	var lonely []meter.Click
	for _, c := range t.M.Clicks.Clicks {
		s := t.At(c.Frame)
		if near(hits, s-apartBeforeS, s+apartAfterS) || near(ticks, s-togetherS, s+togetherS) {
			continue
		}
		lonely = append(lonely, c)
	}
	return lonely
}
