package properties

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tidemark/internal/desk"
	"tidemark/internal/disk"
	"tidemark/internal/meter"
	"tidemark/internal/signal"
	"tidemark/internal/sound"
)

// shuffled is a real folder whose files are listed in another order, as another
// file system would list them.
type shuffled struct {
	desk.Library
	r *rand.Rand
}

func (s shuffled) Files() ([]desk.File, error) {
	files, err := s.Library.Files()
	files = slices.Clone(files)
	s.r.Shuffle(len(files), func(i, j int) { files[i], files[j] = files[j], files[i] })
	return files, err
}

// session writes a take of some lines that hear each other, with the faults that
// most rules look for, and gives its list.
func session(t *testing.T, r *rand.Rand) (dir, list string) {
	t.Helper()
	const rate = 48000
	dir = t.TempDir()
	names := []string{"Kick in", "Snare top", "Snare bottom", "OH L", "OH R", "Bass DI", "Vox"}
	x := take(r, len(names), rate, 3*rate)
	signal.Add(x[2], signal.Scale(x[1], -0.5), 30) // the other side of the skin
	for _, oh := range []int{3, 4} {
		signal.Add(x[oh], signal.Gain(x[0], -14), 120)
		signal.Add(x[oh], signal.Gain(x[1], -9), 90+40*(oh-3))
	}
	clear(x[5]) // dead
	spoilFinite(r, x[6], rate)
	list = "ch,source,mic\n"
	for i, name := range names {
		list += string(rune('1'+i)) + "," + name + ",\n"
		file := strings.ReplaceAll(name, " ", "_") + "_01.wav"
		if err := os.WriteFile(filepath.Join(dir, file), wavForm("WAV", sound.Integer, 24).write(t, rate, [][]float32{signal.Quantize(x[i], 24)}), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	// Two that no line claims, one of them a copy, and one that is no sound.
	copied := wavForm("WAV", sound.Integer, 24).write(t, rate, [][]float32{signal.Quantize(x[1], 24)})
	for name, p := range map[string][]byte{"Spare_01.wav": copied, "Room stereo_01.flac": flacForm(24).write(t, rate, [][]float32{signal.Quantize(x[3], 24), signal.Quantize(x[4], 24)}), "Notes.wav": []byte("not a recording")} {
		if err := os.WriteFile(filepath.Join(dir, name), p, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir, list
}

// The order in which a folder lists its files and the number of workers that read
// them change not a letter of a check or of a measurement.
func TestOrderAndWorkersChangeNothing(t *testing.T) {
	each(t, 1, func(t *testing.T, r *rand.Rand) {
		dir, list := session(t, r)
		folder, err := disk.OpenFolder(dir)
		if err != nil {
			t.Fatal(err)
		}
		var wantCheck, wantMeasure []byte
		for _, workers := range []int{1, 2, 7} {
			var lib desk.Library = shuffled{folder, r}
			if workers == 1 {
				lib = folder
			}
			doc := &desk.Document{Name: "list.csv", Size: int64(len(list)), ReaderAt: strings.NewReader(list)}
			check, err := desk.CheckPass(context.Background(), desk.CheckRequest{Recordings: lib, List: doc, Workers: workers})
			if err != nil {
				t.Fatal(err)
			}
			check.TookS = 0
			measurement, err := desk.MeasureFiles(context.Background(), folder, meter.Options{}, max(workers, 1), nil)
			if err != nil {
				t.Fatal(err)
			}
			gotCheck, err := json.MarshalIndent(check, "", " ")
			if err != nil {
				t.Fatal(err)
			}
			gotMeasure, err := json.MarshalIndent(measurement, "", " ")
			if err != nil {
				t.Fatal(err)
			}
			if wantCheck == nil {
				wantCheck, wantMeasure = gotCheck, gotMeasure
				if len(check.Findings) == 0 || len(check.Lines) < 7 || len(check.Refused) != 1 || len(check.Pairs) == 0 {
					t.Fatalf("%d findings, %d lines, %d refused, %d pairs: not the check that was meant", len(check.Findings), len(check.Lines), len(check.Refused), len(check.Pairs))
				}
				continue
			}
			sameText(t, "check", gotCheck, wantCheck)
			sameText(t, "measurement", gotMeasure, wantMeasure)
		}
	})
}

// sameText shows the first line in which two texts differ.
func sameText(t *testing.T, what string, got, want []byte) {
	t.Helper()
	g, w := bytes.Split(got, []byte("\n")), bytes.Split(want, []byte("\n"))
	for i := range w {
		if i >= len(g) || !bytes.Equal(g[i], w[i]) {
			t.Errorf("%s: line %d: got %s, want %s", what, i+1, bytes.Join(g[min(i, len(g)):min(i+4, len(g))], nil), bytes.Join(w[i:min(i+4, len(w))], nil))
			return
		}
	}
	if len(g) != len(w) {
		t.Errorf("%s: %d lines, want %d", what, len(g), len(w))
	}
}

// Whatever a float file holds, measuring and checking it ends in JSON.
func TestNonsenseIsStillJSON(t *testing.T) {
	each(t, 4, func(t *testing.T, r *rand.Rand) {
		const rate = 48000
		dir := t.TempDir()
		for _, name := range []string{"Kick_01.wav", "Snare top_01.wav", "Snare bottom_01.wav", "OH_01.wav"} {
			x := [][]float32{nonsense(r, rate, 3*rate)}
			if name == "OH_01.wav" {
				x = append(x, nonsense(r, rate, 3*rate))
			}
			if err := os.WriteFile(filepath.Join(dir, name), wavForm("WAV", sound.Float, 32).write(t, rate, x), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		folder, err := disk.OpenFolder(dir)
		if err != nil {
			t.Fatal(err)
		}
		check, err := desk.CheckPass(context.Background(), desk.CheckRequest{Recordings: folder})
		if err != nil {
			t.Fatal(err)
		}
		if err := json.NewEncoder(io.Discard).Encode(check); err != nil {
			t.Errorf("check: %v", err)
		}
		measurement, err := desk.MeasureFiles(context.Background(), folder, meter.Options{}, 1, nil)
		if err != nil {
			t.Fatal(err)
		}
		if err := json.NewEncoder(io.Discard).Encode(measurement); err != nil {
			t.Errorf("measurement: %v", err)
		}
	})
}
