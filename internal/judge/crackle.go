package judge

import (
	"fmt"
	"math"
	"sort"

	"tidemark/internal/meter"
	"tidemark/internal/model"
)

const (
	// sameEventS is how far apart two lines may hear one event: 8 m of air.
	sameEventS = 0.025
	// burstS is the stretch in which three clicks make a burst.
	burstS = 2.0
	// A hit of another line counts as at the same time as a click from
	// hitBeforeS before to hitAfterS after it.
	hitBeforeS, hitAfterS = 0.004, 0.014
	// musicalShare and musicalZ: clicks of which this share falls on the hits of
	// one other line, that many standard deviations over chance, belong to the
	// music. Common practice, no source.
	musicalShare, musicalZ = 0.3, 3.5
	// leastHits is how many hits another line must have to say anything.
	leastHits = 12
)

// crackle finds clicks that belong to the line and not to the music.
//
// A drum or a clap reaches several microphones, and players play in time; a bad
// connector reaches one track, whenever it likes. So clicks that another line
// clicks with are left out, and clicks that as a whole keep time with another
// line's hits are music.
func crackle(e *Evidence) []model.Finding {
	out := clockTicks(e)
	for i := range e.Tracks {
		t := &e.Tracks[i]
		if t.Line < 0 || t.M.Clicks.Count == 0 || MayBeSilent(e.line(t).Family) {
			continue
		}
		lonely := lonelyClicks(e, t)
		bursts := burstsOf(t, lonely)
		if float64(len(lonely)) < limitCrackle.Value || bursts == 0 && float64(len(lonely)) < limitScatter.Value {
			continue
		}
		musical, heard := keepsTime(e, t, lonely)
		if musical {
			continue
		}
		weight, limit := model.Listen, limitCrackle
		if bursts == 0 {
			limit = limitScatter
		}
		if float64(len(lonely)) >= limitCrackleStop.Value && bursts >= 3 && heard && !e.strokesLikeClicks(t) {
			weight, limit = model.Stop, limitCrackleStop
		}
		f := e.finding(model.KindCrackle, weight, t)
		total := len(lonely)
		if t.M.Clicks.Count > len(t.M.Clicks.Clicks) { // not all were kept: scale up
			total = t.M.Clicks.Count * len(lonely) / len(t.M.Clicks.Clicks)
		}
		measured(&f, float64(total), limit)
		f.Count = total
		first, last := lonely[0], lonely[len(lonely)-1]
		at(&f, t.At(first.Frame), t.At(last.Frame+last.Frames))
		f.Places = nil
		for _, c := range lonely {
			addPlace(&f, t.At(c.Frame), t.At(c.Frame+c.Frames))
		}
		f.Evidence = fmt.Sprintf("%s crackles: %s that no other line hears, from %s to %s", f.Lines[0], count(total, "click", "clicks"), clock(t.At(first.Frame)), clock(t.At(last.Frame)))
		f.Advice = "swap the cable first, then the microphone, and write down which one it was; a failing capsule or phantom supply crackles before it dies"
		if electric(e.line(t)) {
			f.Advice = "swap the cable first, then the box, and write down which one it was; look at the jack and its socket"
		}
		out = append(out, f)
	}
	return out
}

// strokesLikeClicks says whether what is played may itself be clicks: on a
// percussion line, and on those that hear a percussionist from afar. Nothing
// there is sure enough to stop for.
func (e *Evidence) strokesLikeClicks(t *Track) bool {
	switch e.line(t).Family {
	case model.Percussion:
		return true
	case model.Overhead, model.Room:
		for i := range e.Tracks {
			if o := &e.Tracks[i]; o.Pass == t.Pass && e.line(o).Family == model.Percussion {
				return true
			}
		}
	}
	return false
}

// burstsOf counts the clicks that are the third within burstS.
func burstsOf(t *Track, clicks []meter.Click) int {
	n := 0
	for k := 2; k < len(clicks); k++ {
		if t.At(clicks[k].Frame)-t.At(clicks[k-2].Frame) < burstS {
			n++
		}
	}
	return n
}

// fedAlike says whether two lines carry one electric signal: a crackle of the
// instrument's cable is on both.
func fedAlike(e *Evidence, a, b *Track) bool {
	if a.Line < 0 || b.Line < 0 {
		return false
	}
	for _, p := range e.Pairs {
		if p.Relation.Kind == model.DIAmp && (p.Relation.A == a.Line && p.Relation.B == b.Line || p.Relation.A == b.Line && p.Relation.B == a.Line) {
			return true
		}
	}
	return false
}

// lonelyClicks are the clicks of a track that no other line of the pass clicks with.
func lonelyClicks(e *Evidence, t *Track) []meter.Click {
	var ticks []float64
	for i := range e.Tracks {
		o := &e.Tracks[i]
		if o == t || o.Pass != t.Pass || fedAlike(e, t, o) {
			continue
		}
		for _, c := range o.M.Clicks.Clicks {
			ticks = append(ticks, o.At(c.Frame))
		}
	}
	sort.Float64s(ticks)
	var lonely []meter.Click
	for _, c := range t.M.Clicks.Clicks {
		if s := t.At(c.Frame); !within(ticks, s-sameEventS, s+sameEventS) {
			lonely = append(lonely, c)
		}
	}
	return lonely
}

// within says whether one of the sorted times lies in a stretch.
func within(times []float64, from, to float64) bool {
	i := sort.SearchFloat64s(times, from)
	return i < len(times) && times[i] <= to
}

// keepsTime says whether the clicks fall on the hits of some other line more
// often than chance, and whether there was any line to hold them against.
// Chance is what the same clicks do when moved in time by odd amounts.
func keepsTime(e *Evidence, t *Track, clicks []meter.Click) (musical, heard bool) {
	shifts := []float64{-0.43, -0.31, -0.19, -0.083, 0.067, 0.171, 0.287, 0.397}
	for i := range e.Tracks {
		o := &e.Tracks[i]
		if o == t || o.Pass != t.Pass || fedAlike(e, t, o) || len(o.M.Onsets.Onsets) < leastHits {
			continue
		}
		heard = true
		hits := make([]float64, len(o.M.Onsets.Onsets))
		for k, h := range o.M.Onsets.Onsets {
			hits[k] = o.At(h.Frame)
		}
		on, chance := 0, 0
		for _, c := range clicks {
			s := t.At(c.Frame)
			if within(hits, s-hitBeforeS, s+hitAfterS) {
				on++
			}
			for _, d := range shifts {
				if within(hits, s+d-hitBeforeS, s+d+hitAfterS) {
					chance++
				}
			}
		}
		n := float64(len(clicks))
		share := float64(on) / n
		p := math.Min(0.9, math.Max(0.02, float64(chance)/(n*float64(len(shifts)))))
		if share >= musicalShare && (share-p)/math.Sqrt(p*(1-p)/n) >= musicalZ {
			return true, true
		}
	}
	return false, heard
}
