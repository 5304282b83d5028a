// Command session measures what a whole check costs: it makes a session of
// tracks, runs the tidemark binary and sha256sum over the same files in turn,
// and prints times, ratios and the largest memory the check held.
//
//	go run ./bench/session                         24 lines, 96 kHz / 24 bit, 4 minutes
//	go run ./bench/session -minutes 60 -rate 48000 -rounds 0
//	                                               memory on a long session (12.4 GB on disk)
//
// Ratios are taken pair by pair, in turn, on files in the page cache; times on a
// shared machine wander, ratios less.
package main

import (
	"bufio"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"strings"
	"time"

	"tidemark/internal/signal"
	"tidemark/internal/sound"
	"tidemark/internal/sound/wav"
)

var (
	lines   = flag.Int("lines", 24, "mono tracks")
	minutes = flag.Float64("minutes", 4, "length")
	rate    = flag.Int("rate", 96000, "sample rate")
	rounds  = flag.Int("rounds", 5, "pairs of runs; 0: one check, for its memory")
	dir     = flag.String("dir", "", "folder for the session (default: a temporary one, removed afterwards)")
	workers = flag.Int("workers", 2, "files read side by side; sha256sum runs as many processes")
)

func main() {
	flag.Parse()
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "session:", err)
		os.Exit(1)
	}
}

