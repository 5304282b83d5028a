package meter_test

import (
	"math"
	"slices"
	"testing"

	"tidemark/internal/band"
	"tidemark/internal/meter"
	"tidemark/internal/sound"
)

// sungNote is what one of the made-up band plays in its line check, in seconds
// after its turn begins. The scores are those of internal/band.
type sungNote struct{ midi, at, lasts float64 }

func evenNotes(from, each, lasts float64, midi ...float64) []sungNote {
	var n []sungNote
	for i, m := range midi {
		n = append(n, sungNote{m, from + each*float64(i), lasts})
	}
	return n
}

// sungNotes turns beats of the line check's voices, 0.52 s each, into notes.
func sungNotes(n ...[3]float64) []sungNote {
	var out []sungNote
	for _, v := range n {
		out = append(out, sungNote{v[0], 0.65 + 0.52*v[1], 0.52 * v[2]})
	}
	return out
}

// The band's bass, reeds and voices, with all that makes them hard: fingers,
// consonants, breath, vibrato, and reeds that beat. What they play is known.
func TestPitchOfTheBand(t *testing.T) {
	s, err := band.NewSession(band.Options{LineCheck: true})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		source string
		notes  []sungNote
		cents  float64 // within which the middle of each note lies: strings are tuned, singers mean it
	}{
		{"bass", evenNotes(0.25, 0.42, 0.36, 33, 38, 40, 45, 43, 38), 6},
		{"accordion", []sungNote{{78, 0.25, 0.4}, {76, 0.715, 0.14}, {74, 0.87, 0.29}, {76, 1.18, 0.29}, {78, 1.49, 0.29}, {81, 1.8, 0.55}, {78, 2.42, 0.26}}, 12},
		{"low backing voice", sungNotes([3]float64{62, 0, 0.7}, [3]float64{62, 1.2, 1.2}, [3]float64{59, 2.6, 0.5}, [3]float64{57, 3.5, 0.9}), 25},
		{"lead voice", sungNotes([3]float64{71, 0, 0.75}, [3]float64{73, 1, 0.5}, [3]float64{71, 2, 0.6}, [3]float64{69, 3.1, 1.2}), 30},
		{"high backing voice", sungNotes([3]float64{74, 0, 1.2}, [3]float64{73, 1.2, 1.2}, [3]float64{74, 2.5, 1.8}), 30},
	} {
		x := soloOf(t, s, c.source, c.source)
		m := meter.NewPitch(s.Scene.RateHz)
		m.Measure(x)
		r := m.Reading()
		inside, right := 0, 0
		for i, n := range c.notes {
			want := 440 * math.Exp2((n.midi-69)/12)
			var cents []float64
			for k, v := range r.Values {
				at := float64(r.First+int64(k)*r.HopFrames) / float64(s.Scene.RateHz)
				// A finger or a consonant has its time at either end.
				if at < n.at+0.25*n.lasts || at > n.at+0.9*n.lasts-0.02 {
					continue
				}
				inside++
				if v.Defined() {
					off := meter.Cents(float64(v.Hz), want)
					cents = append(cents, off)
					if math.Abs(off) < 100 {
						right++
					}
				}
			}
			if len(cents) == 0 {
				t.Errorf("%s, note %d: no pitch", c.source, i)
				continue
			}
			slices.Sort(cents)
			if mid := cents[len(cents)/2]; math.Abs(mid) > c.cents {
				t.Errorf("%s, note %d, %.2f Hz: %+.1f cents, want within %g", c.source, i, want, mid, c.cents)
			}
		}
		t.Logf("%s: of %d values within notes %d are within a semitone; %d stretches", c.source, inside, right, len(r.Stretches))
		if float64(right) < 0.95*float64(inside) {
			t.Errorf("%s: of %d values within notes only %d are within a semitone", c.source, inside, right)
		}
	}
}

// soloOf is what a source plays in a turn of the line check.
func soloOf(t *testing.T, s *band.Session, turnOf, source string) []float32 {
	t.Helper()
	turn := slices.IndexFunc(s.Solos, func(o band.Solo) bool { return o.Source == turnOf })
	src := slices.IndexFunc(s.Scene.Sources, func(o band.Source) bool { return o.Name == source })
	if turn < 0 || src < 0 {
		t.Fatalf("the band has no %s", source)
	}
	rate := float64(s.Scene.RateHz)
	from, to := int(s.Solos[turn].StartS*rate), int(s.Solos[turn].EndS*rate)
	x := make([]float32, to)
	for at := 0; at < to; at += sound.BlockFrames {
		s.Scene.Sources[src].Sound.Play(x[at:min(at+sound.BlockFrames, to)])
	}
	return x[from:]
}

// The band's toms, whose pitch falls after the blow, and its snare and kick.
func TestDrumsOfTheBand(t *testing.T) {
	s, err := band.NewSession(band.Options{LineCheck: true})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		turn, source string
		hz, within   float64 // %
		head         meter.Head
	}{
		{"rack tom", "rack tom", 138, 1, meter.HeadMembrane},
		{"floor tom", "floor tom", 84, 1, meter.HeadMembrane},
		// A snare's modes lie up to 2.5 % higher the harder it is struck.
		{"snare", "snare top head", 188 * 1.0246, 1, meter.HeadMembrane},
		// Two heads of 53 Hz that fall from twice as high, and little else.
		{"kick", "kick front head", 53, 3, meter.HeadUnknown},
	} {
		m := meter.NewDrumPitch(s.Scene.RateHz)
		m.Measure(soloOf(t, s, c.turn, c.source))
		r := m.Reading()
		hz, _ := r.Fundamental.Get()
		t.Logf("%s: %d strokes, %s of %.2f Hz, made for %.2f (%+.2f %%); %d partials", c.source, r.Strokes, r.Head, float64(hz), c.hz, 100*(float64(hz)/c.hz-1), len(r.Partials))
		if math.Abs(float64(hz)/c.hz-1)*100 > c.within || r.Head != c.head {
			t.Errorf("%s: %s of %.2f Hz, want %s of %.2f within %g %%: %+v", c.source, r.Head, float64(hz), c.head, c.hz, c.within, r)
		}
	}
}
