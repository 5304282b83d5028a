package curve

import (
	"context"
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"slices"
	"sync"
	"time"

	"tidemark/bench/faults/harm"
	"tidemark/bench/faults/material"
	"tidemark/bench/faults/score"
	"tidemark/bench/faults/stage"
	"tidemark/internal/model"
)

// Settings are what a run is made of; they settle every sample.
type Settings struct {
	Seed    uint64
	Takes   int
	Trials  int // of each ladder and step in a take
	Seconds float64
	RateHz  int
	Jobs    int // takes side by side; changes nothing but the time
	Ladders []*Ladder
	Told    func(done, of int, what string) // progress; may be nil
}

// Run climbs all ladders on all takes.
func Run(ctx context.Context, set Settings, store *material.Store) ([]Result, error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	out := make([]Result, len(set.Ladders))
	for i, l := range set.Ladders {
		out[i] = Result{Ladder: l, Steps: make([]Count, len(l.Steps))}
	}
	r := rand.New(rand.NewPCG(set.Seed, 0xc0de5))
	seeds := make([]uint64, set.Takes)
	for i := range seeds {
		seeds[i] = r.Uint64N(1 << 40)
	}
	next := make(chan int)
	var wg sync.WaitGroup
	var mu sync.Mutex
	var failed error
	done := 0
	for range max(set.Jobs, 1) {
		wg.Go(func() {
			for i := range next {
				began := time.Now()
				style := stage.Styles[i%len(stage.Styles)]
				got, err := onTake(ctx, set, store, seeds[i], style)
				mu.Lock()
				if err != nil && failed == nil {
					failed = fmt.Errorf("take %d, %s %d: %w", i+1, style, seeds[i], err)
					cancel()
				}
				for k := range got {
					out[k].Zero.add(got[k].Zero)
					for s := range got[k].Steps {
						out[k].Steps[s].add(got[k].Steps[s])
					}
				}
				done++
				if set.Told != nil && err == nil {
					set.Told(done, set.Takes, fmt.Sprintf("%s %d took %.0f s", style, seeds[i], time.Since(began).Seconds()))
				}
				mu.Unlock()
			}
		})
	}
feed:
	for i := range set.Takes {
		select {
		case next <- i:
		case <-ctx.Done():
			break feed
		}
	}
	close(next)
	wg.Wait()
	if failed != nil {
		return nil, failed
	}
	return out, ctx.Err()
}

// onTake records one take and climbs all ladders on it.
func onTake(ctx context.Context, set Settings, store *material.Store, seed uint64, style string) ([]Result, error) {
	t, err := NewTake(store, seed, style, set.Seconds, set.RateHz)
	if err != nil {
		return nil, err
	}
	out := make([]Result, len(set.Ladders))
	for i, l := range set.Ladders {
		out[i] = Result{Ladder: l, Steps: make([]Count, len(l.Steps))}
		n := set.Trials
		if l.PerTake > 0 {
			n = n * l.PerTake / usualPerTake
		}
		for trial := range n {
			h := fnv.New64a()
			fmt.Fprintf(h, "%s/%s/%d", l.Kind, l.Name, trial)
			draw := t.Seed ^ h.Sum64()
			if l.Line != nil {
				err = t.climb(ctx, &out[i], draw)
			} else {
				err = t.climbFolder(ctx, &out[i], draw)
			}
			if err != nil {
				return nil, fmt.Errorf("%s, %s: %w", l.Kind, l.Name, err)
			}
		}
		if l.Line != nil {
			t.untouched(&out[i])
		}
	}
	return out, nil
}

// usualPerTake is the number of trials that Ladder.PerTake is counted against.
const usualPerTake = 2

// climb is one trial on one line's sound.
func (t *Take) climb(ctx context.Context, r *Result, draw uint64) error {
	line, ok := t.one(rand.New(rand.NewPCG(draw, 1)), r.Ladder.Fits)
	if !ok {
		return nil
	}
	for s, strength := range r.Ladder.Steps {
		if err := ctx.Err(); err != nil {
			return err
		}
		x := slices.Clone(t.sound[line])
		w, ok := r.Ladder.Line(harm.Listen(x, t.RateHz), t.Lines[line], strength, rand.New(rand.NewPCG(draw, 2)))
		if !ok {
			continue
		}
		w.Kind, w.Lines, w.Files = r.Ladder.Kind, t.named(line), []string{t.Lines[line].File}
		r.Steps[s].judge(w, t.judged(line, x), t.clean)
	}
	return nil
}

// untouched looks for findings of the ladder's kind on every line that fits it,
// without any fault.
func (t *Take) untouched(r *Result) {
	for i, l := range t.Lines {
		if r.Ladder.Fits(l) {
			r.Zero.judge(harm.Wound{Kind: r.Ladder.Kind, Lines: t.named(i), Files: []string{l.File}}, t.clean, t.clean)
		}
	}
}

// climbFolder is one trial on a folder.
func (t *Take) climbFolder(ctx context.Context, r *Result, draw uint64) error {
	none, w, ok := r.Ladder.Folder(t, r.Ladder.Steps[0], true, rand.New(rand.NewPCG(draw, 2)))
	if !ok {
		return nil
	}
	clean, err := none.check(ctx)
	if err != nil {
		return err
	}
	w.Kind, w.Timed = r.Ladder.Kind, false
	r.Zero.judge(w, clean, clean)
	for s, strength := range r.Ladder.Steps {
		f, w, ok := r.Ladder.Folder(t, strength, false, rand.New(rand.NewPCG(draw, 2)))
		if !ok {
			continue
		}
		found, err := f.check(ctx)
		if err != nil {
			return err
		}
		w.Kind = r.Ladder.Kind
		r.Steps[s].judge(w, found, clean)
	}
	return nil
}

// judge counts one trial by what was found, and stops of other kinds for the
// same line that the clean take did not have.
func (c *Count) judge(w harm.Wound, found, clean []model.Finding) {
	c.Tries++
	v := score.Judge(w, found)
	switch {
	case v.Hit() && v.Weight == model.Stop:
		c.Stop++
	case v.Hit():
		c.Heard++
	}
	told := map[model.Kind]bool{}
	for _, f := range found {
		if f.Weight != model.Stop || f.Kind == w.Kind || slices.Contains(w.Accept, f.Kind) || told[f.Kind] {
			continue
		}
		about := slices.ContainsFunc(f.Lines, func(n string) bool { return slices.Contains(w.Lines, n) })
		old := slices.ContainsFunc(clean, func(o model.Finding) bool {
			return o.Kind == f.Kind && o.Weight == f.Weight && slices.Equal(o.Lines, f.Lines)
		})
		if about && !old {
			told[f.Kind] = true
			if c.Others == nil {
				c.Others = map[model.Kind]int{}
			}
			c.Others[f.Kind]++
		}
	}
}
