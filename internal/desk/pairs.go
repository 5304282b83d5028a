package desk

import (
	"context"
	"runtime"
	"sort"

	"tidemark/internal/acoustics"
	"tidemark/internal/between"
	"tidemark/internal/judge"
	"tidemark/internal/model"
	"tidemark/internal/unit"
)

const (
	// hitsPerPair is how many hits a pair is measured on: enough for a vote, few
	// enough for the work between lines to stay small beside the reading.
	hitsPerPair = 24
	// hitsForFirstLook is after how many of them a pair is looked at that may be
	// clear already.
	hitsForFirstLook = hitsPerPair / 3
	hitLeadS         = 0.02 // a window begins this long before its hit
	hitWindowS       = 0.34
	// maxLagS is the longest difference of arrival looked for: 10 m of air.
	maxLagS = 0.03
)

// comparePairs measures every pair of lines that hear the same source, on the
// hits of the source concerned. Pairs on the same hits come one after another,
// so that a stretch they share is read once.
func comparePairs(ctx context.Context, lib Library, e *judge.Evidence) error {
	// What the meters held is to be used again, not added to.
	runtime.GC()
	tracks := tracksByLine(e)
	relations := model.Relations(e.Lines)
	for p := range e.Passes {
		var pairs []judge.Pair
		for _, r := range relations {
			a, okA := tracks[key{p, r.A}]
			b, okB := tracks[key{p, r.B}]
			on, okOn := tracks[key{p, r.On}]
			if !okA || !okB {
				continue
			}
			if !okOn {
				on = a
			}
			rate := e.Tracks[a].Header.Format.RateHz
			if rate != e.Tracks[b].Header.Format.RateHz || rate != e.Tracks[on].Header.Format.RateHz {
				continue
			}
			pairs = append(pairs, judge.Pair{Relation: r, A: a, B: b, On: on})
		}
		order := make([]int, len(pairs))
		for i := range order {
			order[i] = i
		}
		sort.SliceStable(order, func(i, j int) bool { return pairs[order[i]].On < pairs[order[j]].On })
		if err := measurePairs(ctx, lib, e, pairs, order); err != nil {
			return err
		}
		e.Pairs = append(e.Pairs, pairs...)
	}
	return nil
}

// pairsAtOnce bounds the pairs that are measured side by side: each has about
// half a megabyte.
const pairsAtOnce = 6

// measurePairs fills in the readings of the pairs, in the order given: those on
// the same hits side by side, so that a line is read and transformed once for
// all of its pairs.
func measurePairs(ctx context.Context, lib Library, e *judge.Evidence, pairs []judge.Pair, order []int) error {
	ears := newEars(lib)
	defer ears.close()
	on, hits := -1, []float64(nil)
	for len(order) > 0 {
		n := 1
		for n < len(order) && n < pairsAtOnce && pairs[order[n]].On == pairs[order[0]].On {
			n++
		}
		if first := pairs[order[0]].On; first != on {
			on, hits = first, chooseHits(e, first, hitsPerPair)
		}
		if err := ears.measure(ctx, e, pairs, order[:n], hits); err != nil {
			return err
		}
		order = order[n:]
	}
	return nil
}

// measure fills in the readings of pairs of one rate on the same hits.
func (s *ears) measure(ctx context.Context, e *judge.Evidence, pairs []judge.Pair, which []int, hits []float64) error {
	rateHz := e.Tracks[pairs[which[0]].A].Header.Format.RateHz
	rate := float64(rateHz)
	l := s.lagsFor(rateHz, maxLagS)
	window := int(hitWindowS * rate)
	at := make([]*between.Pair, len(which))
	for j := range which {
		at[j] = s.pair(l)
		defer s.rest(l, at[j])
	}
	hits = spread(hits)
	read := make([]*between.PairReading, len(which)) // of those that need no more hits
	open := len(which)
	for n, hit := range hits {
		if err := ctx.Err(); err != nil {
			return err
		}
		if n == hitsForFirstLook {
			for j := range which {
				if r := at[j].Reading(); beyondDoubt(r) {
					read[j] = &r
					open--
				}
			}
		}
		if open == 0 {
			break
		}
		s.at(l, hit)
		for j, i := range which {
			if read[j] != nil {
				continue
			}
			if err := s.add(e, at[j], &pairs[i], window); err != nil {
				return err
			}
		}
	}
	for j, i := range which {
		var r between.PairReading
		if read[j] != nil {
			r = *read[j]
		} else {
			r = at[j].Reading()
		}
		if pairs[i].Relation.Kind == model.MidSide {
			// Left and right of one place hear it together: an arrival says nothing.
			r.DelaySamples, r.DelaySpread, r.DelaySharpness = unit.None[float64](), unit.None[float64](), unit.None[float64]()
			r.Polarity, r.PolarityConfidence = between.Unclear, 0
		}
		pairs[i].Reading = believable(r, pairs[i].Relation.Kind, rateHz)
	}
	return nil
}

// spread puts every third of some moments first, so that a third of them tells
// of the whole take.
func spread(hits []float64) []float64 {
	out := make([]float64, 0, len(hits))
	const step = hitsPerPair / hitsForFirstLook
	for from := range step {
		for i := from; i < len(hits); i += step {
			out = append(out, hits[i])
		}
	}
	return out
}

