package main

import (
	"bufio"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"

	"tidemark/internal/signal"
	"tidemark/internal/sound"
	"tidemark/internal/sound/wav"
)

// The material is made from seeds alone: the same on every machine.

// names are those of lines that a check relates to each other as it would on a
// real session; the first 24 are the session of the goals.
var names = strings.Fields("Kick_In Kick_Out Snare_Top Snare_Bot HiHat Tom_1 Tom_2 Floor_Tom OH_L OH_R Ride Room_L Room_R Bass_DI Bass_Amp Gtr_1 Gtr_2 Acc_L Acc_R Pno_L Pno_R Lead_Vox BV_1 BV_2 " +
	"Kick_Sub Snare_Side Tom_3 Cowbell Conga_1 Conga_2 Tambourine Shaker Gtr_3 Gtr_4 Banjo Mandolin Fiddle_1 Fiddle_2 Cello Trumpet Trombone Sax Org_L Org_R BV_3 BV_4 Click Talkback")

// session is a folder of mono tracks and an input list.
type session struct {
	folder  string
	files   []string
	bytes   int64
	seconds float64 // of one track
}

// makeSession writes tracks of struck, decaying notes over a noise floor.
func makeSession(folder string, lines int, seconds float64, rate int) (session, error) {
	s := session{folder: filepath.Join(folder, fmt.Sprintf("%d lines %g s %d Hz", lines, seconds, rate)), seconds: seconds}
	if err := os.MkdirAll(s.folder, 0o755); err != nil {
		return s, err
	}
	if free := freeBytes(s.folder); free >= 0 && float64(free) < 1.1*float64(lines)*s.seconds*float64(rate)*3 {
		return s, fmt.Errorf("%s has %.1f GB left, too little for %d lines of %g s", folder, float64(free)/1e9, lines, seconds)
	}
	list := "ch,source\n"
	for i := range lines {
		name := names[i%len(names)]
		list += fmt.Sprintf("%d,%s\n", i+1, strings.ReplaceAll(name, "_", " "))
		path := filepath.Join(s.folder, name+"_01.wav")
		if err := apart("notes", path, rate, seconds, uint64(i+1)); err != nil {
			return s, err
		}
		info, err := os.Stat(path)
		if err != nil {
			return s, err
		}
		s.files = append(s.files, path)
		s.bytes += info.Size()
	}
	return s, os.WriteFile(filepath.Join(s.folder, "input list.csv"), []byte(list), 0o644)
}

// makers are the kinds of sound, each with a seed.
var makers = map[string]func(rate int, seed uint64) func() [][]float32{"notes": notes, "mix": mix, "clipped white noise": clippedNoise}

// apart makes a file in a process of its own. The system counts the memory that
// a parent ever held as its child's, so this one must stay small.
func apart(kind, path string, rate int, seconds float64, seed uint64) error {
	self, err := os.Executable()
	if err != nil {
		return err
	}
	said, err := exec.Command(self, "make", kind, path, fmt.Sprint(rate), fmt.Sprint(seconds), fmt.Sprint(seed)).CombinedOutput()
	if err != nil {
		return fmt.Errorf("making %s: %w: %s", path, err, said)
	}
	return nil
}

// makeCommand is the other side of apart.
func makeCommand(args []string) error {
	if len(args) != 5 || makers[args[0]] == nil {
		return fmt.Errorf("make %q: expected kind, path, rate, seconds and seed", args)
	}
	rate, err := strconv.Atoi(args[2])
	if err != nil {
		return err
	}
	seconds, err := strconv.ParseFloat(args[3], 64)
	if err != nil {
		return err
	}
	seed, err := strconv.ParseUint(args[4], 10, 64)
	if err != nil {
		return err
	}
	return makeFile(args[1], rate, seconds, makers[args[0]](rate, seed))
}

// notes makes a track: it repeats eight seconds of its own with changing level,
// so that an hour is made at the speed of the disk.
func notes(rate int, seed uint64) func() [][]float32 {
	dice := rand.New(rand.NewPCG(seed, 1))
	piece := signal.Pink(seed, signal.Amplitude(-66), 8*rate)
	strike(piece, rate, dice, -10)
	return func() [][]float32 { return [][]float32{signal.Gain(piece, -3*dice.Float64())} }
}

// strike adds struck notes of random pitch, their peaks up to 12 dB below top.
func strike(piece []float32, rate int, dice *rand.Rand, top float64) {
	for t := 0.0; t < 7; t += 0.2 + 0.5*dice.Float64() {
		hz, level := 60*math.Pow(2, 6*dice.Float64()), signal.Amplitude(top-12*dice.Float64())
		note := signal.Sine(rate, hz, level, rate/2)
		signal.Decay(note, float64(rate)*0.08)
		signal.Add(piece, note, int(t*float64(rate)))
	}
}

// mix makes a stereo mix: notes over a bed, eight seconds at a time, whose level
// wanders over 15 dB.
func mix(rate int, seed uint64) func() [][]float32 {
	dice := rand.New(rand.NewPCG(seed, 2))
	piece := [][]float32{signal.Pink(seed+1, signal.Amplitude(-30), 8*rate), signal.Pink(seed+2, signal.Amplitude(-31), 8*rate)}
	for range 3 {
		strike(piece[0], rate, dice, -6)
		strike(piece[1], rate, dice, -6)
	}
	return func() [][]float32 {
		db := -15 * dice.Float64()
		return [][]float32{signal.Gain(piece[0], db), signal.Gain(piece[1], db)}
	}
}

// clippedNoise is white noise of RMS 0 dBFS re full scale 1, clipped: no place
// of it can be left out of the search for true peaks.
func clippedNoise(rate int, seed uint64) func() [][]float32 {
	noise := signal.NewNoise(seed)
	x := [][]float32{make([]float32, rate), make([]float32, rate)}
	return func() [][]float32 {
		for _, y := range x {
			noise.FillWhite(y, 1)
			signal.Clip(y, 1)
		}
		return x
	}
}

// makeFile writes a 24-bit WAV of so many seconds, made piece by piece, unless
// an earlier run left it.
func makeFile(path string, rate int, seconds float64, next func() [][]float32) error {
	frames := int64(seconds * float64(rate))
	piece := next()
	if info, err := os.Stat(path); err == nil && info.Size() >= frames*3*int64(len(piece)) {
		return nil
	}
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer f.Close()
	buffered := bufio.NewWriterSize(f, 1<<20)
	w, err := wav.NewWriter(buffered, wav.Spec{Format: sound.Format{Bits: 24, RateHz: rate, Channels: len(piece)}}, frames)
	if err != nil {
		return err
	}
	for left := frames; left > 0; piece = next() {
		n := min(left, int64(len(piece[0])))
		b := sound.Block{}
		for _, x := range piece {
			b.Channels = append(b.Channels, x[:n])
		}
		if err := w.Write(b); err != nil {
			return err
		}
		left -= n
	}
	if err := w.Close(); err != nil {
		return err
	}
	return buffered.Flush()
}
