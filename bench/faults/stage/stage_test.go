package stage

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tidemark/bench/faults/material"
)

func TestWhatIsWrittenReadsBack(t *testing.T) {
	x := [][]float32{{0, 0.5, -0.5, 1, -1, 0.25}, {0, -0.125, 0.125, 2, -2, 0}}
	for _, bits := range []int{16, 24} {
		path := filepath.Join(t.TempDir(), "x.wav")
		stamp := Stamp{Date: "2024-10-18", Time: "10:00:00", TimeReference: 12345}
		if err := WriteFile(path, Sheet{RateHz: 44100, Bits: bits, Stamp: &stamp}, x); err != nil {
			t.Fatal(err)
		}
		sh, y, err := ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if sh.RateHz != 44100 || sh.Bits != bits || sh.Stamp.TimeReference != 12345 {
			t.Errorf("got %+v", sh)
		}
		step := 1 / math.Exp2(float64(bits-1))
		for c := range x {
			for i, v := range x[c] {
				want := math.Max(-1, math.Min(1-step, float64(v)))
				if math.Abs(float64(y[c][i])-want) > step/2 {
					t.Errorf("%d bits, channel %d, frame %d: got %g, want %g", bits, c, i, y[c][i], want)
				}
			}
		}
	}
}

func TestEveryStyleRecordsAPlausibleFolder(t *testing.T) {
	for i, style := range Styles {
		t.Run(style, func(t *testing.T) {
			dir := t.TempDir()
			s := Build(material.Synthetic(), uint64(i), style, 14, 8000, 24)
			if err := s.Record(dir); err != nil {
				t.Fatal(err)
			}
			list, err := os.ReadFile(filepath.Join(dir, ListName))
			if err != nil {
				t.Fatal(err)
			}
			if rows := strings.Count(string(list), "\n"); rows != len(s.Lines)+1 {
				t.Errorf("list: got %d rows, want %d", rows, len(s.Lines)+1)
			}
			for _, l := range s.Lines {
				sh, x, err := ReadFile(filepath.Join(dir, TakeFolder, l.File))
				if err != nil {
					t.Fatal(err)
				}
				if len(x[l.Channel]) != s.Frames || sh.RateHz != 8000 {
					t.Errorf("%s: %d frames at %d Hz", l.Source, len(x[l.Channel]), sh.RateHz)
				}
				var peak float64
				for _, v := range x[l.Channel] {
					peak = math.Max(peak, math.Abs(float64(v)))
				}
				if peak > 0.75 || l.Plays && peak < 0.1 {
					t.Errorf("%s peaks at %.3f", l.Source, peak)
				}
			}
		})
	}
}

func TestTheSameSeedGivesTheSameBytes(t *testing.T) {
	read := func() []byte {
		dir := t.TempDir()
		s := Build(material.Synthetic(), 5, "picked", 14, 8000, 24)
		if err := s.Record(dir); err != nil {
			t.Fatal(err)
		}
		b, err := os.ReadFile(filepath.Join(dir, TakeFolder, s.Lines[0].File))
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	first, second := read(), read()
	if !bytes.Equal(first, second) {
		t.Error("two runs differ")
	}
}

func TestAPathDelaysAndScales(t *testing.T) {
	x := make([]float32, 64)
	x[20] = 1
	out := make([]float32, 64)
	addPath(out, x, path{gain: 0.5, delay: 7, dull: 1})
	for i, v := range out {
		want := float32(0)
		if i == 27 {
			want = 0.5
		}
		if math.Abs(float64(v-want)) > 1e-6 {
			t.Errorf("frame %d: got %g, want %g", i, v, want)
		}
	}
}
