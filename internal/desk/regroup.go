package desk

import (
	"context"
	"fmt"
	"math"
	"sort"

	"tidemark/internal/between"
	"tidemark/internal/judge"
	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// All common practice, no source.
const (
	// strangersCoherence is under which two lines of one source share too little
	// to be that.
	strangersCoherence = 0.12
	// kinCoherence is from which another line is the missing partner, and
	// kinMargin how far it must be ahead of the partner and of the next best.
	kinCoherence = 0.45
	kinMargin    = 0.15
	// hitsForKin is how many hits each candidate is listened to: fewer than for
	// a pair, since there are many; and after the first hitsForStrangers of them
	// those with less than half of kinCoherence are left.
	hitsForKin       = 8
	hitsForStrangers = 3
	// strangersMost is how many pairs that share nothing are followed up, those
	// that share least first. A cable in the wrong input makes two of them; where
	// there are many, the list is of another day, and no ear can set it right.
	strangersMost = 4
	// kinLagS is the longest difference of arrival of kin, the most that nearS
	// says and a little, and kinWindowS what is listened to of each hit.
	kinLagS    = 0.008
	kinWindowS = 0.17
)

// findSwaps adds what the sound of the take suggests about lines that the line
// check has not told of already.
func findSwaps(ctx context.Context, lib Library, e *judge.Evidence) error {
	told := map[int]bool{}
	for _, s := range e.Swaps {
		for _, l := range s.Ring {
			told[l] = true
		}
	}
	if err := regroup(ctx, lib, e, told); err != nil {
		return err
	}
	for _, s := range judge.Likely(e) {
		if !told[s.Ring[0]] && !told[s.Ring[1]] {
			e.Swaps = append(e.Swaps, s)
		}
	}
	return nil
}

// nearS is how far apart in time two lines of one source hear it at most: a drum
// seen from both sides is near, leakage from the next drum is not.
func nearS(k model.RelationKind) (s float64, judged bool) {
	switch k {
	case model.TopBottom:
		return 0.0012, true
	case model.InOut:
		return 0.002, true
	case model.DIAmp:
		return 0.006, true
	case model.StereoPair:
		return 0.003, true
	}
	return 0, false
}

// regroup looks, without a line check, for lines whose sound is not their own:
// where two lines of one source have nothing in common, every other line is
// held against each of them. If one fits as a partner would, it carries the
// partner's sound. It is only listened for where something is wrong, so it costs
// nothing in a take that is as it should be; and it is never certain. Lines in
// told are left alone, and those it tells of are added.
func regroup(ctx context.Context, lib Library, e *judge.Evidence, told map[int]bool) error {
	ears := newEars(lib)
	defer ears.close()
	for _, p := range strangers(e) {
		reach, _ := nearS(p.Relation.Kind)
		for _, side := range [2][2]int{{p.A, p.B}, {p.B, p.A}} {
			stays, gone := side[0], side[1]
			if told[e.Tracks[gone].Line] {
				continue
			}
			kin, coherence, err := findKin(ctx, ears, e, stays, gone, reach)
			if err != nil {
				return err
			}
			if kin < 0 || told[e.Tracks[kin].Line] {
				continue
			}
			a, b := e.Tracks[gone].Line, e.Tracks[kin].Line
			told[a], told[b] = true, true
			e.Swaps = append(e.Swaps, judge.Swap{Ring: []int{a, b}, By: "sound in the take", Pass: e.Tracks[gone].Pass, StartS: unit.None[float64](),
				Margin: round(10 * math.Log10(coherence/math.Max(p.Reading.Coherence.Or(0), 0.01))), Unit: "dB",
				Text: fmt.Sprintf("by the sound in the take: %s has nothing in common with %s and much with %s, coherence %.2f against %.2f",
					e.Lines[e.Tracks[stays].Line].Name(), e.Lines[a].Name(), e.Lines[b].Name(), coherence, p.Reading.Coherence.Or(0))})
			break
		}
	}
	return nil
}

// strangers are the pairs of one source that share nothing, those followed up.
func strangers(e *judge.Evidence) []judge.Pair {
	var all []judge.Pair
	for _, p := range e.Pairs {
		if _, judged := nearS(p.Relation.Kind); judged && p.Reading.Hits >= hitsForKin/2 && p.Reading.Coherence.Or(1) < strangersCoherence {
			all = append(all, p)
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].Reading.Coherence.Or(1) < all[j].Reading.Coherence.Or(1) })
	return all[:min(len(all), strangersMost)]
}

