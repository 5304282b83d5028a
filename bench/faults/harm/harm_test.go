package harm

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"tidemark/bench/faults/material"
	"tidemark/bench/faults/stage"
	"tidemark/internal/model"
)

const rate = 48000

// music is a line of twelve seconds: a floor of about −80 dBFS and notes of
// half a second, each second one.
func music() *Sound { return Listen(append([]float32(nil), song...), rate) }

var song = func() []float32 {
	r := rand.New(rand.NewPCG(1, 2))
	x := make([]float32, 12*rate)
	Hiss(x, -80, 0, r)
	for s := range 12 {
		for i := range rate / 2 {
			x[s*rate+i] += float32(0.25 * math.Sin(2*math.Pi*220*float64(i)/rate) * math.Exp(-float64(i)/8000))
		}
	}
	return x
}()

var line = stage.Line{Number: 3, Source: "Snare top", Role: "snare", Feed: stage.Air, Plays: true, Partner: -1}

// inflict draws wounds until one is accepted by want.
func inflict(t *testing.T, on OnLine, want func(Wound) bool) (before, after *Sound, w Wound) {
	t.Helper()
	for seed := range uint64(400) {
		after = music()
		if w, ok := on(after, line, rand.New(rand.NewPCG(seed, 9))); ok && want(w) {
			return music(), after, w
		}
	}
	t.Fatal("no such wound in 400 draws")
	return nil, nil, Wound{}
}

func rms(x []float32) float64 {
	var p float64
	for _, v := range x {
		p += float64(v) * float64(v)
	}
	return math.Sqrt(p / float64(len(x)))
}

// added is the level of what a wound added, AES17.
func added(before, after *Sound) float64 {
	d := make([]float32, len(after.X))
	for i := range d {
		d[i] = after.X[i] - before.X[i]
	}
	return decibels(rms(d)) + 3.0103
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if math.Abs(got-want) > within {
		t.Errorf("%s: got %.3f, want %.3f ± %.3f", what, got, want, within)
	}
}

func variant(v string) func(Wound) bool { return func(w Wound) bool { return w.Variant == v } }

func TestEachLineWoundDoesWhatItSays(t *testing.T) {
	t.Run("dead is digital zero throughout", func(t *testing.T) {
		_, after, w := inflict(t, Dead, variant("digital zero"))
		near(t, "rms", rms(after.X), 0, 0)
		if !w.Severe {
			t.Error("digital zero is severe")
		}
	})
	t.Run("dead is a converter's floor", func(t *testing.T) {
		_, after, w := inflict(t, Dead, variant("converter floor"))
		near(t, "floor", decibels(rms(after.X))+3.01, w.Strength, 0.1)
	})
	t.Run("dead is only hum", func(t *testing.T) {
		_, after, w := inflict(t, Dead, variant("only hum"))
		near(t, "hum", decibels(rms(after.X))+3.01, w.Strength, 0.5)
	})
	t.Run("a line dies where it says", func(t *testing.T) {
		before, after, w := inflict(t, Dead, variant("dies"))
		at := int(math.Round(w.Starts[0] * rate))
		if rms(after.X[at:]) > ratio(-95) {
			t.Errorf("after the death: %.1f dBFS", decibels(rms(after.X[at:])))
		}
		from := int(math.Round(w.Starts[1] * rate))
		for i := range from - 1 {
			if before.X[i] != after.X[i] {
				t.Fatalf("frame %d changed before the crackle at %d", i, from)
			}
		}
	})
	t.Run("white noise has its level", func(t *testing.T) {
		before, after, w := inflict(t, Noisy, variant("white"))
		near(t, "noise", added(before, after), w.Strength, 0.1)
	})
	t.Run("pink noise has its level", func(t *testing.T) {
		before, after, w := inflict(t, Noisy, variant("pink"))
		near(t, "noise", added(before, after), w.Strength, 0.5)
	})
	t.Run("hum has its level", func(t *testing.T) {
		before, after, w := inflict(t, Hum, func(Wound) bool { return true })
		near(t, "hum", added(before, after), w.Strength, 0.3)
	})
	t.Run("crackle begins where it says and not before", func(t *testing.T) {
		before, after, w := inflict(t, Crackle, func(w Wound) bool { return w.Severe })
		first := len(before.X)
		for i := range before.X {
			if before.X[i] != after.X[i] {
				first = i
				break
			}
		}
		earliest := math.Inf(1)
		for _, s := range w.Starts {
			earliest = math.Min(earliest, s)
		}
		near(t, "first impulse", float64(first)/rate, earliest, 0.001)
	})
	for _, v := range []string{"zeros", "held value"} {
		t.Run("a hole of "+v+" has its length", func(t *testing.T) {
			_, after, w := inflict(t, Dropout, variant(v))
			at := int(math.Round(w.Starts[len(w.Starts)-1] * rate))
			n := int(w.Strength / 1000 * rate)
			for i := 1; i < n; i++ {
				if after.X[at+i] != after.X[at] {
					t.Fatalf("frame %d of %d differs", i, n)
				}
			}
		})
	}
	t.Run("a repeated block is the block before it", func(t *testing.T) {
		_, after, w := inflict(t, Dropout, variant("repeated block"))
		at, n := int(math.Round(w.Starts[0]*rate)), int(math.Round(w.Strength/1000*rate))
		for i := range n {
			if after.X[at+i] != after.X[at+i-n] && len(w.Starts) == 1 {
				t.Fatalf("frame %d of %d differs", i, n)
			}
		}
	})
	t.Run("converter clipping is flat at full scale where it says", func(t *testing.T) {
		_, after, w := inflict(t, Clipped, func(w Wound) bool { return w.Variant == "converter" && w.Severe })
		near(t, "peak", after.Peak(), 1, 0)
		i := int(math.Round(w.Starts[0] * rate))
		if a := math.Abs(float64(after.X[i])); a != 1 {
			t.Errorf("at its first place the sample is %.3f", a)
		}
	})
	t.Run("preamp clipping stays below its limit, full scale untouched", func(t *testing.T) {
		_, after, _ := inflict(t, Clipped, variant("preamp"))
		if p := after.Peak(); p > ratio(-2) || p < ratio(-12.5) {
			t.Errorf("peak %.2f dBFS, want between -12 and -2", decibels(p))
		}
	})
	t.Run("hot and low set the peak", func(t *testing.T) {
		for _, on := range []OnLine{Hot, Low} {
			_, after, w := inflict(t, on, func(Wound) bool { return true })
			near(t, string(w.Kind), decibels(after.Peak()), w.Strength, 0.01)
		}
	})
	t.Run("offset moves the mean", func(t *testing.T) {
		before, after, w := inflict(t, DCOffset, func(Wound) bool { return true })
		near(t, "offset", math.Abs(float64(after.X[5]-before.X[5])), ratio(w.Strength), 1e-6)
	})
}

