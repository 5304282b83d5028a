package desk_test

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"go.uber.org/goleak"

	"tidemark/internal/desk"
)

// sessionFolder is some lines of the short take on the disk with its list, a line check of
// two folders and a file that is no recording: something for every stage.
func sessionFolder(t *testing.T) string {
	t.Helper()
	s, err := shortTake()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	s = s.some(1, 2, 3, 4, 8, 9, 13, 14, 20)
	s.wavs(t, dir, "")
	for k, name := range []string{"Kick in", "Ld vox"} {
		for i, x := range s.lines {
			if i%3 == 0 || s.session.Lines[i].Source == name {
				put(t, filepath.Join(dir, "Line check", name), "", file{name: s.trackName(i) + ".wav", channels: [][]float32{x[k*48000:][:96000]}, rateHz: s.rateHz})
			}
		}
	}
	write(t, filepath.Join(dir, "Notes.wav"), []byte("not a recording"))
	return dir
}

func TestTheNumberOfWorkersChangesNothing(t *testing.T) {
	if testing.Short() {
		t.Skip("checks the band three times")
	}
	t.Parallel()
	dir := sessionFolder(t)
	var first []byte
	for _, workers := range []int{1, 2, 8} {
		req := request(t, dir)
		req.Workers = workers
		got, err := json.MarshalIndent(check(t, req), "", " ")
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = got
			continue
		}
		if diff := cmp.Diff(string(first), string(got)); diff != "" {
			t.Errorf("%d workers say otherwise than one:\n%s", workers, diff)
		}
	}
}

// onDisk is every file below a folder: its bytes and its time.
func onDisk(t *testing.T, dir string) map[string]string {
	t.Helper()
	all := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		p, err := os.ReadFile(path)
		sum := sha256.Sum256(p)
		all[path] = info.ModTime().Format(time.RFC3339Nano) + " " + string(sum[:])
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func TestACheckLeavesTheFolderAsItWas(t *testing.T) {
	if testing.Short() {
		t.Skip("checks the band")
	}
	t.Parallel()
	dir := sessionFolder(t)
	before := onDisk(t, dir)
	c := checkFolder(t, dir)
	if c.LineCheck == nil || len(c.Lines) != 9 || len(c.Pairs) == 0 {
		t.Fatalf("%d lines, %d pairs, line check %v: not the check that was meant", len(c.Lines), len(c.Pairs), c.LineCheck)
	}
	if diff := cmp.Diff(before, onDisk(t, dir)); diff != "" {
		t.Errorf("files changed, came or went:\n%s", diff)
	}
}

func TestProgressOnlyGrowsAndEndsAtTheTotal(t *testing.T) {
	if testing.Short() {
		t.Skip("checks the band")
	}
	t.Parallel()
	dir := sessionFolder(t)
	req := request(t, dir)
	var total int64
	files, err := req.Recordings.Files()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		total += f.Size
	}
	var last desk.Progress
	var stages []string
	told, of := 0, map[string]float64{}
	req.Progress = func(p desk.Progress) { // never called twice at once, so without a lock
		told++
		if p.BytesDone < last.BytesDone || p.BytesDone > p.BytesTotal || p.BytesTotal != total {
			t.Errorf("%d of %d bytes after %d, want to grow up to %d", p.BytesDone, p.BytesTotal, last.BytesDone, total)
		}
		if p.File != "" {
			if p.Done < of[p.File] || p.Done > 1 {
				t.Errorf("%s went from %g to %g", p.File, of[p.File], p.Done)
			}
			of[p.File] = p.Done
		}
		if len(stages) == 0 || stages[len(stages)-1] != p.Stage {
			stages = append(stages, p.Stage)
		}
		last = p
	}
	c := check(t, req)
	if last.BytesDone != total {
		t.Errorf("progress ended at %d of %d bytes", last.BytesDone, total)
	}
	if diff := cmp.Diff([]string{"reading", "comparing lines", "line check"}, stages); diff != "" {
		t.Errorf("stages:\n%s", diff)
	}
	for _, l := range c.Lines {
		if of[l.File] != 1 {
			t.Errorf("%s was told to be read to %g", l.File, of[l.File])
		}
	}
	if told < 10*len(files) {
		t.Errorf("told %d times for %d files, too seldom for a bar to move", told, len(files))
	}
}

// Not parallel: no other test's goroutines may be there to be counted.
func TestACancelledCheckReturnsAtOnceAndLeavesNothingRunning(t *testing.T) {
	if testing.Short() {
		t.Skip("checks the band")
	}
	dir := sessionFolder(t)
	for _, at := range []struct {
		name string
		when func(p desk.Progress) bool
	}{
		{"before it begins", nil},
		{"while it reads", func(p desk.Progress) bool { return p.BytesDone > p.BytesTotal/10 }},
		{"while it compares lines", func(p desk.Progress) bool { return p.Stage == "comparing lines" }},
		{"while it listens to the line check", func(p desk.Progress) bool { return p.Stage == "line check" }},
	} {
		t.Run(at.name, func(t *testing.T) {
			defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
			ctx, stop := context.WithCancel(t.Context())
			defer stop()
			req := request(t, dir)
			req.Workers = 4
			stopped := time.Now()
			if at.when == nil {
				stop()
			}
			req.Progress = func(p desk.Progress) {
				if at.when != nil && ctx.Err() == nil && at.when(p) {
					stopped = time.Now()
					stop()
				}
			}
			c, err := desk.CheckPass(ctx, req)
			took := time.Since(stopped)
			if !errors.Is(err, context.Canceled) {
				t.Errorf("error %v, want that it was cancelled", err)
			}
			if len(c.Lines) > 0 || len(c.Findings) > 0 {
				t.Errorf("a cancelled check has a result of %d lines", len(c.Lines))
			}
			if took > 2*time.Second {
				t.Errorf("returned after %v", took)
			}
			t.Logf("returned after %v", took)
		})
	}
}
