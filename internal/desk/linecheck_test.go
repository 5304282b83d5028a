package desk_test

import (
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"tidemark/internal/band"
	"tidemark/internal/desk"
	"tidemark/internal/disk"
	"tidemark/internal/model"
	"tidemark/internal/signal"
	"tidemark/internal/sound"
)

// soloNames are the folders of a line check as an assistant names them, by
// the source of the band's turn. The engineer has none.
var soloNames = map[string]string{
	"kick": "kick", "snare": "Snr", "hi-hat": "HH", "rack tom": "rack", "floor tom": "Floor Tom", "cymbals": "OH", "tambourine": "tamb",
	"bass": "bass DI", "electric guitar": "EG amp", "acoustic guitar": "acoustic", "accordion": "03 accordion", "piano": "Pno",
	"lead voice": "ld vox", "low backing voice": "BV low", "high backing voice": "bv HIGH",
}

// soloPool holds, for each source, one file for each microphone: what it heard
// while the source sounded alone. Lines are given to the files by linking.
type soloPool struct {
	dir     string
	session *band.Session
	solos   []band.Solo
}

func (p soloPool) path(source string, mic int) string {
	return filepath.Join(p.dir, source, fmt.Sprintf("%d.wav", mic))
}

// soloS is how much of a turn is cut out: a moment of room tone and four strokes.
const soloS = 2.2

// cutSolos cuts the demo's line-check pass into its sources, a file a microphone
// (the demo's crossed toms uncrossed again).
var cutSolos = sync.OnceValues(func() (soloPool, error) {
	d, err := faultyDemo()
	if err != nil {
		return soloPool{}, err
	}
	s, err := band.NewSession(band.Options{LineCheck: true})
	if err != nil {
		return soloPool{}, err
	}
	p := soloPool{dir: filepath.Join(shared, "solos"), session: s}
	nothing := file{channels: [][]float32{signal.White(99, signal.Amplitude(-110), 3*48000)}}
	if err := os.MkdirAll(p.dir, 0o777); err != nil {
		return p, err
	}
	if err := os.WriteFile(p.silence(), nothing.wavBytes(&testing.B{}), 0o666); err != nil {
		return p, err
	}
	for _, solo := range s.Solos {
		if soloNames[solo.Source] != "" {
			p.solos = append(p.solos, solo)
		}
	}
	for _, f := range s.Files(1) {
		if err := p.cut(filepath.Join(d.dir, band.LineCheckFolder, f.Name), f.Lines, d.session.Patch); err != nil {
			return soloPool{}, err
		}
	}
	return p, nil
})

// silent stands for an input with nothing on it but the converter's noise.
const silent = -1

func (p soloPool) silence() string { return filepath.Join(p.dir, "nothing.wav") }

func (p soloPool) cut(path string, lines, patch []int) error {
	r, closer, err := disk.Open(path)
	if err != nil {
		return err
	}
	defer closer.Close()
	rate := r.Header().Format.RateHz
	b := sound.NewBlock(len(lines), 4800)
	for _, solo := range p.solos {
		first := int64(solo.StartS * float64(rate))
		if err := r.SeekFrame(first); err != nil {
			return err
		}
		heard := make([][]float32, len(lines))
		for n := int64(0); n < int64(soloS*float64(rate)); n += int64(b.Frames()) {
			if err := r.Read(b); err == io.EOF {
				break
			} else if err != nil {
				return err
			}
			for c, x := range b.Channels {
				heard[c] = append(heard[c], x...)
			}
		}
		for c, line := range lines {
			to := p.path(solo.Source, patch[line])
			if err := os.MkdirAll(filepath.Dir(to), 0o777); err != nil {
				return err
			}
			wav := file{channels: heard[c : c+1], rateHz: rate}.wavBytes(&testing.B{})
			if err := os.WriteFile(to, wav, 0o666); err != nil {
				return err
			}
		}
	}
	return nil
}

// lay makes a line check of one folder a source. carries says which line's
// microphone lies at a line's input where that is not its own, by number; names
// replaces names of folders.
func (p soloPool) lay(t *testing.T, dir string, carries map[int]int, names map[string]string) {
	t.Helper()
	for _, solo := range p.solos {
		name := soloNames[solo.Source]
		if n, ok := names[solo.Source]; ok {
			name = n
		}
		if name == "" {
			continue
		}
		folder := filepath.Join(dir, name)
		for i, l := range p.session.Lines {
			from := ""
			switch n := carries[l.Number]; {
			case n > 0:
				from = p.path(solo.Source, n-1)
			case n == silent:
				from = p.silence()
			default:
				from = p.path(solo.Source, i)
			}
			file := l.File
			if l.Source == "Rooms" {
				file = map[int]string{11: "Room L", 12: "Room R"}[l.Number]
			}
			to := filepath.Join(folder, file+"_01.wav")
			link(t, from, to)
		}
	}
}

