package material

import (
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestResampleKeepsPitchAndLevel(t *testing.T) {
	for _, c := range []struct{ from, to int }{{44100, 48000}, {48000, 44100}, {16000, 48000}} {
		x := make([]float32, c.from/4)
		for i := range x {
			x[i] = float32(math.Sin(2 * math.Pi * 1000 * float64(i) / float64(c.from)))
		}
		y := Resample(x, c.from, c.to)
		if got, want := len(y), c.to/4; got < want-2 || got > want+2 {
			t.Errorf("%d to %d: got %d frames, want %d", c.from, c.to, got, want)
		}
		var worst float64
		for i := 500; i < len(y)-500; i++ {
			worst = math.Max(worst, math.Abs(float64(y[i])-math.Sin(2*math.Pi*1000*float64(i)/float64(c.to))))
		}
		if worst > 0.005 {
			t.Errorf("%d to %d: off by %.4f, want 0.005 at most", c.from, c.to, worst)
		}
	}
}

func TestNamesOfKitPartsAreRead(t *testing.T) {
	for name, want := range map[string][2]string{
		"Bass Drum": {"kick", ""}, "Kick": {"kick", ""}, "Snare Jazz": {"snare", ""}, "Side Stick": {"rim", ""},
		"Closed HH": {"hat", ""}, "Open HH": {"hat open", ""}, "Tom Hi": {"tom 1", ""}, "Tom Mid": {"tom 2", ""},
		"Floor Tom": {"tom 3", ""}, "Crash": {"crash", ""}, "Ride Jazz": {"ride", ""},
		"Cowbell": {"", "Cowbell"}, "Conga": {"", "Conga"}, "Empty": {"", ""}, "Laser": {"", ""},
	} {
		if d, p := part(name); d != want[0] || p != want[1] {
			t.Errorf("%s: got %q and %q, want %q", name, d, p, want)
		}
	}
}

func TestEverySyntheticPlayerSounds(t *testing.T) {
	s := Synthetic()
	r := rand.New(rand.NewPCG(1, 1))
	check := func(name string, x []float32) {
		var p float32
		for _, v := range x {
			p = max(p, v, -v)
		}
		if !(p > 0.01 && p < 20) {
			t.Errorf("%s: peak %g", name, p)
		}
	}
	for part, p := range s.Kits[0] {
		check(part, p.Note(60, 100, 0.3, 16000, r))
	}
	for role, all := range s.Tuned {
		check(role, all[0].Player.Note(60, 100, 0.3, 16000, r))
	}
	for _, v := range s.Voices {
		check("voice", v.Phrase(16000, r))
	}
}

func TestLoadWithoutSoundsSaysHowToGetThem(t *testing.T) {
	_, err := Load(t.TempDir())
	if err == nil || !strings.Contains(err.Error(), "--fetch") || !strings.Contains(err.Error(), "--synthetic") {
		t.Errorf("got %v", err)
	}
}

func TestKitsAreReadFromTheirDescription(t *testing.T) {
	dir := t.TempDir()
	kit := filepath.Join(dir, "a kit")
	if err := os.MkdirAll(kit, 0o755); err != nil {
		t.Fatal(err)
	}
	xml := `<drumkit_info><instrumentList>
<instrument><name>Kick</name><layer><filename>no.wav</filename><min>0</min><max>1</max></layer></instrument>
</instrumentList></drumkit_info>`
	if err := os.WriteFile(filepath.Join(kit, "drumkit.xml"), []byte(xml), 0o644); err != nil {
		t.Fatal(err)
	}
	kits, hits, err := readKits(dir)
	if err != nil || len(kits) != 0 || len(hits) != 0 {
		t.Errorf("a kit without its files: got %d kits, %d hits, %v; want none", len(kits), len(hits), err)
	}
}

func TestClipsWithSeamsAreNotUsed(t *testing.T) {
	x := Synthetic().Voices[0].Phrase(16000, rand.New(rand.NewPCG(3, 3)))
	if spiky(x) {
		t.Error("a whole phrase was refused")
	}
	y := make([]float32, len(x))
	for i := range y {
		y[i] = float32(0.5 * math.Sin(float64(i)/20))
	}
	y[len(y)/2] += 0.05
	if !spiky(y) {
		t.Error("a sine with a seam was taken")
	}
}

func TestClipsEndAtZeroWithoutOffset(t *testing.T) {
	x := make([]float32, 1000)
	for i := range x {
		x[i] = 0.3 + 0.5*float32(i%2)
	}
	x = edged(x, 1000, 0.01, 0.02)
	if x[0] != 0 || x[999] != 0 {
		t.Errorf("ends at %g and %g, want 0", x[0], x[999])
	}
	if got, want := x[500]+x[501], float32(0); math.Abs(float64(got-want)) > 1e-5 {
		t.Errorf("offset left: got %g", got/2)
	}
}
