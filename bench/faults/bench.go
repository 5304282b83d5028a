package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"tidemark/bench/faults/harm"
	"tidemark/bench/faults/material"
	"tidemark/bench/faults/score"
	"tidemark/bench/faults/stage"
	"tidemark/internal/model"
)

// plan is one session to come.
type plan struct {
	index   int
	seed    uint64
	style   string
	seconds float64
	rateHz  int
	bits    int
	alone   bool // checked with its line check
}

// plans settles all sessions before the first is made, so that the number of
// workers changes nothing.
func plans(set settings) []plan {
	r := rand.New(rand.NewPCG(set.seed, 0xbe7c4))
	styles := set.styles
	if len(styles) == 0 {
		styles = stage.Styles
	}
	var out []plan
	for left := set.hours * 3600; left > 0; {
		p := plan{index: len(out), seed: r.Uint64N(1 << 40), style: styles[len(out)%len(styles)],
			seconds: 75 + 105*r.Float64(), rateHz: 48000, bits: 24, alone: r.Float64() < 0.6}
		switch x := r.Float64(); {
		case x < 0.2:
			p.rateHz = 44100
		case x < 0.25:
			p.rateHz, p.seconds = 96000, 75
		}
		if r.Float64() < 0.06 {
			p.bits = 16
		}
		left -= p.seconds
		out = append(out, p)
	}
	return out
}

// outcome is what came of one session.
type outcome struct {
	plan     plan
	lines    int
	sound    []model.Finding
	verdicts []score.Verdict
	strays   []model.Finding
	wounded  float64 // seconds
	checkS   float64
	checked  float64 // line-seconds
	err      error
}

func (p plan) name() string { return fmt.Sprintf("%s %d", p.style, p.seed) }

