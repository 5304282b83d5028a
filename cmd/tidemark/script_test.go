package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"tidemark/internal/signal"
	"tidemark/internal/sound"
	"tidemark/internal/sound/wav"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"tidemark": main})
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"tone": tone, "fake4gib": fake4GiB, "readonly": readOnly, "freeport": freePort, "fetch": fetch, "samefiles": sameFiles,
		},
		Condition: func(cond string) (bool, error) {
			if cond != "race" {
				return false, fmt.Errorf("no condition is called %q", cond)
			}
			return raced, nil
		},
		RequireExplicitExec: true,
	})
}

// tone FILE SECONDS DBFS [HZ] writes a mono 48 kHz / 24 bit file with a sine
// that comes and goes over a floor of noise, like somebody playing notes.
func tone(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 3 {
		ts.Fatalf("usage: tone FILE SECONDS DBFS [HZ]")
	}
	seconds, err := strconv.ParseFloat(args[1], 64)
	ts.Check(err)
	level, err := strconv.ParseFloat(args[2], 64)
	ts.Check(err)
	hz := 440.0
	if len(args) > 3 {
		hz, err = strconv.ParseFloat(args[3], 64)
		ts.Check(err)
	}
	const rate = 48000
	x := notes(rate, seconds, level, hz)
	path := ts.MkAbs(args[0])
	ts.Check(os.MkdirAll(filepath.Dir(path), 0o755))
	f, err := os.Create(path)
	ts.Check(err)
	defer f.Close()
	w, err := wav.NewWriter(f, wav.Spec{Format: sound.Format{Bits: 24, RateHz: rate, Channels: 1}}, int64(len(x)))
	ts.Check(err)
	ts.Check(w.Write(sound.Block{Channels: [][]float32{x}}))
	ts.Check(w.Close())
}

// notes is half a second of tone, half a second of rest, over a floor of −72 dBFS.
func notes(rate int, seconds, dbfs, hz float64) []float32 {
	frames := int(seconds * float64(rate))
	x := signal.White(uint64(hz), signal.Amplitude(-72), frames)
	s := signal.Sine(rate, hz, signal.Amplitude(dbfs), frames)
	fade := rate / 50
	for i := range x {
		at := i % rate
		g := float32(0)
		if at < rate/2 {
			g = min(1, float32(min(at, rate/2-at))/float32(fade))
		}
		x[i] += g * s[i]
	}
	return x
}

// fake4GiB FILE writes 1 kB that claim to be a 4 GiB recording of 64 channels.
func fake4GiB(ts *testscript.TestScript, neg bool, args []string) {
	head := []byte("RIFF\xff\xff\xff\xfeWAVEfmt \x10\x00\x00\x00\x01\x00\x40\x00\x80\xbb\x00\x00\x00\x00\x00\x00\xc0\x00\x18\x00LIST\xf0\xff\xff\xff")
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), append(head, make([]byte, 1000-len(head))...), 0o644))
}

// readOnly FOLDER takes all rights to a folder away, or skips the script where
// that means nothing (the superuser, Windows).
func readOnly(ts *testscript.TestScript, neg bool, args []string) {
	dir := ts.MkAbs(args[0])
	ts.Check(os.Chmod(dir, 0))
	ts.Defer(func() { os.Chmod(dir, 0o755) })
	if _, err := os.ReadDir(dir); err == nil {
		os.Chmod(dir, 0o755)
		os.RemoveAll(dir) // a folder that is not there cannot be read either
	}
}
