package band

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/csv"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/wav"
)

// digests are the SHA-256 of all files below a folder.
func digests(t *testing.T, dir string) map[string][32]byte {
	t.Helper()
	out := map[string][32]byte{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		p, err := os.ReadFile(path)
		name, _ := filepath.Rel(dir, path)
		out[filepath.ToSlash(name)] = sha256.Sum256(p)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// writeShort writes a session of a few seconds without its line check's full
// length: the song only.
func writeShort(ctx context.Context, dir string, progress func(done, total float64)) error {
	s, err := NewSession(Options{Faults: true, DurationS: 4})
	if err != nil {
		return err
	}
	p := pass{dir, 2, songTime, s}
	if err := p.free(); err != nil {
		return err
	}
	if err := p.write(ctx, func(s float64) { progress(s, 4) }); err != nil {
		return err
	}
	return writeSheet(filepath.Join(dir, SheetName), s.Lines)
}

func TestTheSameOptionsWriteTheSameBytes(t *testing.T) {
	a, b := filepath.Join(t.TempDir(), "new", "a"), t.TempDir()
	last := 0.0
	told := func(done, total float64) {
		if done < last || done > total {
			t.Errorf("progress went from %g to %g of %g", last, done, total)
		}
		last = done
	}
	for _, dir := range []string{a, b, b} { // the third over the second
		last = 0
		if err := writeShort(context.Background(), dir, told); err != nil {
			t.Fatal(err)
		}
	}
	da, db := digests(t, a), digests(t, b)
	if len(da) != 23 || len(db) != 23 {
		t.Errorf("%d and %d files, want 22 sound files and the sheet", len(da), len(db))
	}
	for name := range da {
		if da[name] != db[name] {
			t.Errorf("%s differs between two renderings", name)
		}
	}
}

func TestFilesCarryTheRecordersWord(t *testing.T) {
	dir := t.TempDir()
	if err := writeShort(context.Background(), dir, func(_, _ float64) {}); err != nil {
		t.Fatal(err)
	}
	for name, channels := range map[string]int{"Kick In_02.wav": 1, "Rooms_02.wav": 2, "Audio 22_02.wav": 1} {
		f, err := os.Open(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		info, _ := f.Stat()
		r, err := wav.Open(f, info.Size())
		if err != nil {
			t.Fatal(err)
		}
		h := r.Header()
		if want := (sound.Format{Container: "WAV", Bits: 24, RateHz: 48000, Channels: channels}); h.Format != want || h.Frames != 4*48000 || len(h.Damage) > 0 {
			t.Errorf("%s: %+v, %d frames, damage %v", name, h.Format, h.Frames, h.Damage)
		}
		// 15:42:10 at 48 kHz.
		if h.Broadcast == nil || h.Broadcast.TimeReference != (15*3600+42*60+10)*48000 || h.Broadcast.Originator != recorderName {
			t.Errorf("%s: bext %+v", name, h.Broadcast)
		}
	}
}

func TestAnotherPersonsFolderIsLeftAlone(t *testing.T) {
	for _, name := range []string{"holiday.wav", "Kick In_02.wav", SheetName} {
		dir := t.TempDir()
		mine := []byte("somebody's own")
		if err := os.WriteFile(filepath.Join(dir, name), mine, 0o644); err != nil {
			t.Fatal(err)
		}
		err := Write(context.Background(), dir, Options{DurationS: 1}, nil)
		if err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: error %v, want one that names it", name, err)
		}
		if got, _ := os.ReadFile(filepath.Join(dir, name)); !bytes.Equal(got, mine) {
			t.Errorf("%s was changed", name)
		}
	}
}

func TestAStoppedWriteLeavesNoSound(t *testing.T) {
	dir := t.TempDir()
	ctx, stop := context.WithCancel(context.Background())
	err := Write(ctx, dir, Options{}, func(done, _ float64) {
		if done > 0.5 {
			stop()
		}
	})
	if !errors.Is(err, context.Canceled) {
		t.Fatalf("error %v, want cancelled", err)
	}
	if left := digests(t, dir); len(left) != 0 {
		t.Errorf("%d files left: %v", len(left), left)
	}
}

func TestTheSheetListsEveryLine(t *testing.T) {
	path := filepath.Join(t.TempDir(), SheetName)
	lines := studioLines()
	if err := writeSheet(path, lines); err != nil {
		t.Fatal(err)
	}
	p, _ := os.ReadFile(path)
	r := csv.NewReader(bytes.NewReader(p))
	r.Comma = ';'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	text := string(p)
	for _, want := range []string{"11/12;Rooms L/R", `4;Snr bot;""""`, "DRUMS", "Ch;Source"} {
		if !strings.Contains(text, want) {
			t.Errorf("sheet lacks %q", want)
		}
	}
	sources := 0
	for _, row := range rows {
		if row[0] != "" && row[1] != "" && row[0][0] >= '0' && row[0][0] <= '9' {
			sources++
		}
	}
	if sources != len(lines)-1 { // a row less for the pair
		t.Errorf("%d rows with numbers, want %d", sources, len(lines)-1)
	}
}
