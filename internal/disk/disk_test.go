package disk

import (
	"bytes"
	"cmp"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundtest"
	"tidemark/internal/sound/wav"
)

// put writes a file below dir, with the folders it needs.
func put(t testing.TB, dir, name string, p []byte) string {
	t.Helper()
	path := filepath.Join(dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, p, 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

func aSound(t testing.TB, planar [][]float32) []byte {
	t.Helper()
	var b bytes.Buffer
	w, err := wav.NewWriter(&b, wav.Spec{Format: sound.Format{Bits: 24, RateHz: 48000, Channels: len(planar)}}, int64(len(planar[0])))
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(sound.Block{Channels: planar}); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestOpenReadsAndChangesNothing(t *testing.T) {
	want := soundtest.Noise(2, 1000, 24)
	p := aSound(t, want)
	path := put(t, t.TempDir(), "kick.wav", p)
	if err := os.Chmod(path, 0o444); err != nil { // reading must need no more
		t.Fatal(err)
	}
	before, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	r, c, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	soundtest.Same(t, soundtest.ReadAll(t, r, 100), want)
	if _, ok := c.(io.Writer); ok {
		if _, err := c.(io.Writer).Write([]byte("x")); err == nil {
			t.Error("the opened file can be written to")
		}
	}
	if err := c.Close(); err != nil {
		t.Fatal(err)
	}
	after, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := os.ReadFile(path); err != nil || !bytes.Equal(got, p) || !after.ModTime().Equal(before.ModTime()) {
		t.Fatalf("the file changed: %v", err)
	}
}

func TestOpenSaysWhatIsWrongAndWithWhat(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "notes.wav", []byte("take 3 is the one"))
	put(t, dir, "folder.wav/a", nil)
	for name, want := range map[string]string{
		"gone.wav":   "gone.wav: there is no such file or folder; check the name, and that the disk is connected",
		"notes.wav":  "notes.wav: the file is text; Tidemark reads WAV, RF64, BW64, AIFF, AIFC and FLAC; ask for one of those",
		"folder.wav": "folder.wav: a folder, not a sound file; name the sound file in it",
	} {
		r, c, err := Open(filepath.Join(dir, name))
		if r != nil || c != nil || err == nil || err.Error() != want {
			t.Errorf("%s gave %v, want %q", name, err, want)
		}
	}
	_, _, err := Open(filepath.Join(dir, "gone.wav"))
	if !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%v is not fs.ErrNotExist", err)
	}
	_, _, err = Open(filepath.Join(dir, "notes.wav"))
	var typed *sound.FormatError
	if !errors.As(err, &typed) {
		t.Errorf("%v is no *sound.FormatError", err)
	}
}

func TestOpenDoesNotWaitForAPipe(t *testing.T) {
	if _, _, err := Open(os.DevNull); err == nil || !strings.Contains(err.Error(), "not an ordinary file") {
		t.Errorf("a device gave %v", err)
	}
}

func TestListSortsAsAPersonWould(t *testing.T) {
	dir := t.TempDir()
	want := []string{
		"day 1/take 2/1 kick.wav", "day 1/take 2/2 Snare.WAV", "day 1/take 2/10 room.flac",
		"day 1/take 010/1 kick.wav", "day 1/take 10/1 kick.wav", "Day 2/a.aiff", "Room 2.bwf", "room.aifc",
	}
	for _, name := range want {
		put(t, dir, name, []byte(name))
	}
	for _, name := range []string{"notes.txt", "._room.wav", "day 1/._1 kick.wav", ".trash/old.wav", "day 1/.hidden.wav", "mix.mp3"} {
		put(t, dir, name, nil)
	}
	if err := os.MkdirAll(filepath.Join(dir, "folder.wav"), 0o777); err != nil {
		t.Fatal(err)
	}
	entries, err := List(dir)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		got = append(got, e.Name)
		if p, err := os.ReadFile(e.Path); err != nil || string(p) != e.Name || e.Size != int64(len(p)) || e.ModTime.IsZero() {
			t.Errorf("%+v opens as %q, %v", e, p, err)
		}
	}
	if !slices.Equal(got, want) {
		t.Fatalf("%q, want %q", got, want)
	}
}

