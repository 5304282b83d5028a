package disk

import (
	"bytes"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"tidemark/internal/sound/soundtest"
)

// session puts sounds at these names.
func session(t *testing.T, dir string, names ...string) {
	t.Helper()
	p := aSound(t, soundtest.Noise(1, 100, 24))
	for _, name := range names {
		put(t, dir, name, p)
	}
}

func names(t *testing.T, f *Folder) []string {
	t.Helper()
	files, err := f.Files()
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, e := range files {
		out = append(out, e.Name)
	}
	return out
}

func TestOpenFolderLeavesTheLineCheckOut(t *testing.T) {
	for _, c := range []struct {
		name  string
		files []string
		aside []string
		want  []string
	}{
		{"files here and below", []string{"b.wav", "a 10.wav", "a 2.wav", "day 2/c.flac"}, nil, []string{"a 2.wav", "a 10.wav", "b.wav", "day 2/c.flac"}},
		{"a line check of one pass", []string{"a.wav", "Line check/a.wav"}, nil, []string{"a.wav"}},
		{"a line check of folders, in another spelling", []string{"a.wav", "LINE_CHECK/kick/a.wav", "LINE_CHECK/bass/a.wav"}, nil, []string{"a.wav"}},
		{"a file that is called like one", []string{"a.wav", "line check.wav"}, nil, []string{"a.wav", "line check.wav"}},
		{"a second line check", []string{"a.wav", "line check/a.wav", "line check 2/a.wav"}, nil, []string{"a.wav"}},
		{"a folder that only begins like one", []string{"a.wav", "line check takes/a.wav"}, nil, []string{"a.wav", "line check takes/a.wav"}},
		{"a folder put aside", []string{"a.wav", "Soundcheck/a.wav", "Soundcheck/kick/a.wav", "Soundcheck 2/a.wav"}, []string{"Soundcheck"}, []string{"a.wav", "Soundcheck 2/a.wav"}},
		{"a folder put aside, written the long way", []string{"a.wav", "x/Soundcheck/a.wav"}, []string{"x/../x/./Soundcheck/"}, []string{"a.wav"}},
		{"a folder put aside that is not there", []string{"a.wav"}, []string{"nowhere"}, []string{"a.wav"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			session(t, dir, c.files...)
			var aside []string
			for _, a := range c.aside {
				aside = append(aside, dir+string(filepath.Separator)+filepath.FromSlash(a))
			}
			f, err := OpenFolder(dir, aside...)
			if err != nil {
				t.Fatal(err)
			}
			if got := names(t, f); !slices.Equal(got, c.want) {
				t.Errorf("%q, want %q", got, c.want)
			}
			if f.Folder() != dir {
				t.Errorf("it is called %q, want %q", f.Folder(), dir)
			}
		})
	}
}

// A path from where one stands and one from the root are one folder.
func TestOpenFolderKnowsAFolderAsideByWhateverPath(t *testing.T) {
	dir := t.TempDir()
	session(t, dir, "a.wav", "Soundcheck/a.wav")
	t.Chdir(dir)
	for _, p := range [][2]string{{".", filepath.Join(dir, "Soundcheck")}, {dir, "Soundcheck"}, {".", "Soundcheck"}, {"Soundcheck/..", "./Soundcheck/"}} {
		f, err := OpenFolder(p[0], p[1])
		if err != nil {
			t.Fatal(err)
		}
		if got := names(t, f); !slices.Equal(got, []string{"a.wav"}) {
			t.Errorf("%s without %s: %q, want a.wav alone", p[0], p[1], got)
		}
	}
}

func TestOpenFolderSaysWhatIsWrong(t *testing.T) {
	dir := t.TempDir()
	session(t, dir, "only/Line check/a.wav", "take/a.wav")
	put(t, dir, "notes/remember.txt", []byte("milk"))
	for _, c := range []struct{ path, says string }{
		{"nowhere", "nowhere"},
		{"notes", "no sound files"},
		{"take/a.wav", "a file, not a folder"},
		{"only", "only a line-check recording"},
	} {
		f, err := OpenFolder(filepath.Join(dir, filepath.FromSlash(c.path)))
		if err == nil || !strings.Contains(err.Error(), c.says) || f != nil {
			t.Errorf("%s: %v, want an error that says %q", c.path, err, c.says)
		}
	}
	// The line-check folder itself may be asked for.
	f, err := OpenFolder(filepath.Join(dir, "only", "Line check"))
	if err != nil {
		t.Fatal(err)
	}
	if got := names(t, f); !slices.Equal(got, []string{"a.wav"}) {
		t.Errorf("%q, want a.wav", got)
	}
}

func TestAFolderOpensItsOwnFilesAndNoOthers(t *testing.T) {
	dir := t.TempDir()
	want := soundtest.Noise(1, 100, 24)
	session(t, dir, "take/a.wav", "b.wav", "take/Line check/c.wav")
	f, err := OpenFolder(filepath.Join(dir, "take"))
	if err != nil {
		t.Fatal(err)
	}
	r, closer, err := f.Open("a.wav")
	if err != nil {
		t.Fatal(err)
	}
	soundtest.Same(t, soundtest.ReadAll(t, r, 64), want)
	if err := closer.Close(); err != nil {
		t.Error(err)
	}
	for _, name := range []string{"../b.wav", filepath.Join(dir, "b.wav"), "Line check/c.wav", "A.wav2", ""} {
		if _, _, err := f.Open(name); err == nil || !strings.Contains(err.Error(), "is not in") {
			t.Errorf("%q: error %v, want that it is not in the folder", name, err)
		}
	}
}