// quickTake is a second and a half of the band with its list: enough of a take
// for its line check to be looked at.
var quickTake = sync.OnceValues(func() (take, error) { return render(band.Options{DurationS: 1.5}) })

// checkSolos checks a take whose line check is laid as told.
func checkSolos(t *testing.T, carries map[int]int, names map[string]string) desk.Check {
	t.Helper()
	p, err := cutSolos()
	if err != nil {
		t.Fatal(err)
	}
	s, err := quickTake()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for i, x := range s.lines {
		name := s.session.Lines[i].File
		if name == "Rooms" {
			name = s.trackName(i)
		}
		put(t, dir, "", file{name: strings.TrimSuffix(name, "_01") + "_02.wav", channels: [][]float32{x}, rateHz: s.rateHz})
	}
	s.list(t, dir)
	alone := filepath.Join(dir, "line-check")
	p.lay(t, alone, carries, names)
	c := checkFolder(t, dir)
	if c.LineCheck == nil || c.LineCheck.Form != "one folder a source" {
		t.Fatalf("line check: %+v", c.LineCheck)
	}
	return c
}

// sameRing says whether lines are the same ring, whichever it begins with.
func sameRing(got, want []string) bool {
	if len(got) != len(want) {
		return false
	}
	at := slices.Index(got, want[0])
	return at >= 0 && slices.Equal(append(slices.Clone(got[at:]), got[:at]...), want)
}

func TestALineCheckInFoldersTellsWhichLinesAreCrossed(t *testing.T) {
	skipSlow(t, "renders a whole line check")
	t.Parallel()
	for _, c := range []struct {
		name    string
		carries map[int]int // line number → number of the line whose sound it carries
		rings   [][]string
	}{
		{"nothing is crossed", nil, nil},
		{"voice and guitar are swapped", map[int]int{20: 15, 15: 20}, [][]string{{"15 EG amp", "20 Ld vox"}}},
		{"a ring of three", map[int]int{16: 17, 17: 20, 20: 16}, [][]string{{"16 Acoustic gtr", "17 Accordion", "20 Ld vox"}}},
		{"two swaps at once", map[int]int{6: 7, 7: 6, 21: 22, 22: 21}, [][]string{{"6 Rack tom", "7 Floor tom"}, {"21 BV low", "22 BV high"}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got := checkSolos(t, c.carries, nil)
			if !got.LineCheck.Understood || len(got.LineCheck.Sources) != len(soloNames) {
				t.Fatalf("understood %v (%s), %d sources, want %d", got.LineCheck.Understood, got.LineCheck.Why, len(got.LineCheck.Sources), len(soloNames))
			}
			swaps := found(got, model.KindSwapped)
			if len(swaps) != len(c.rings) {
				t.Fatalf("%d rings, want %d:\n%s", len(swaps), len(c.rings), summary(got))
			}
			for i, f := range swaps {
				if !sameRing(f.Lines, c.rings[i]) || f.Weight != model.Stop || f.Count != len(c.rings[i]) {
					t.Errorf("%s, %d lines %v; want a stop on %v", f.Weight, f.Count, f.Lines, c.rings[i])
				}
				if ring := c.rings[i]; len(ring) == 2 {
					if says := ring[0] + " and " + ring[1] + " are swapped"; !strings.Contains(f.Evidence, says) {
						t.Errorf("evidence %q, want it to say %q", f.Evidence, says)
					}
					continue
				}
				for k, line := range c.rings[i] {
					if says := line + " carries " + c.rings[i][(k+1)%len(c.rings[i])]; !strings.Contains(f.Evidence, says) {
						t.Errorf("evidence %q, want it to say %q", f.Evidence, says)
					}
				}
			}
			stopsOnlyFor(t, got, model.KindSwapped)
		})
	}
}

