package desk

import (
	"sort"

	"tidemark/internal/judge"
	"tidemark/internal/model"
)

// chooseHits picks the moments on which a pair is measured: the strongest hits
// of the track, at least hitApartS from each other, first those that no other
// close microphone of the kit has at the same time. Times are seconds from the
// start of the pass, in order.
func chooseHits(e *judge.Evidence, on, most int) []float64 {
	t := &e.Tracks[on]
	type hit struct{ s, score float64 }
	rivals := rivalHits(e, on)
	var loudest float64
	for _, o := range t.M.Onsets.Onsets {
		loudest = max(loudest, float64(o.Peak))
	}
	var hits []hit
	for _, o := range t.M.Onsets.Onsets {
		s := t.At(o.Frame)
		score := float64(o.Peak) / loudest
		i := sort.Search(len(rivals), func(i int) bool { return rivals[i].s >= s-rivalS })
		for ; i < len(rivals) && rivals[i].s <= s+rivalS; i++ {
			score -= 0.6 * rivals[i].strength
		}
		hits = append(hits, hit{s, score})
	}
	sort.SliceStable(hits, func(i, j int) bool { return hits[i].score > hits[j].score })
	var chosen []float64
	for _, h := range hits {
		if len(chosen) == most || h.score < leastHit {
			break
		}
		apart := true
		for _, c := range chosen {
			if d := c - h.s; d < hitApartS && d > -hitApartS {
				apart = false
				break
			}
		}
		if apart {
			chosen = append(chosen, h.s)
		}
	}
	sort.Float64s(chosen)
	return chosen
}

const (
	hitApartS = 0.36 // a hit's window holds no other chosen hit
	rivalS    = 0.03
	// leastHit is the least strength of a hit, of the line's loudest: what lies
	// 14 dB under it on a tom's line is mostly another drum.
	leastHit = 0.2
)

type rival struct{ s, strength float64 }

// rivalHits are the hits of the other close microphones of the kit that do not
// share the source, each as strong as it is on its own line.
func rivalHits(e *judge.Evidence, on int) []rival {
	t := &e.Tracks[on]
	if t.Line < 0 {
		return nil
	}
	own := e.Lines[t.Line]
	if !own.Family.Kit() || own.Family == model.Overhead {
		return nil
	}
	var all []rival
	for i := range e.Tracks {
		o := &e.Tracks[i]
		if o.Line < 0 || o.Pass != t.Pass {
			continue
		}
		l := e.Lines[o.Line]
		switch l.Family {
		case model.Kick, model.Snare, model.Tom:
		default:
			continue
		}
		if l.Family == own.Family && l.Index == own.Index {
			continue
		}
		var loudest float64
		for _, h := range o.M.Onsets.Onsets {
			loudest = max(loudest, float64(h.Peak))
		}
		for _, h := range o.M.Onsets.Onsets {
			if strength := float64(h.Peak) / loudest; strength > 0.4 {
				all = append(all, rival{o.At(h.Frame), strength})
			}
		}
	}
	sort.Slice(all, func(i, j int) bool { return all[i].s < all[j].s })
	return all
}
