package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"tidemark/bench/faults/curve"
	"tidemark/bench/faults/material"
	"tidemark/internal/model"
)

// curveFlags are the flags that curves alone have.
type curveFlags struct {
	on      bool
	quick   bool
	takes   int
	trials  int
	seconds float64
	file    string
}

// curves climbs the ladders and prints what came of it.
func curves(ctx context.Context, set settings, store *material.Store, out, progress io.Writer) error {
	c := set.curves
	run := curve.Settings{Seed: set.seed, Takes: c.takes, Trials: c.trials, Seconds: c.seconds, RateHz: 48000, Jobs: set.jobs,
		Told: func(done, of int, what string) { fmt.Fprintf(progress, "%d of %d: %s\n", done, of, what) }}
	for _, l := range curve.Ladders {
		if slices.Contains(set.kinds, l.Kind) {
			run.Ladders = append(run.Ladders, l)
		}
	}
	source := commit(ctx) // before the run: it may be another afterwards
	results, err := curve.Run(ctx, run, store)
	if err != nil {
		return err
	}
	curve.Print(out, results)
	if !set.write {
		return nil
	}
	f, err := os.Create(c.file)
	if err != nil {
		return fmt.Errorf("%w (run from the top of the source tree)", err)
	}
	fmt.Fprintf(f, "# Detection curves\n\nWritten by `go run ./bench/faults %s`; the numbers come from that run alone.\n\n", set.curveLine())
	fmt.Fprintf(f, "%s: seed %d, %d takes of %g s at 48 kHz and 24 bits, one after the other in the styles of the bench, tries of each ladder in a take: %d (more where few takes have the lines). Go %s.\nMaterial: %s.\n\n",
		source, set.seed, c.takes, c.seconds, c.trials, strings.TrimPrefix(runtime.Version(), "go")+" "+runtime.GOOS+"/"+runtime.GOARCH, strings.Join(store.From, ", "))
	fmt.Fprint(f, curveNotes)
	curve.Print(f, results)
	return f.Close()
}

const curveNotes = `A trial draws take, line, place and polarity once and climbs the whole ladder with them, so steps differ in strength alone.
*Found* is a finding of the kind that names the right line and, where the fault has a place, points within 0.5 s of it; intervals
are Wilson's of 95 %, over trials that share takes and so are a little too narrow. 50 and 90 % lie on straight lines between the
steps of the nearest rising curve. *Without the fault* every line that fits is looked at once, untouched (of pairs and files:
each trial's folder without the fault). Bars: # stop, + listen or note, · not found. Synthetic sound is cleaner than a room:
the curves say where the limits act, RESULTS.md how the check fares on recorded instruments.

`

// commit is the commit of the sources at hand, as far as git can tell.
func commit(ctx context.Context) string {
	at, err := exec.CommandContext(ctx, "git", "rev-parse", "--short=12", "HEAD").Output()
	if err != nil {
		return "Commit unknown"
	}
	c := "Commit " + strings.TrimSpace(string(at))
	if exec.CommandContext(ctx, "git", "--no-optional-locks", "diff", "--quiet", "HEAD", "--", "internal", "bench/faults", ":!bench/faults/*.md").Run() != nil {
		c += " with changes"
	}
	return c
}

// curveLine is the command line that gives the same curves.
func (s settings) curveLine() string {
	l := fmt.Sprintf("--curves --seed %d --takes %d --trials %d --seconds %g", s.seed, s.curves.takes, s.curves.trials, s.curves.seconds)
	if len(s.kinds) < len(curveKinds()) {
		var names []string
		for _, k := range s.kinds {
			names = append(names, string(k))
		}
		l += " --kinds " + strings.Join(names, ",")
	}
	if s.recorded {
		l += " --recorded"
	}
	return l + " --write"
}

// curveKinds are the kinds that have a ladder, each once.
func curveKinds() []model.Kind {
	var out []model.Kind
	for _, l := range curve.Ladders {
		if !slices.Contains(out, l.Kind) {
			out = append(out, l.Kind)
		}
	}
	return out
}

// curveFile is where --curves --write writes.
var curveFile = filepath.Join("bench", "faults", "CURVES.md")
