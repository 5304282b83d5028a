// Command faults measures how well Tidemark's check finds faults that it was not
// tuned on: it casts invented bands from recorded instruments, drums and voices,
// records them with an independent mixer, checks the sound folders for false
// alarms, puts faults of random kind, strength, place and line into copies and
// counts what the check says about them.
//
//	go run ./bench/faults --fetch             bring the recorded sounds (once)
//	go run ./bench/faults --hours 1           a run over about an hour of music
//	go run ./bench/faults --synthetic         the same without recorded sounds
//	go run ./bench/faults --curves            how strong each fault must be to be found
//
// A run is reproducible: seed, hours and kinds settle every sample.
package main

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"tidemark/bench/faults/harm"
	"tidemark/bench/faults/material"
	"tidemark/internal/model"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	err := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	if err != nil && !errors.Is(err, flag.ErrHelp) {
		fmt.Fprintln(os.Stderr, "faults:", err)
		os.Exit(2)
	}
}

// settings are the flags of a run.
type settings struct {
	seed       uint64
	hours      float64
	kinds      []model.Kind
	styles     []string
	jobs       int
	wounded    int
	keep       string
	keepMost   int
	soundOnly  bool
	temporary  string
	asJSON     bool
	write      bool
	synthetic  bool
	recorded   bool
	curves     curveFlags
	cache      string
	resultFile string
}

func run(ctx context.Context, args []string, out, progress io.Writer) error {
	set := settings{resultFile: filepath.Join("bench", "faults", "RESULTS.md")}
	fs := flag.NewFlagSet("faults", flag.ContinueOnError)
	cache, _ := os.UserCacheDir()
	var kinds, styles string
	fetch := fs.Bool("fetch", false, "download the recorded sounds into the cache folder and stop")
	fs.StringVar(&set.cache, "cache", filepath.Join(cache, "tidemark-bench"), "folder of the recorded sounds")
	fs.BoolVar(&set.synthetic, "synthetic", false, "use plain synthesis in place of recorded sounds")
	fs.Uint64Var(&set.seed, "seed", 1, "seed of the run")
	fs.Float64Var(&set.hours, "hours", 0.5, "hours of music to check without faults")
	fs.StringVar(&kinds, "kinds", "", "kinds of faults, comma between (default: all)")
	fs.StringVar(&styles, "styles", "", "styles of sessions, comma between (default: all)")
	fs.IntVar(&set.jobs, "jobs", 2, "sessions at a time")
	fs.IntVar(&set.wounded, "wounded", 2, "wounded copies of each session")
	fs.BoolVar(&set.soundOnly, "sound-only", false, "only look for false alarms")
	fs.StringVar(&set.keep, "keep", "", "keep the folders of missed stops and false stops below this folder")
	fs.IntVar(&set.keepMost, "keep-most", 12, "how many folders to keep at most")
	fs.StringVar(&set.temporary, "tmp", "", "where sessions are recorded to (default: the system's temporary folder)")
	fs.BoolVar(&set.asJSON, "json", false, "print the table as JSON")
	fs.BoolVar(&set.write, "write", false, "write the table to "+set.resultFile+", curves to "+curveFile)
	set.curves.file = curveFile
	fs.BoolVar(&set.curves.on, "curves", false, "climb ladders of strengths and print how much of each fault is found")
	fs.BoolVar(&set.curves.quick, "quick", false, "few and short takes for --curves: about a minute")
	fs.IntVar(&set.curves.takes, "takes", 16, "takes for --curves")
	fs.IntVar(&set.curves.trials, "trials", 2, "trials of each ladder in a take for --curves")
	fs.Float64Var(&set.curves.seconds, "seconds", 24, "length of a take for --curves")
	fs.BoolVar(&set.recorded, "recorded", false, "use the recorded sounds for --curves as well")
	if err := fs.Parse(args); err != nil {
		return err
	}
	known := harm.Kinds
	if set.curves.on {
		known, set.synthetic = curveKinds(), !set.recorded
		if set.curves.quick {
			set.curves.takes, set.curves.trials, set.curves.seconds = 3, 1, 16
		}
	}
	if *fetch {
		return material.Fetch(ctx, set.cache, out)
	}
	set.kinds = known
	if kinds != "" {
		set.kinds = nil
		for k := range strings.SplitSeq(kinds, ",") {
			if !slices.Contains(known, model.Kind(k)) {
				return fmt.Errorf("no kind %q; there are %v", k, known)
			}
			set.kinds = append(set.kinds, model.Kind(k))
		}
	}
	if styles != "" {
		set.styles = strings.Split(styles, ",")
	}
	store, err := set.store()
	if err != nil {
		return err
	}
	if set.curves.on {
		return curves(ctx, set, store, out, progress)
	}
	table, err := bench(ctx, set, store, progress)
	if err != nil {
		return err
	}
	if set.asJSON {
		e := json.NewEncoder(out)
		e.SetIndent("", "  ")
		if err := e.Encode(table); err != nil {
			return err
		}
	} else {
		table.Print(out)
	}
	if !set.write {
		return nil
	}
	f, err := os.Create(set.resultFile)
	if err != nil {
		return fmt.Errorf("%w (run from the top of the source tree)", err)
	}
	fmt.Fprintf(f, "# Detection benchmark\n\nWritten by `go run ./bench/faults %s`; the numbers come from that run alone.\n\n", set.line())
	table.Print(f)
	return f.Close()
}

// line is the command line that gives the same table: the flags that matter.
func (s settings) line() string {
	l := fmt.Sprintf("--seed %d --hours %g --wounded %d", s.seed, s.hours, s.wounded)
	if len(s.kinds) < len(harm.Kinds) {
		var names []string
		for _, k := range s.kinds {
			names = append(names, string(k))
		}
		l += " --kinds " + strings.Join(names, ",")
	}
	if len(s.styles) > 0 {
		l += " --styles " + strings.Join(s.styles, ",")
	}
	if s.synthetic {
		l += " --synthetic"
	}
	if s.soundOnly {
		l += " --sound-only"
	}
	return l + " --write"
}

func (s settings) store() (*material.Store, error) {
	if s.synthetic {
		return material.Synthetic(), nil
	}
	return material.Load(s.cache)
}
