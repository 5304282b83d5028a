package band

import (
	"io"
	"math"
	"testing"

	"tidemark/internal/sound"
)

// pulse is a smooth click, band-limited well below half the rate, centred on
// the frame mid.
func pulse(frames int, mid float64) []float32 {
	x := make([]float32, frames)
	for i := range x {
		u := (float64(i) - mid) / 4
		x[i] = float32(math.Exp(-0.5 * u * u))
	}
	return x
}

// centre is the centre of gravity of x in frames, and its sum.
func centre(x []float32) (at, sum float64) {
	for i, v := range x {
		at += float64(i) * float64(v)
		sum += float64(v)
	}
	return at / sum, sum
}

func renderAll(t *testing.T, s *Scene, block int) [][]float32 {
	t.Helper()
	r, err := NewRenderer(s)
	if err != nil {
		t.Fatal(err)
	}
	out := make([][]float32, len(s.Mics))
	b := sound.NewBlock(len(s.Mics), block)
	for r.Next(b) != io.EOF {
		for i := range out {
			out[i] = append(out[i], b.Channels[i]...)
		}
	}
	return out
}

// quietNoise is a floor that no measure here can see.
const quietNoise = -200

// A plain scene: one room without reflections, one source that sends a pulse.
func openAir(mics ...Mic) *Scene {
	for i := range mics {
		mics[i].NoiseDBFS = quietNoise
	}
	return &Scene{RateHz: 48000, Frames: 4000, Rooms: []Room{{Name: "meadow", TempC: 20}},
		Sources: []Source{{Name: "pulse", Sound: &Held{Samples: pulse(2000, 1000)}}}, Mics: mics}
}

// Delay r/c and level 1/r: c = 343.2 m/s at 20 °C (ISO 9613-1:1993 clause 8,
// from memory).
func TestDistanceDelaysAndWeakens(t *testing.T) {
	for _, r := range []float64{0.03, 0.25, 1, 1.37, 2.5, 7.003} {
		s := openAir(Mic{Pos: Point{r, 0, 0}})
		x := renderAll(t, s, 512)[0]
		_, whole := centre(pulse(2000, 1000))
		at, sum := centre(x)
		if want := 1000 + leadFrames + r/343.2*48000; math.Abs(at-want) > 0.15 {
			t.Errorf("%g m: pulse at frame %.3f, want %.3f", r, at, want)
		}
		if r >= 1 && math.Abs(20*math.Log10(sum/whole*r)) > 0.1 {
			t.Errorf("%g m: level %.2f dB off 1/r", r, 20*math.Log10(sum/whole*r))
		}
	}
}

func TestPatternsFollowTheirAngle(t *testing.T) {
	for _, c := range []struct {
		name    string
		pattern Pattern
		degrees float64
		want    float64
	}{
		{"omni from behind", Omni, 180, 1},
		{"cardioid in front", Cardioid, 0, 1},
		{"cardioid from the side", Cardioid, 90, 0.5},
		{"cardioid from behind", Cardioid, 180, 0},
		{"figure-eight from the side", FigureEight, 90, 0},
		{"figure-eight from behind is the other way up", FigureEight, 180, -1},
		{"hypercardioid from behind", HyperCard, 180, -0.5},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := c.degrees * math.Pi / 180
			// The source lies at −x of the microphone.
			s := openAir(Mic{Pos: Point{1, 0, 0}, Pattern: c.pattern, Aim: Point{-math.Cos(a), math.Sin(a), 0}})
			x := renderAll(t, s, 700)[0]
			sum, whole := 0.0, 0.0
			for _, v := range pulse(2000, 1000) {
				whole += float64(v)
			}
			for _, v := range x {
				sum += float64(v)
			}
			if got := sum / whole; math.Abs(got-c.want) > 0.01 {
				t.Errorf("gain %.3f, want %.3f", got, c.want)
			}
		})
	}
}