// An open chain: the accordion's input hears the voice, the voice's hears
// nothing, and nobody hears the accordion.
func TestAnOpenChainNamesTheLineThatCarriesAnother(t *testing.T) {
	skipSlow(t, "renders a whole line check")
	t.Parallel()
	got := checkSolos(t, map[int]int{17: 20, 20: silent}, nil)
	stopsOnlyFor(t, got, model.KindSwapped)
	f := one(t, got, model.KindSwapped)
	if !slices.Equal(f.Lines, []string{"17 Accordion", "20 Ld vox"}) {
		t.Errorf("swapped %v, want the accordion's line and the voice's", f.Lines)
	}
	if !strings.Contains(f.Evidence, "17 Accordion carries 20 Ld vox") || strings.Contains(f.Evidence, "20 Ld vox carries") {
		t.Errorf("evidence %q, want that the accordion's line carries the voice, and nothing of the voice's", f.Evidence)
	}
	t.Logf("%s: %s", f.Weight, f.Evidence)
}

// Where two inputs hear one source the same, which of them is right is not for
// the line check to say: the take's duplicate is.
func TestALineThatCarriesAnothersSoundTwiceAccusesNoOther(t *testing.T) {
	skipSlow(t, "renders a whole line check")
	t.Parallel()
	got := checkSolos(t, map[int]int{20: 17}, nil)
	stopsOnlyFor(t, got)
	for _, f := range found(got, model.KindSwapped) {
		if !slices.Contains(f.Lines, "20 Ld vox") {
			t.Errorf("swapped %v, where only the voice's line is wrong", f.Lines)
		}
	}
	for _, s := range got.LineCheck.Sources {
		if s.Named == "ld vox" || s.Named == "03 accordion" {
			t.Logf("folder %q: %q answered", s.Named, s.Heard)
		}
	}
}

// Names of folders that could mean several lines are no reason to stop a band.
func TestDoubtfulFoldersOfALineCheckNeverStop(t *testing.T) {
	skipSlow(t, "renders a whole line check")
	t.Parallel()
	for _, c := range []struct {
		name  string
		names map[string]string
	}{
		{"names by number are sure, and right", map[string]string{"rack tom": "6", "floor tom": "7"}},
		{"tom means two lines, and the floor tom sounded", map[string]string{"rack tom": "", "floor tom": "tom"}},
		{"vox means three lines", map[string]string{"lead voice": "", "low backing voice": "", "high backing voice": "vox"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got := checkSolos(t, nil, c.names)
			for _, s := range got.LineCheck.Sources {
				if strings.Contains(strings.Join(slices.Collect(maps.Values(c.names)), " "), s.Named) {
					t.Logf("folder %q: %q answered", s.Named, s.Heard)
				}
			}
			for _, f := range found(got, model.KindSwapped) {
				t.Logf("%s %v: %s", f.Weight, f.Lines, f.Evidence)
			}
			stopsOnlyFor(t, got)
		})
	}
}

// What cannot be read of a line check is told, and the take is checked all the same.
func TestALineCheckThatCannotBeReadDoesNotStopTheCheck(t *testing.T) {
	t.Parallel()
	text := []byte("not a recording")
	for _, c := range []struct {
		name string
		lay  func(dir string)
		want func(t *testing.T, r *desk.LineCheckReport)
	}{
		{"one of the folders", func(dir string) {
			for i, name := range []string{"Accordion", "Organ"} {
				for k, f := range fourFiles(2) {
					if k != i {
						f.channels[0] = signal.White(uint64(90+k+4*i), signal.Amplitude(-70), 2*48000)
					}
					f.name = name + "/" + f.name
					put(t, dir, "", f)
				}
			}
			write(t, filepath.Join(dir, "Fiddle", "Fiddle_01.wav"), text)
		}, func(t *testing.T, r *desk.LineCheckReport) {
			if !r.Understood || len(r.Sources) != 3 || r.Sources[0].Heard != "1 Accordion" || !strings.Contains(r.Sources[1].Heard, "could be read") || r.Sources[2].Heard != "2 Organ" {
				t.Errorf("%+v", r)
			}
		}},
		{"all there is", func(dir string) { write(t, filepath.Join(dir, "Fiddle_01.wav"), text) },
			func(t *testing.T, r *desk.LineCheckReport) {
				if r.Understood || r.Why == "" {
					t.Errorf("%+v", r)
				}
			}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			put(t, dir, fourLines, fourFiles(playS)...)
			c.lay(filepath.Join(dir, "LineCheck"))
			got := checkFolder(t, dir)
			if got.LineCheck == nil || len(got.Lines) != 4 || len(got.Findings) > 0 {
				t.Fatalf("%d lines, line check %+v, findings:\n%s", len(got.Lines), got.LineCheck, summary(got))
			}
			c.want(t, got.LineCheck)
		})
	}
}