func TestOpenFilesCallsThemByTheirPaths(t *testing.T) {
	dir := t.TempDir()
	session(t, dir, "x/a.wav", "b.wav")
	a, b := filepath.Join(dir, "x", "a.wav"), filepath.Join(dir, "b.wav")
	f, err := OpenFiles([]string{b, a, b})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := names(t, f), []string{filepath.ToSlash(b), filepath.ToSlash(a)}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q: the order given, each once", got, want)
	}
	_, closer, err := f.Open(filepath.ToSlash(a))
	if err != nil {
		t.Fatal(err)
	}
	closer.Close()
	for _, c := range []struct{ path, says string }{{filepath.Join(dir, "x"), "is a folder"}, {filepath.Join(dir, "z.wav"), "there is no such file"}} {
		if _, err := OpenFiles([]string{b, c.path}); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error %v, want one that says %q", c.path, err, c.says)
		}
	}
}

func TestFindAloneKnowsALineCheckByItsName(t *testing.T) {
	for _, c := range []struct {
		name  string
		files []string
		want  string
	}{
		{"none", []string{"a.wav", "takes/a.wav"}, ""},
		{"as the band writes it", []string{"a.wav", "Line check/a.wav"}, "Line check"},
		{"in capitals with a hyphen", []string{"LINE-CHECK/kick/a.wav"}, "LINE-CHECK"},
		{"in one word, with a number before", []string{"01 linecheck/a.wav"}, "01 linecheck"},
		{"a file of that name", []string{"line check.wav"}, ""},
		{"without sound in it", []string{"a.wav", "line check/notes.txt"}, ""},
		{"one without sound and one with", []string{"line check/notes.txt", "line_check/a.wav"}, "line_check"},
		{"further down", []string{"day 1/line check/a.wav"}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			session(t, dir, c.files...)
			want := c.want
			if want != "" {
				want = filepath.Join(dir, want)
			}
			if got := FindAlone(dir); got != want {
				t.Errorf("%q, want %q", got, want)
			}
		})
	}
	if got := FindAlone(filepath.Join(t.TempDir(), "nowhere")); got != "" {
		t.Errorf("in a folder that is not there: %q", got)
	}
}

func TestFindListTakesTheOneTableThatMustBeIt(t *testing.T) {
	for _, c := range []struct {
		name  string
		files []string
		want  string
		says  string // of the error
	}{
		{"none", []string{"a.wav", "notes.txt"}, "", ""},
		{"the only table, whatever its name", []string{"a.wav", "tuesday.csv"}, "tuesday.csv", ""},
		{"the one whose name says so", []string{"set list.csv", "Input List.XLSX", "credits.tsv"}, "Input List.XLSX", ""},
		{"hidden and lock files are none", []string{"list.csv", ".input list.csv", "~$input list.xlsx"}, "list.csv", ""},
		{"a folder called like one is none", []string{"input.csv/a.wav", "b.tsv"}, "b.tsv", ""},
		{"two that could be it", []string{"monday.csv", "tuesday.csv"}, "", "--lines"},
		{"two whose names say so", []string{"input 1.csv", "input 2.csv"}, "", "--lines"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			session(t, dir, c.files...)
			got, err := FindList(dir)
			if c.says != "" {
				if err == nil || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), c.files[0]) {
					t.Errorf("error %v, want one that names the tables and %s", err, c.says)
				}
				return
			}
			want := c.want
			if want != "" {
				want = filepath.Join(dir, want)
			}
			if err != nil || got != want {
				t.Errorf("%q, error %v; want %q", got, err, want)
			}
		})
	}
	if _, err := FindList(filepath.Join(t.TempDir(), "nowhere")); err == nil || !strings.Contains(err.Error(), "nowhere") {
		t.Errorf("in a folder that is not there: error %v", err)
	}
}

func TestOpenListReadsAndRefuses(t *testing.T) {
	dir := t.TempDir()
	p := []byte("Ch,Source\n1,Kick\n")
	path := put(t, dir, "Größe ä.csv", p)
	doc, closer, err := OpenList(path)
	if err != nil {
		t.Fatal(err)
	}
	got := make([]byte, doc.Size)
	if _, err := doc.ReadAt(got, 0); err != nil || !bytes.Equal(got, p) || doc.Name != "Größe ä.csv" {
		t.Errorf("%s holds %q, error %v", doc.Name, got, err)
	}
	if err := closer.Close(); err != nil {
		t.Error(err)
	}
	for _, c := range []struct{ path, says string }{
		{filepath.Join(dir, "nothing.csv"), "there is no such file"},
		{dir, "expected a CSV or XLSX file"},
	} {
		if doc, closer, err := OpenList(c.path); err == nil || !strings.Contains(err.Error(), c.says) || doc != nil || closer != nil {
			t.Errorf("%s: error %v, want one that says %q", c.path, err, c.says)
		}
	}
}

// A folder aside that is reached through a link is the folder it leads to.
func TestAFolderAsideMayBeALink(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("links need rights of their own")
	}
	dir := t.TempDir()
	session(t, dir, "take/a.wav", "take/Soundcheck/a.wav")
	link := filepath.Join(dir, "shortcut")
	if err := os.Symlink(filepath.Join(dir, "take", "Soundcheck"), link); err != nil {
		t.Fatal(err)
	}
	f, err := OpenFolder(filepath.Join(dir, "take"), link)
	if err != nil {
		t.Fatal(err)
	}
	if got := names(t, f); !slices.Equal(got, []string{"a.wav"}) {
		t.Errorf("%q, want a.wav alone", got)
	}
}
