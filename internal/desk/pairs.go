package desk

import (
	"context"
	"io"
	"math"
	"sort"

	"tidemark/internal/acoustics"
	"tidemark/internal/between"
	"tidemark/internal/judge"
	"tidemark/internal/model"
	"tidemark/internal/sound"
	"tidemark/internal/unit"
)

const (
	// hitsPerPair is how many hits a pair is measured on: enough for a vote, few
	// enough for the work between lines to stay small beside the reading.
	hitsPerPair = 24
	hitLeadS    = 0.02 // a window begins this long before its hit
	hitWindowS  = 0.34
	// maxLagS is the longest difference of arrival looked for: 10 m of air.
	maxLagS = 0.03
)

// comparePairs measures every pair of lines that hear the same source, on the
// hits of the source concerned. Pairs on the same hits come one after another,
// so that a stretch they share is read once.
func comparePairs(ctx context.Context, lib Library, e *judge.Evidence) error {
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

// measurePairs fills in the readings of the pairs, in the order given.
func measurePairs(ctx context.Context, lib Library, e *judge.Evidence, pairs []judge.Pair, order []int) error {
	ears := newEars(lib)
	defer ears.close()
	on, hits := -1, []float64(nil)
	for _, i := range order {
		if err := ctx.Err(); err != nil {
			return err
		}
		pair := &pairs[i]
		if pair.On != on {
			on, hits = pair.On, chooseHits(e, pair.On, hitsPerPair)
			ears.forget()
		}
		r, err := ears.pair(e, &e.Tracks[pair.A], &e.Tracks[pair.B], hits, pair.Relation.Kind)
		if err != nil {
			return err
		}
		pair.Reading = believable(r, pair.Relation.Kind, e.Tracks[pair.A].Header.Format.RateHz)
	}
	return nil
}

// pair measures two tracks against each other on hits. A mid-side pair, mid
// first, is decoded to left and right, and these are measured.
func (s *ears) pair(e *judge.Evidence, a, b *judge.Track, hits []float64, kind model.RelationKind) (between.PairReading, error) {
	decode := kind == model.MidSide
	rate := float64(a.Header.Format.RateHz)
	m := between.NewPair(a.Header.Format.RateHz, int(maxLagS*rate))
	window := int(hitWindowS * rate)
	var left, right []float32
	if decode {
		left, right = make([]float32, window), make([]float32, window)
	}
	for _, at := range hits {
		x, err := s.listen(e, a, at-hitLeadS, window)
		if err != nil {
			return between.PairReading{}, err
		}
		y, err := s.listen(e, b, at-hitLeadS, window)
		if err != nil {
			return between.PairReading{}, err
		}
		if len(x) != window || len(y) != window {
			continue
		}
		if decode {
			between.DecodeMidSide(left, right, x, y)
			x, y = left, right
		}
		m.Add(x, y)
	}
	r := m.Reading()
	if decode {
		// Left and right of one place hear it together: an arrival says nothing.
		r.DelaySamples, r.DelaySpread, r.DelaySharpness = unit.None[float64](), unit.None[float64](), unit.None[float64]()
		r.Polarity, r.PolarityConfidence = between.Unclear, 0
	}
	return r, nil
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

// ears reads short stretches of tracks. It keeps readers open, since pairs share
// their tracks, and the stretches heard until it is told to forget them.
type ears struct {
	lib     Library
	readers map[int]*ear
	block   map[int]*sound.Block // by number of channels
}

type ear struct {
	r      sound.Reader
	closer io.Closer
	heard  map[stretch][]float32
}

// stretch is where something was heard; a pair's stretches are all of one length.
type stretch struct {
	first   int64 // frame
	channel int
}

func newEars(lib Library) *ears {
	return &ears{lib: lib, readers: map[int]*ear{}, block: map[int]*sound.Block{}}
}

// forget drops the stretches heard so far.
func (s *ears) forget() {
	for _, e := range s.readers {
		clear(e.heard)
	}
}

func (s *ears) close() {
	for _, e := range s.readers {
		e.closer.Close()
	}
}

// listen returns frames of a track from a time of its pass on, none where they
// reach beyond its recording.
func (s *ears) listen(e *judge.Evidence, t *judge.Track, startS float64, frames int) ([]float32, error) {
	rate := float64(t.Header.Format.RateHz)
	first := int64(math.Round((startS - t.OffsetS) * rate))
	if first < 0 || first+int64(frames) > t.M.Level.Frames {
		return nil, nil
	}
	k, err := s.open(e, t.Recording)
	if err != nil {
		return nil, err
	}
	id := stretch{first, t.Channel}
	if x, ok := k.heard[id]; ok && len(x) == frames {
		return x, nil
	}
	if err := k.r.SeekFrame(first); err != nil {
		return nil, err
	}
	channels := t.Header.Format.Channels
	b := s.block[channels]
	if b == nil {
		b = sound.NewBlock(channels, sound.BlockFrames)
		s.block[channels] = b
	}
	x := make([]float32, 0, frames)
	for len(x) < frames {
		if err := k.r.Read(b); err == io.EOF {
			break
		} else if err != nil {
			return nil, err
		}
		x = append(x, b.Channels[t.Channel][:min(b.Frames(), frames-len(x))]...)
	}
	k.heard[id] = x
	return x, nil
}

// readersMost bounds the recordings held open at once.
const readersMost = 48

func (s *ears) open(e *judge.Evidence, recording int) (*ear, error) {
	if k, ok := s.readers[recording]; ok {
		return k, nil
	}
	if len(s.readers) >= readersMost {
		for i, k := range s.readers {
			k.closer.Close()
			delete(s.readers, i)
		}
	}
	r, closer, err := s.lib.Open(e.Recordings[recording].Name)
	if err != nil {
		return nil, err
	}
	k := &ear{r, closer, map[stretch][]float32{}}
	s.readers[recording] = k
	return k, nil
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