func TestNaturalOrderIsAnOrder(t *testing.T) {
	sorted := []string{"", "/x", "a", "a/b", "a 01", "a 1", "a 2", "a 10", "a1", "a1/z", "B", "b", "é"}
	for i, a := range sorted {
		for j, b := range sorted {
			if got, want := natural(a, b), cmp.Compare(i, j); got != want {
				t.Errorf("%q and %q: %d, want %d", a, b, got, want)
			}
		}
	}
}

func TestListSaysWhatIsWrong(t *testing.T) {
	dir := t.TempDir()
	file := put(t, dir, "a.wav", nil)
	put(t, dir, "empty/notes.txt", nil)
	for path, want := range map[string]string{
		filepath.Join(dir, "gone"):  "folder gone: there is no such file or folder; check the name, and that the disk is connected",
		file:                        "a.wav: a file, not a folder; name the folder it lies in",
		filepath.Join(dir, "empty"): "folder empty: no sound files here or in the folders below; Tidemark looks for",
	} {
		if e, err := List(path); e != nil || err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%s gave %v and %v, want %q", path, e, err, want)
		}
	}
	if _, err := List(filepath.Join(dir, "empty")); !errors.Is(err, ErrNoSound) {
		t.Errorf("%v is not ErrNoSound", err)
	}
	if runtime.GOOS == "windows" || os.Geteuid() == 0 {
		t.Skip("this user may read every folder: refusal cannot be tried here")
	}
	locked := filepath.Join(dir, "locked")
	if err := os.Mkdir(locked, 0); err != nil {
		t.Fatal(err)
	}
	if _, err := List(dir); err == nil || !strings.Contains(err.Error(), "folder locked in") {
		t.Errorf("a locked folder gave %v", err)
	}
}

func TestWriteFileWritesAllOrNothing(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "sheet.csv")
	text := func(s string) func(io.Writer) error {
		return func(w io.Writer) error { _, err := io.WriteString(w, s); return err }
	}
	holds := func(want string) {
		t.Helper()
		if p, err := os.ReadFile(path); err != nil || string(p) != want {
			t.Fatalf("the file holds %q (%v), want %q", p, err, want)
		}
		entries, err := os.ReadDir(dir)
		if err != nil || len(entries) != 1 {
			t.Fatalf("%v lie in the folder (%v), want the file alone", entries, err)
		}
	}
	if err := WriteFile(path, text("one")); err != nil {
		t.Fatal(err)
	}
	holds("one")
	if err := WriteFile(path, text("two")); err != nil {
		t.Fatal(err)
	}
	holds("two")

	full := errors.New("no space left")
	err := WriteFile(path, func(w io.Writer) error { io.WriteString(w, "half"); return full })
	if !errors.Is(err, full) || err.Error() != "sheet.csv: no space left" {
		t.Fatalf("%v, want the writer's error with the file's name", err)
	}
	holds("two")
	func() {
		defer func() { recover() }()
		WriteFile(path, func(io.Writer) error { panic("bad call") })
	}()
	holds("two")

	err = WriteFile(filepath.Join(dir, "gone", "sheet.csv"), text("x"))
	if err == nil || err.Error() != "sheet.csv: its folder is not there; make it first" {
		t.Fatalf("%v, want the folder named", err)
	}
	holds("two")
}

func TestWriteFileNeverReplacesSound(t *testing.T) {
	dir := t.TempDir()
	path := put(t, dir, "kick.wav", []byte("precious"))
	err := WriteFile(path, func(io.Writer) error { t.Error("was asked to write"); return nil })
	if err == nil || err.Error() != "kick.wav: a file of this name is there already; Tidemark does not write over sound, choose another name or folder" {
		t.Fatalf("%v, want a refusal", err)
	}
	if p, err := os.ReadFile(path); err != nil || string(p) != "precious" {
		t.Fatalf("the sound is now %q, %v", p, err)
	}
	// A new one is written, header last.
	want := soundtest.Noise(1, 100, 16)
	path = filepath.Join(dir, "new.wav")
	err = WriteFile(path, func(w io.Writer) error {
		o, err := wav.Create(w.(io.WriteSeeker), wav.Spec{Format: sound.Format{Bits: 16, RateHz: 48000, Channels: 1}})
		if err != nil {
			return err
		}
		if err := o.Write(sound.Block{Channels: want}); err != nil {
			return err
		}
		return o.Close()
	})
	if err != nil {
		t.Fatal(err)
	}
	r, c, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	soundtest.Same(t, soundtest.ReadAll(t, r, 30), want)
}