// findKin is the track that hears the source of another as its partner should,
// −1 where none does or several may.
func findKin(ctx context.Context, ears *ears, e *judge.Evidence, of, not int, reachS float64) (kin int, coherence float64, err error) {
	t := &e.Tracks[of]
	rate := float64(t.Header.Format.RateHz)
	hits := chooseHits(e, of, hitsForKin)
	kin = -1
	next := 0.0
	l := ears.lagsFor(t.Header.Format.RateHz, kinLagS)
	own, err := ears.heard(e, of, l, hits)
	if err != nil {
		return -1, 0, err
	}
	p := ears.glances(l)
	for i := range e.Tracks {
		o := &e.Tracks[i]
		if i == of || i == not || o.Pass != t.Pass || o.Line < 0 || o.Punch || o.Header.Format.RateHz != t.Header.Format.RateHz || hearsAll(e.Lines[o.Line].Family) {
			continue
		}
		if err := ctx.Err(); err != nil {
			return -1, 0, err
		}
		r, err := ears.glance(e, p, l, own, i, hits)
		ears.shut(o.Recording)
		if err != nil {
			return -1, 0, err
		}
		c, ok := r.Coherence.Get()
		delay, found := r.DelaySamples.Get()
		if !ok || !found || r.Hits < hitsForKin/2 || math.Abs(delay)/rate > reachS {
			continue
		}
		if c > coherence {
			kin, coherence, next = i, c, coherence
		} else {
			next = math.Max(next, c)
		}
	}
	if coherence < kinCoherence || coherence-next < kinMargin {
		return -1, 0, nil
	}
	return kin, coherence, nil
}

// heard is a track at each of the hits, nil where it has no sound.
func (s *ears) heard(e *judge.Evidence, track int, l *between.Lags, hits []float64) ([]*between.Hit, error) {
	t := &e.Tracks[track]
	frames := int(kinWindowS * float64(t.Header.Format.RateHz))
	out := make([]*between.Hit, len(hits))
	for j, at := range hits {
		x, err := s.listen(e, t, at-hitLeadS, frames)
		if err != nil {
			return nil, err
		}
		if len(x) == frames {
			for len(s.own) <= j {
				s.own = append(s.own, nil)
			}
			s.own[j] = l.Hit(s.own[j], x)
			out[j] = s.own[j]
		}
	}
	return out, nil
}

// glances is the Pair for glances.
func (s *ears) glances(l *between.Lags) *between.Pair {
	if s.looking == nil || s.lookingAt != l {
		s.looking, s.lookingAt = l.Glance(), l
	}
	return s.looking
}

// glance holds a track against one that was heard, on as many hits as it takes.
func (s *ears) glance(e *judge.Evidence, p *between.Pair, l *between.Lags, own []*between.Hit, track int, hits []float64) (between.PairReading, error) {
	t := &e.Tracks[track]
	frames := int(kinWindowS * float64(t.Header.Format.RateHz))
	p.Reset()
	for j, at := range hits {
		if own[j] == nil {
			continue
		}
		x, err := s.listen(e, t, at-hitLeadS, frames)
		if err != nil {
			return between.PairReading{}, err
		}
		if len(x) != frames {
			continue
		}
		s.theirs = l.Hit(s.theirs, x)
		p.AddHits(own[j], s.theirs)
		if j+1 == hitsForStrangers {
			if r := p.Reading(); r.Coherence.Or(1) < kinCoherence/2 {
				return r, nil
			}
		}
	}
	return p.Reading(), nil
}
