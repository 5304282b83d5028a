// Command speed sets Tidemark beside reference programs on files that it makes
// itself, and prints times, ratios and memory with the goals beside them.
//
//	go run ./bench/speed                    all parts, some 20 minutes and 3 GB of disk
//	go run ./bench/speed -write             the same, kept in bench/speed/RESULTS.md
//	go run ./bench/speed -only a,f -scale 0.1 -rounds 3
//	                                        a short run: parts, length of files, rounds
//	go run ./bench/speed -only d -hour      memory on 24 lines of an hour (13 GB)
//
// Parts:
//
//	a  loudness, range and true peak of one stereo mix, one worker
//	b  the same of clipped white noise, the worst case for the search of peaks
//	c  the full check of a session of 24 lines, without and with the work between lines
//	d  memory at a minute and at an hour
//	e  growth with lines and with length
//	f  agreement with libebur128, and the same output for any number of workers
//
// Each program runs in turn on the same files in the page cache, round by round,
// and ratios are taken round by round: on a shared machine times wander, ratios
// less, those of processor time least. Tidemark is built twice, for any processor
// (tag purego) and with the vector kernels of amd64.
package main

import (
	"bufio"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"tidemark/bench/reference"
)

var (
	only    = flag.String("only", "a,b,c,d,e,f", "parts to run")
	rounds  = flag.Int("rounds", 5, "rounds, one more before the first")
	scale   = flag.Float64("scale", 1, "lengths of all files times this; the goals are for 1")
	dir     = flag.String("dir", "", "folder for the files, kept for the next run (default: a temporary one, removed)")
	workers = flag.Int("workers", 2, "files that Tidemark reads side by side, and processes of the others")
	hour    = flag.Bool("hour", false, "part d on 24 lines instead of 4")
	write   = flag.Bool("write", false, "keep the tables in bench/speed/RESULTS.md")
)

const results = "bench/speed/RESULTS.md"

// parts in their order.
var parts = []struct {
	name string
	run  func(*bench) error
}{{"a", oneFile}, {"b", worstCase}, {"c", wholeCheck}, {"d", memory}, {"e", growth}, {"f", agreement}}

// build is the program as one kind of processor gets it.
type build struct{ name, tidemark, ltp, alone string }

// bench is what the parts share.
type bench struct {
	folder string
	builds []build // portable, then vector where there is one
	eb     reference.Ebur128
	sox    reference.Program
	ffmpeg reference.Program
	report strings.Builder
}

func main() {
	do := run
	if len(os.Args) > 1 && os.Args[1] == "make" {
		do = func() error { return makeCommand(os.Args[2:]) }
	} else {
		flag.Parse()
	}
	if err := do(); err != nil {
		fmt.Fprintln(os.Stderr, "speed:", err)
		os.Exit(1)
	}
}

func run() error {
	b := &bench{folder: *dir}
	if b.folder == "" {
		tmp, err := os.MkdirTemp("", "tidemark-speed-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(tmp)
		b.folder = tmp
	} else if err := os.MkdirAll(b.folder, 0o755); err != nil {
		return err
	}
	var err error
	if b.eb, err = reference.CompileEbur128(b.folder); err != nil {
		return err
	}
	if b.ffmpeg, err = reference.Find("ffmpeg"); err != nil {
		return err
	}
	if b.sox, err = reference.Find("sox"); err != nil {
		return err
	}
	if err := b.build(); err != nil {
		return err
	}
	wanted := map[string]bool{}
	for _, p := range strings.Split(*only, ",") {
		wanted[strings.TrimSpace(p)] = true
	}
	b.facts()
	for _, p := range parts {
		if wanted[p.name] {
			if err := p.run(b); err != nil {
				return fmt.Errorf("part %s: %w", p.name, err)
			}
		}
	}
	if *write {
		return os.WriteFile(results, []byte(b.report.String()), 0o644)
	}
	return nil
}

// build compiles Tidemark for any processor and, where that makes a difference,
// with the vector kernels.
func (b *bench) build() error {
	for _, kind := range []struct{ name, tags string }{{"portable", "purego"}, {"vector", ""}} {
		p := build{kind.name, filepath.Join(b.folder, "tidemark-"+kind.name), filepath.Join(b.folder, "ltp-"+kind.name), filepath.Join(b.folder, "alone-"+kind.name)}
		for out, from := range map[string]string{p.tidemark: "./cmd/tidemark", p.ltp: "./bench/speed/ltp", p.alone: "./bench/speed/alone"} {
			c := exec.Command("go", "build", "-tags", kind.tags, "-o", out, from)
			c.Env = append(os.Environ(), "CGO_ENABLED=0")
			if said, err := c.CombinedOutput(); err != nil {
				return fmt.Errorf("go build %s: %w: %s", from, err, said)
			}
		}
		says, err := exec.Command(p.ltp).Output()
		if err != nil {
			return err
		}
		if kind.name == "portable" || !strings.Contains(string(says), "portable") {
			b.builds = append(b.builds, p)
		}
	}
	return nil
}

// best is the build that people get on this processor.
func (b *bench) best() build { return b.builds[len(b.builds)-1] }

// say prints a line and keeps it for the page.
func (b *bench) say(format string, args ...any) {
	fmt.Printf(format+"\n", args...)
	fmt.Fprintf(&b.report, format+"\n", args...)
}

// facts says where, when and with what it was measured.
func (b *bench) facts() {
	b.say("# Speed\n\nWritten by `go run ./bench/speed`; see its first lines for what the parts are. A figure is the\nmedian of %d rounds, with the least and the largest.\n", *rounds)
	if *scale != 1 {
		b.say("**Files of %g times the usual length: the goals are not for these.**\n", *scale)
	}
	b.say("- %s, %d processors of %s, %s", processor(), runtime.NumCPU(), runtime.GOARCH, runtime.Version())
	tools := []string{b.eb.Version + " (program: gcc -O3 -march=native; library as packaged)", b.ffmpeg.Version, b.sox.Version}
	for _, name := range []string{"sha256sum", "openssl"} {
		if p, err := reference.Find(name); err == nil {
			tools = append(tools, p.Version)
		}
	}
	b.say("- %s", strings.Join(tools, ", "))
	b.say("- %d workers against %d processes, parts %s, %s%s\n", *workers, *workers, *only, time.Now().UTC().Format("2006-01-02"), load())
}

func processor() string {
	f, err := os.Open("/proc/cpuinfo")
	if err != nil {
		return "unknown processor"
	}
	defer f.Close()
	for s := bufio.NewScanner(f); s.Scan(); {
		if name, value, ok := strings.Cut(s.Text(), ":"); ok && strings.TrimSpace(name) == "model name" {
			return strings.TrimSpace(value)
		}
	}
	return "unknown processor"
}

// load says how busy the machine was at the start: other work spoils times.
func load() string {
	p, err := os.ReadFile("/proc/loadavg")
	if f := strings.Fields(string(p)); err == nil && len(f) > 0 {
		return "; load of the minute before: " + f[0]
	}
	return ""
}

// optional is a program that is compared with where it is installed.
func optional(name string) (reference.Program, bool) {
	p, err := reference.Find(name)
	return p, !errors.Is(err, reference.ErrMissing)
}
