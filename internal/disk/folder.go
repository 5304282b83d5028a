package disk

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"tidemark/internal/desk"
	"tidemark/internal/sound"
)

// Folder is a folder of recordings; it fulfils desk.Library.
type Folder struct {
	path  string
	files []desk.File
	paths map[string]string
}

// OpenFolder lists the sound files of a folder and of the folders below it. A
// line-check folder below it (see FindAlone) is left out, and so is what lies
// below one of the folders given as aside: their recordings are not a take.
func OpenFolder(path string, aside ...string) (*Folder, error) {
	entries, err := List(path)
	if err != nil {
		return nil, err
	}
	f := &Folder{path: path, paths: map[string]string{}}
	for _, e := range entries {
		first, _, below := strings.Cut(e.Name, "/")
		if below && isAlone(first) || slices.ContainsFunc(aside, func(a string) bool { return liesBelow(e.Path, a) }) {
			continue
		}
		f.add(desk.File{Name: e.Name, Size: e.Size, ModTime: e.ModTime}, e.Path)
	}
	if len(f.files) == 0 {
		return nil, fmt.Errorf("%s holds only a line-check recording; give that folder itself, or the one with the takes", path)
	}
	return f, nil
}

// liesBelow says whether a file lies in a folder or in one below it, however
// the two paths are written.
func liesBelow(file, folder string) bool {
	want, err := os.Stat(folder)
	if err != nil {
		return false
	}
	for dir := filepath.Dir(file); ; dir = filepath.Dir(dir) {
		if info, err := os.Stat(dir); err == nil && os.SameFile(info, want) {
			return true
		}
		if dir == filepath.Dir(dir) {
			return false
		}
	}
}

// OpenFiles makes a library of single files, called by the paths given.
func OpenFiles(paths []string) (*Folder, error) {
	f := &Folder{paths: map[string]string{}}
	for _, p := range paths {
		info, err := os.Stat(p)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", p, plain(err))
		}
		if info.IsDir() {
			return nil, fmt.Errorf("%s is a folder; name the files in it, or use check for a whole folder", p)
		}
		f.add(desk.File{Name: filepath.ToSlash(p), Size: info.Size(), ModTime: info.ModTime()}, p)
	}
	return f, nil
}

func (f *Folder) add(file desk.File, path string) {
	if _, twice := f.paths[file.Name]; twice {
		return
	}
	f.files = append(f.files, file)
	f.paths[file.Name] = path
}

// Folder is the path the person gave.
func (f *Folder) Folder() string { return f.path }

// Files lists a folder's recordings in the natural order of their names, and
// single files in the order in which they were given.
func (f *Folder) Files() ([]desk.File, error) { return f.files, nil }

// Open opens a recording for reading only.
func (f *Folder) Open(name string) (sound.Reader, io.Closer, error) {
	path, ok := f.paths[name]
	if !ok {
		return nil, nil, fmt.Errorf("%s is not in %s", name, f.path)
	}
	return Open(path)
}

// FindAlone looks for a line-check recording in a folder: a sub-folder called
// "line check" in whatever spelling, with sound in it. It is "" where there is none.
func FindAlone(folder string) string {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return ""
	}
	for _, e := range entries {
		if !e.IsDir() || !isAlone(e.Name()) {
			continue
		}
		path := filepath.Join(folder, e.Name())
		if _, err := List(path); !errors.Is(err, ErrNoSound) {
			return path // one that cannot be read is told when it is opened
		}
	}
	return ""
}

// isAlone knows a line-check folder by its name.
func isAlone(name string) bool {
	var letters strings.Builder
	for _, r := range strings.ToLower(name) {
		if r >= 'a' && r <= 'z' {
			letters.WriteRune(r)
		}
	}
	return letters.String() == "linecheck"
}

// FindList looks for the input list in a folder: the one table in it, or of
// several the one whose name says so. It is "" where there is none.
func FindList(folder string) (string, error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return "", fmt.Errorf("%s: %w", folder, plain(err))
	}
	var tables, named []string
	for _, e := range entries {
		name := strings.ToLower(e.Name())
		if e.IsDir() || strings.HasPrefix(name, ".") || strings.HasPrefix(name, "~$") {
			continue
		}
		switch filepath.Ext(name) {
		case ".csv", ".tsv", ".xlsx":
			tables = append(tables, e.Name())
			if strings.Contains(name, "input") || strings.Contains(name, "line") || strings.Contains(name, "patch") {
				named = append(named, e.Name())
			}
		}
	}
	switch {
	case len(named) == 1:
		return filepath.Join(folder, named[0]), nil
	case len(tables) == 1:
		return filepath.Join(folder, tables[0]), nil
	case len(tables) > 1:
		return "", fmt.Errorf("%s holds several tables (%s); say which is the input list with --lines", folder, strings.Join(tables, ", "))
	}
	return "", nil
}

// OpenList opens an input list for reading.
func OpenList(path string) (*desk.Document, io.Closer, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", path, plain(err))
	}
	info, err := f.Stat()
	if err == nil && info.IsDir() {
		err = fmt.Errorf("it is a folder, expected a CSV or XLSX file")
	}
	if err != nil {
		f.Close()
		return nil, nil, fmt.Errorf("%s: %w", path, plain(err))
	}
	return &desk.Document{Name: filepath.Base(path), Size: info.Size(), ReaderAt: f}, f, nil
}