func TestDelayMovesBySamplesAndFractions(t *testing.T) {
	x := []float32{0, 0, 1, 0, 0, 0}
	Delay(x, 1.25)
	for i, want := range []float32{0, 0, 0, 0.75, 0.25, 0} {
		if x[i] != want {
			t.Errorf("frame %d: got %g, want %g", i, x[i], want)
		}
	}
}

// folder is a small recorded session with a kit and a few more lines.
func folder(t *testing.T) *Folder {
	t.Helper()
	dir := t.TempDir()
	s := stage.Build(material.Synthetic(), 11, "rock", 12, 22050, 24)
	if err := s.Record(dir); err != nil {
		t.Fatal(err)
	}
	f, err := Copy(s, filepath.Join(dir, stage.TakeFolder), filepath.Join(dir, "wounded"))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestEachFolderWoundDoesWhatItSays(t *testing.T) {
	base := folder(t)
	for kind := range files {
		t.Run(string(kind), func(t *testing.T) {
			f, err := Copy(base.Session, base.Sound, filepath.Join(t.TempDir(), "w"))
			if err != nil {
				t.Skip("temporary folders lie on different disks")
			}
			r := rand.New(rand.NewPCG(4, 4))
			w, ok, err := f.Inflict(kind, r)
			if err != nil || !ok {
				t.Fatalf("got %v, %v", ok, err)
			}
			path := filepath.Join(f.Dir, w.Files[0])
			if kind == model.KindMissing {
				if _, err := os.Stat(path); !os.IsNotExist(err) {
					t.Errorf("the file is still there: %v", err)
				}
				return
			}
			_, before, err := stage.ReadFile(filepath.Join(f.Sound, w.Files[0]))
			if err != nil && kind != model.KindUnlisted {
				t.Fatal(err)
			}
			sh, after, err := stage.ReadFile(path)
			switch kind {
			case model.KindTruncated:
				if err == nil && len(after[0]) != 0 {
					t.Errorf("the length fields are right: %d frames", len(after[0]))
				}
				return
			case model.KindUnlisted:
				if err != nil {
					t.Error(err)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			switch kind {
			case model.KindFlipped:
				c := channelOf(f, w.Lines[0])
				for i, v := range after[c] {
					if v != -before[c][i] && math.Abs(float64(v+before[c][i])) > 3e-7 {
						t.Fatalf("frame %d: got %g, want %g", i, v, -before[c][i])
					}
				}
			case model.KindShort:
				near(t, "seconds missing", float64(len(before[0])-len(after[0]))/float64(sh.RateHz), w.Strength, 0.001)
			case model.KindLateStart:
				cut := len(before[0]) - len(after[0])
				near(t, "seconds late", float64(cut)/float64(sh.RateHz), w.Strength, 0.001)
				if got, want := sh.Stamp.TimeReference, f.Session.Stamp().TimeReference+uint64(cut); got != want {
					t.Errorf("stamp: got %d, want %d", got, want)
				}
			case model.KindWrongRate:
				if sh.RateHz == f.Session.RateHz {
					t.Errorf("the header tells the truth: %d", sh.RateHz)
				}
			case model.KindWrongDepth:
				for i, v := range after[0] {
					if p := float64(v) * 32768; p != math.Round(p) {
						t.Fatalf("frame %d uses more than 16 bits: %g", i, v)
					}
				}
			case model.KindLate:
				c := channelOf(f, w.Lines[0])
				n := int(w.Strength / 1000 * float64(sh.RateHz))
				for i := range n {
					if after[c][i] != 0 {
						t.Fatalf("frame %d of the first %d is not silent", i, n)
					}
				}
			case model.KindSwapped, model.KindDuplicate:
				_, other, err := stage.ReadFile(filepath.Join(f.Dir, w.Files[1]))
				if err != nil {
					t.Fatal(err)
				}
				same := true
				for i := range other[0] {
					same = same && other[0][i] == before[0][i]
				}
				if len(w.Files) == 2 && !same {
					t.Errorf("%s does not carry the sound of %s", w.Files[1], w.Files[0])
				}
			}
		})
	}
}

func channelOf(f *Folder, name string) int {
	for _, l := range f.Session.Lines {
		if Name(l) == name {
			return l.Channel
		}
	}
	return 0
}