func run() error {
	folder := *dir
	if folder == "" {
		tmp, err := os.MkdirTemp("", "tidemark-session-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(tmp)
		folder = tmp
	}
	take := filepath.Join(folder, fmt.Sprintf("%d lines %g min %d", *lines, *minutes, *rate))
	bytes, err := makeSession(take)
	if err != nil {
		return err
	}
	binary := filepath.Join(folder, "tidemark-bench")
	build := exec.Command("go", "build", "-o", binary, "./cmd/tidemark")
	build.Env = append(os.Environ(), "CGO_ENABLED=0")
	if out, err := build.CombinedOutput(); err != nil {
		return fmt.Errorf("go build: %w: %s", err, out)
	}

	fmt.Printf("%d mono tracks, %d Hz, 24 bit, %g min: %.0f MB, %.0f track-seconds; %d workers\n\n", *lines, *rate, *minutes, float64(bytes)/1e6, float64(*lines)**minutes*60, *workers)
	var ratios, checks, hashes, cpu []float64
	var memory int64
	if *rounds == 0 {
		c := exec.Command(binary, "check", "--json", "--workers", fmt.Sprint(*workers), take)
		ct, err := timed(c)
		if err != nil {
			return err
		}
		fmt.Printf("check       %.1f s, one run\nmemory      %.0f MiB at most\n", ct, float64(peakRSS(c))/(1<<20))
		return nil
	}
	for i := range *rounds + 1 {
		c := exec.Command(binary, "check", "--json", "--workers", fmt.Sprint(*workers), take)
		ct, err := timed(c)
		if err != nil {
			return err
		}
		ht, err := timed(exec.Command("sh", "-c", fmt.Sprintf("ls *.wav | tr '\\n' '\\0' | xargs -0 -P%d -n1 sha256sum", *workers)), take)
		if err != nil {
			return err
		}
		if i == 0 {
			continue // the first round fills the page cache
		}
		memory = max(memory, peakRSS(c))
		cpu = append(cpu, (c.ProcessState.UserTime() + c.ProcessState.SystemTime()).Seconds())
		checks, hashes, ratios = append(checks, ct), append(hashes, ht), append(ratios, ct/ht)
	}
	fmt.Printf("check       %s s, %.2f s of processor\n", spread(checks), median(cpu))
	fmt.Printf("sha256sum   %s s (%d processes)\n", spread(hashes), *workers)
	fmt.Printf("ratio       %s\n", spread(ratios))
	if memory > 0 {
		fmt.Printf("memory      %.0f MiB at most\n", float64(memory)/(1<<20))
	}
	fmt.Printf("real time   %.0f track-seconds a second\n", float64(*lines)**minutes*60/median(checks))
	return nil
}

// timed runs a command, quietly, and returns its wall time in seconds. A check
// may well end with status 1: it found something.
func timed(c *exec.Cmd, dir ...string) (float64, error) {
	if len(dir) > 0 {
		c.Dir = dir[0]
	}
	var errs strings.Builder
	c.Stderr = &errs
	began := time.Now()
	err := c.Run()
	took := time.Since(began).Seconds()
	if err != nil && c.ProcessState.ExitCode() != 1 {
		return 0, fmt.Errorf("%s: %w: %s", filepath.Base(c.Path), err, errs.String())
	}
	return took, nil
}

func median(x []float64) float64 {
	s := append([]float64(nil), x...)
	sort.Float64s(s)
	return s[len(s)/2]
}

func spread(x []float64) string {
	s := append([]float64(nil), x...)
	sort.Float64s(s)
	return fmt.Sprintf("%.3f (%.3f to %.3f, %d runs)", median(s), s[0], s[len(s)-1], len(s))
}

var names = strings.Fields("Kick_In Kick_Out Snare_Top Snare_Bot HiHat Tom_1 Tom_2 Floor_Tom OH_L OH_R Ride Room_L Room_R Bass_DI Bass_Amp Gtr_1 Gtr_2 Acc_L Acc_R Pno_L Pno_R Lead_Vox BV_1 BV_2")

// makeSession writes tracks of struck, decaying notes over a noise floor, and
// an input list. A track repeats eight seconds of its own with changing level,
// so that an hour is made at the speed of the disk.
func makeSession(take string) (int64, error) {
	if err := os.MkdirAll(take, 0o755); err != nil {
		return 0, err
	}
	list, err := os.Create(filepath.Join(take, "input list.csv"))
	if err != nil {
		return 0, err
	}
	defer list.Close()
	fmt.Fprintln(list, "ch,source")
	var bytes int64
	for i := range *lines {
		name := fmt.Sprintf("Line_%d", i+1)
		if i < len(names) {
			name = names[i]
		}
		fmt.Fprintf(list, "%d,%s\n", i+1, strings.ReplaceAll(name, "_", " "))
		path := filepath.Join(take, name+"_01.wav")
		if err := makeTrack(path, uint64(i+1)); err != nil {
			return 0, err
		}
		info, err := os.Stat(path)
		if err != nil {
			return 0, err
		}
		bytes += info.Size()
	}
	return bytes, nil
}

func makeTrack(path string, seed uint64) error {
	frames := int64(*minutes * 60 * float64(*rate))
	if info, err := os.Stat(path); err == nil && info.Size() >= frames*3 {
		return nil // made by an earlier run with -dir
	}
	dice := rand.New(rand.NewPCG(seed, 1))
	piece := signal.Pink(seed, signal.Amplitude(-66), 8**rate)
	for t := 0.0; t < 7; t += 0.2 + 0.5*dice.Float64() {
		hz, level := 60*math.Pow(2, 6*dice.Float64()), signal.Amplitude(-10-12*dice.Float64())
		note := signal.Sine(*rate, hz, level, *rate/2)
		signal.Decay(note, float64(*rate)*0.08)
		signal.Add(piece, note, int(t*float64(*rate)))
	}
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer f.Close()
	buffered := bufio.NewWriterSize(f, 1<<20)
	w, err := wav.NewWriter(buffered, wav.Spec{Format: sound.Format{Bits: 24, RateHz: *rate, Channels: 1}}, frames)
	if err != nil {
		return err
	}
	for left := frames; left > 0; {
		n := min(left, int64(len(piece)))
		part := signal.Gain(piece[:n], -3*dice.Float64())
		if err := w.Write(sound.Block{Channels: [][]float32{part}}); err != nil {
			return err
		}
		left -= n
	}
	if err := w.Close(); err != nil {
		return err
	}
	return buffered.Flush()
}