func TestScreensTakeLevelAndOtherRoomsAreSilent(t *testing.T) {
	s := openAir(Mic{Pos: Point{1, 0, 0}, Zone: "booth"}, Mic{Pos: Point{1, 0, 0}, Room: 1}, Mic{Pos: Point{1, 0, 0}, Flip: true, GainDB: -6.0206})
	s.Rooms = append(s.Rooms, Room{Name: "elsewhere", TempC: 20})
	s.Screens = []Screen{{"booth", "", 20, 0}}
	x := renderAll(t, s, 512)
	_, whole := centre(pulse(2000, 1000))
	for i, want := range []float64{0.1, 0, -0.5} {
		sum := 0.0
		for _, v := range x[i] {
			sum += float64(v)
		}
		if got := sum / whole; math.Abs(got-want) > 0.002 {
			t.Errorf("line %d: gain %.4f, want %.4f", i, got, want)
		}
	}
}

// Far from a source the statistical room gives p² = p²(1 m)·16π/A (textbook,
// from memory) besides the direct sound.
func TestDiffuseFieldHasTheEnergyOfTheStatisticalRoom(t *testing.T) {
	room := Room{Name: "hall", Size: Point{10, 8, 4}, DecayS: 0.8, TempC: 20}
	h := newDice(7, "test").hiss()
	f := newOnePole(1500, 48000) // low enough that the damping of the treble does not show
	noise := make([]float32, 3*48000)
	for i := range noise {
		noise[i] = float32(0.1 * f.next(h.next()))
	}
	s := &Scene{RateHz: 48000, Frames: 3 * 48000, Rooms: []Room{room},
		Sources: []Source{{Name: "noise", Pos: Point{2, 2, 1.5}, Sound: &Held{Samples: noise}}},
		Mics:    []Mic{{Pos: Point{8, 6, 2}, NoiseDBFS: quietNoise}}}
	x := renderAll(t, s, 4096)[0][48000:]
	in, out := 0.0, 0.0
	for i := range x {
		in += float64(noise[48000+i]) * float64(noise[48000+i])
		out += float64(x[i]) * float64(x[i])
	}
	r := DistanceM(s.Sources[0].Pos, s.Mics[0].Pos)
	want := 10 * math.Log10(16*math.Pi/room.absorptionArea()+1/(r*r))
	got := 10 * math.Log10(out/in)
	t.Logf("diffuse and direct sound %.2f dB re 1 m, theory %.2f dB", got, want)
	if math.Abs(got-want) > 2 {
		t.Errorf("level %.2f dB re 1 m, want %.2f ± 2", got, want)
	}
}

// The RMS of a floor follows AES17: a full-scale sine reads 0 dBFS.
func TestNoiseHasTheLevelAskedFor(t *testing.T) {
	s := openAir(Mic{Pos: Point{1, 0, 0}})
	s.Mics[0].NoiseDBFS = -62
	s.Frames = 96000
	s.Sources[0].Sound = &Held{}
	x := renderAll(t, s, 1000)[0]
	sum := 0.0
	for _, v := range x {
		sum += float64(v) * float64(v)
	}
	if got := 10*math.Log10(sum/float64(len(x))) + 3.0103; math.Abs(got+62) > 0.3 {
		t.Errorf("floor %.2f dBFS, want -62", got)
	}
}

func TestBlocksOfAnyLengthGiveTheSameSound(t *testing.T) {
	render := func(block int) [][]float32 {
		s, err := NewSession(Options{Faults: true, DurationS: 6})
		if err != nil {
			t.Fatal(err)
		}
		return renderAll(t, &s.Scene, block)
	}
	want := render(4800)
	for _, block := range []int{997, 12000} {
		got := render(block)
		for i := range want {
			for k := range want[i] {
				if math.Abs(float64(got[i][k]-want[i][k])) > 1e-7 {
					t.Fatalf("blocks of %d: line %d frame %d is %g, want %g", block, i, k, got[i][k], want[i][k])
				}
			}
		}
	}
}

func TestScenesThatContradictThemselvesAreRefused(t *testing.T) {
	for name, spoil := range map[string]func(*Scene){
		"no such room":            func(s *Scene) { s.Mics[0].Room = 3 },
		"a source without sound":  func(s *Scene) { s.Sources[0].Sound = nil },
		"fed by a later one":      func(s *Scene) { s.Sources[0].FedBy = 1 },
		"a rate of nothing":       func(s *Scene) { s.RateHz = 0 },
		"a line of no such input": func(s *Scene) { s.Mics[0].Direct = 2 },
	} {
		s := openAir(Mic{})
		spoil(s)
		if _, err := NewRenderer(s); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	if _, err := NewSession(Options{RateHz: 8000}); err == nil {
		t.Error("a session at 8 kHz was accepted")
	}
}