// beyondDoubt says that a pair needs no further hits: it shares nothing, or it agrees
// in all, far from any limit that somebody may set.
func beyondDoubt(r between.PairReading) bool {
	if r.Hits < hitsForFirstLook*3/4 {
		return false
	}
	if !r.DelaySamples.Defined() {
		return r.Coherence.Or(1) < strangersCoherence/2
	}
	if r.Polarity != between.Same || r.PolarityConfidence < 0.7 || r.DelaySharpness.Or(0) < 3*sharpDelay || r.Coherence.Or(0) < 0.6 || r.MonoLossMatchedDB.Or(-100) < -2 {
		return false
	}
	for _, o := range r.Octaves {
		if o.MonoLossMatchedDB.Or(0) < -3 {
			return false
		}
	}
	return true
}

// add adds the present moment to a pair. A mid-side pair, mid first, is decoded
// to left and right, and these are measured.
func (s *ears) add(e *judge.Evidence, p *between.Pair, pair *judge.Pair, window int) error {
	if pair.Relation.Kind == model.MidSide {
		mid, err := s.listen(e, &e.Tracks[pair.A], s.now.atS-hitLeadS, window)
		if err != nil {
			return err
		}
		left, right := append([]float32(nil), mid...), make([]float32, window)
		side, err := s.listen(e, &e.Tracks[pair.B], s.now.atS-hitLeadS, window)
		if err != nil {
			return err
		}
		if len(left) == window && len(side) == window {
			between.DecodeMidSide(left, right, left, side)
			p.Add(left, right)
		}
		return nil
	}
	a, err := s.hit(e, pair.A, window)
	if err != nil {
		return err
	}
	b, err := s.hit(e, pair.B, window)
	if err != nil {
		return err
	}
	if a != nil && b != nil {
		p.AddHits(a, b)
	}
	return nil
}

// believable takes back a delay that cannot be the direct sound: a correlation
// that does not stand out of what unrelated sounds give by chance, or an
// overhead that would hear a drum before the microphone at its head.
func believable(r between.PairReading, kind model.RelationKind, rateHz int) between.PairReading {
	delay, ok := r.DelaySamples.Get()
	if !ok {
		return r
	}
	rate := float64(rateHz)
	agreed := r.Hits >= hitsForKin && r.DelaySpread.Or(rate)/rate <= agreedS && r.Coherence.Or(0) >= kinCoherence
	stands := float64(r.DelaySharpness.Or(0)) >= sharpDelay || agreed
	if !stands || kind == model.KitPair && delay < 0 {
		r.DelaySamples, r.DelaySpread = unit.None[float64](), unit.None[float64]()
		r.Polarity, r.PolarityConfidence = between.Unclear, 0
	}
	return r
}

// agreedS is how closely the hits must agree on a delay that does not stand out
// sharply, as a bass does not: half of the half period of its highest notes.
const agreedS = 0.0005

// sharpDelay is how far the peak of a correlation must stand over the rest:
// unrelated noise gives up to about 5 (see between.PairReading).
const sharpDelay = 5

type key struct{ pass, line int }

// tracksByLine finds the track that is a line in a pass; of several (a fix
// punched in) the longest.
func tracksByLine(e *judge.Evidence) map[key]int {
	of := map[key]int{}
	for i := range e.Tracks {
		t := &e.Tracks[i]
		if t.Line < 0 {
			continue
		}
		k := key{t.Pass, t.Line}
		if old, ok := of[k]; !ok || e.Tracks[old].M.Level.Frames < t.M.Level.Frames {
			of[k] = i
		}
	}
	return of
}

func pairReport(e *judge.Evidence, p judge.Pair) PairReport {
	name := func(track int) string { return e.Lines[e.Tracks[track].Line].Name() }
	r := p.Reading
	out := PairReport{A: name(p.A), B: name(p.B), On: name(p.On), Relation: string(p.Relation.Kind), Pass: e.Passes[e.Tracks[p.A].Pass].Name,
		Hits: r.Hits, Polarity: string(r.Polarity), DelaySamples: rounded(r.DelaySamples), Coherence: rounded(r.Coherence),
		Correlation: rounded(r.Correlation), MonoLossDB: rounded(r.MonoLossDB),
		CoherenceBands: []BandValue{}, MonoLossBands: []BandValue{}}
	if d, ok := r.DelaySamples.Get(); ok {
		rate := e.Tracks[p.A].Header.Format.RateHz
		way := acoustics.DistanceOfSamples(d, rate, acoustics.SpeedOfSound(judge.AirC))
		out.DelayMS = rounded(unit.Some(1000 * d / float64(rate)))
		out.DistanceCM = rounded(unit.Some(acoustics.Centimetres(way)))
		out.DistanceIn = rounded(unit.Some(acoustics.Inches(way)))
	}
	for _, b := range r.Octaves {
		out.CoherenceBands = append(out.CoherenceBands, BandValue{b.NominalHz, rounded(b.Coherence)})
		out.MonoLossBands = append(out.MonoLossBands, BandValue{b.NominalHz, rounded(b.MonoLossDB)})
	}
	return out
}