func bench(ctx context.Context, set settings, store *material.Store, progress io.Writer) (*score.Table, error) {
	all := plans(set)
	results := make([]outcome, len(all))
	next := make(chan int)
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var wg sync.WaitGroup
	var mu sync.Mutex
	kept, done := 0, 0
	keep := func() bool {
		mu.Lock()
		defer mu.Unlock()
		if set.keep == "" || kept >= set.keepMost {
			return false
		}
		kept++
		return true
	}
	for range max(set.jobs, 1) {
		wg.Go(func() {
			for i := range next {
				t := time.Now()
				results[i] = one(ctx, set, all[i], store, keep)
				if results[i].err != nil {
					cancel()
				}
				mu.Lock()
				done++
				fmt.Fprintf(progress, "%d of %d: %s, %d lines, %.0f s of music, took %.0f s (checks %.0f s), stops in sound folder: %d\n",
					done, len(all), all[i].name(), results[i].lines, all[i].seconds, time.Since(t).Seconds(), results[i].checkS, stops(results[i].sound))
				mu.Unlock()
			}
		})
	}
feed:
	for i := range all {
		select {
		case next <- i:
		case <-ctx.Done():
			break feed
		}
	}
	close(next)
	wg.Wait()
	t := &score.Table{Seed: set.seed, Material: store.From, Styles: map[string]float64{}}
	var checkS, checked float64
	var failed error // the first that is not just stopped by another's
	for i := range results {
		if o := &results[i]; o.err != nil && (failed == nil || errors.Is(failed, context.Canceled)) {
			failed = fmt.Errorf("%s: %w", o.plan.name(), o.err)
		}
	}
	if failed != nil {
		return nil, failed
	}
	for i := range results {
		o := &results[i]
		if o.lines == 0 {
			continue
		}
		add(t, o)
		checkS, checked = checkS+o.checkS, checked+o.checked
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if checkS > 0 {
		t.CheckSpeed = checked / checkS
	}
	t.Finish()
	return t, nil
}

func stops(fs []model.Finding) int {
	n := 0
	for _, f := range fs {
		if f.Weight == model.Stop {
			n++
		}
	}
	return n
}

// add counts one session's outcome.
func add(t *score.Table, o *outcome) {
	hours := o.plan.seconds / 3600
	t.Sessions++
	t.SoundHours += hours
	t.LineHours += hours * float64(o.lines)
	t.WoundedHours += o.wounded / 3600
	t.Styles[o.plan.style] += hours
	for _, f := range o.sound {
		t.Alarmed(f)
		if f.Weight == model.Stop {
			t.Worst = append(t.Worst, place(o.plan, f))
		} else if f.Weight == model.Listen {
			t.Listens = append(t.Listens, place(o.plan, f))
		}
	}
	for _, f := range o.strays {
		t.Strays = append(t.Strays, place(o.plan, f))
	}
	for _, v := range o.verdicts {
		t.Add(v)
		w := v.Wound
		if !w.Severe && v.Hit() || v.Hit() && v.Weight == model.Stop {
			continue
		}
		p := score.Place{Session: o.plan.name(), Kind: string(w.Kind), Weight: "missed", Lines: strings.Join(w.Lines, ", "),
			Text: fmt.Sprintf("%s %.4g %s %s; said: %s", w.Variant, w.Strength, w.Unit, w.Detail, strings.Join(v.Said, " / "))}
		if len(w.Starts) > 0 {
			p.StartS = w.Starts[0]
		}
		if w.Severe {
			t.Missed = append(t.Missed, p)
		} else {
			t.Unheard = append(t.Unheard, p)
		}
	}
}

func place(p plan, f model.Finding) score.Place {
	return score.Place{Session: p.name(), Kind: string(f.Kind), Weight: string(f.Weight), Lines: strings.Join(f.Lines, ", "),
		StartS: f.StartS.Or(0), Text: f.Evidence}
}

// mostWounds is how many faults a copy gets at most; half its lines stay whole.
const mostWounds = 8

// one makes, checks, wounds and checks a session.
func one(ctx context.Context, set settings, p plan, store *material.Store, keep func() bool) (o outcome) {
	o.plan = p
	dir, err := os.MkdirTemp(set.temporary, "tidemark-bench-")
	if err != nil {
		o.err = err
		return o
	}
	defer os.RemoveAll(dir)
	s := stage.Build(store, p.seed, p.style, p.seconds, p.rateHz, p.bits)
	if o.err = s.Record(dir); o.err != nil {
		return o
	}
	o.lines = len(s.Lines)
	list, alone := filepath.Join(dir, stage.ListName), ""
	if p.alone {
		alone = filepath.Join(dir, stage.AloneFolder)
	}
	sound := filepath.Join(dir, stage.TakeFolder)
	timed := func(folder, alone string) ([]model.Finding, error) {
		t := time.Now()
		fs, err := check(ctx, folder, list, alone)
		o.checkS += time.Since(t).Seconds()
		o.checked += p.seconds * float64(len(s.Lines))
		return fs, err
	}
	if o.sound, o.err = timed(sound, alone); o.err != nil {
		return o
	}
	if stops(o.sound) > 0 && keep() {
		save(set.keep, p.name()+" sound", dir, sound, filepath.Join(dir, stage.AloneFolder), nil, o.sound)
	}
	if set.soundOnly {
		return o
	}
	r := rand.New(rand.NewPCG(p.seed, 0xfa017))
	for c := range set.wounded {
		to := filepath.Join(dir, fmt.Sprintf("wounded %d", c+1))
		folder, err := harm.Copy(s, sound, to)
		if err != nil {
			o.err = err
			return o
		}
		aloneTo := ""
		if alone != "" {
			aloneTo = to + " line check"
			if o.err = folder.CopyAlone(alone, aloneTo); o.err != nil {
				return o
			}
		}
		var wounds []harm.Wound
		for k := range max(2, min(mostWounds, len(s.Lines)/2)) {
			// Kinds take turns, so that all get their tries.
			n := (p.index*set.wounded+c)*mostWounds + k
			w, ok, err := folder.Inflict(set.kinds[n%len(set.kinds)], r)
			if err != nil {
				o.err = err
				return o
			}
			if ok {
				if w.Kind == model.KindSwapped {
					w.Severe = p.alone // without a line check nobody can be sure
					w.Variant += map[bool]string{true: ", line check", false: ", take alone"}[p.alone]
				}
				wounds = append(wounds, w)
			}
		}
		if len(wounds) == 0 {
			continue
		}
		found, err := timed(to, aloneTo)
		if err != nil {
			o.err = fmt.Errorf("wounded with %v: %w", wounds, err)
			return o
		}
		o.wounded += p.seconds
		missed := false
		for _, w := range wounds {
			v := score.Judge(w, found)
			missed = missed || w.Severe && !(v.Hit() && v.Weight == model.Stop)
			o.verdicts = append(o.verdicts, v)
		}
		strays := score.Strays(found, wounds, o.sound)
		o.strays = append(o.strays, strays...)
		if (missed || len(strays) > 0) && keep() {
			save(set.keep, fmt.Sprintf("%s wounded %d", p.name(), c+1), dir, to, aloneTo, wounds, found)
		}
		if err := os.RemoveAll(to); err != nil {
			o.err = err
			return o
		}
	}
	return o
}

// save copies a folder with list, line check, truth and findings.
func save(below, name, dir, folder, alone string, wounds []harm.Wound, found []model.Finding) {
	to := filepath.Join(below, name)
	for _, f := range []struct{ from, to string }{{folder, filepath.Join(to, stage.TakeFolder)}, {alone, filepath.Join(to, stage.AloneFolder)}} {
		if f.from == "" {
			continue
		}
		if err := os.CopyFS(f.to, os.DirFS(f.from)); err != nil {
			fmt.Fprintln(os.Stderr, "faults: keeping", name, err)
			return
		}
	}
	list, _ := os.ReadFile(filepath.Join(dir, stage.ListName))
	truth, _ := json.MarshalIndent(wounds, "", "  ")
	slices.SortStableFunc(found, func(a, b model.Finding) int { return a.Weight.Rank() - b.Weight.Rank() })
	said, _ := json.MarshalIndent(found, "", "  ")
	for n, b := range map[string][]byte{stage.ListName: list, "truth.json": truth, "findings.json": said} {
		if err := os.WriteFile(filepath.Join(to, n), b, 0o644); err != nil {
			fmt.Fprintln(os.Stderr, "faults: keeping", name, err)
		}
	}
}
