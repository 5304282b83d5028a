package disk

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"tidemark/internal/sound/soundfile"
)

// Entry is a sound file in a folder.
type Entry struct {
	Name    string // below the folder, with slashes on every system
	Path    string // to open it by
	Size    int64  // bytes
	ModTime time.Time
}

// ErrNoSound is what List gives for a folder without sound files.
var ErrNoSound = errors.New("no sound files here or in the folders below; Tidemark looks for .wav, .wave, .bwf, .rf64, .bw64, .aif, .aiff, .aifc and .flac")

// List gives the sound files in a folder and the folders below it, by their
// extensions, sorted as a person would: "take 2" before "take 10". Left out are
// hidden files and folders (names that begin with a dot, among them the "._"
// files that some systems put beside each copy) and links to folders. A folder
// that cannot be read is an error, since a check of half a folder would look
// like one of the whole.
func List(folder string) ([]Entry, error) {
	name := filepath.Base(folder)
	info, err := os.Stat(folder)
	if err != nil {
		return nil, fmt.Errorf("folder %s: %w", name, plain(err))
	}
	if !info.IsDir() {
		return nil, fmt.Errorf("%s: a file, not a folder; name the folder it lies in", name)
	}
	var entries []Entry
	err = fs.WalkDir(os.DirFS(folder), ".", func(at string, d fs.DirEntry, err error) error {
		switch {
		case err != nil && at == ".":
			return fmt.Errorf("folder %s: %w", name, plain(err))
		case err != nil:
			return fmt.Errorf("folder %s in %s: %w", at, name, plain(err))
		case at == ".":
			return nil
		case strings.HasPrefix(d.Name(), "."):
			if d.IsDir() {
				return fs.SkipDir
			}
			return nil
		case d.IsDir() || !soundfile.Known(at):
			return nil
		}
		path := filepath.Join(folder, filepath.FromSlash(at))
		info, err := os.Stat(path) // not d.Info: a link to a file counts as the file
		if errors.Is(err, fs.ErrNotExist) {
			return nil // gone since the folder was read, or a link to nowhere
		}
		if err != nil {
			return fmt.Errorf("%s: %w", at, plain(err))
		}
		if info.Mode().IsRegular() {
			entries = append(entries, Entry{Name: at, Path: path, Size: info.Size(), ModTime: info.ModTime()})
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if len(entries) == 0 {
		return nil, fmt.Errorf("folder %s: %w", name, ErrNoSound)
	}
	slices.SortFunc(entries, func(a, b Entry) int { return natural(a.Name, b.Name) })
	return entries, nil
}

// natural compares as a person sorts: runs of digits by their value, letters
// without regard to case, a folder's files together. Names that differ in
// neither are put in byte order.
func natural(a, b string) int {
	x, y := a, b
	for x != "" && y != "" {
		if digit(x[0]) && digit(y[0]) {
			n, m := digits(x), digits(y)
			v, w := strings.TrimLeft(x[:n], "0"), strings.TrimLeft(y[:m], "0")
			if c := cmp.Or(cmp.Compare(len(v), len(w)), cmp.Compare(v, w)); c != 0 {
				return c
			}
			x, y = x[n:], y[m:]
			continue
		}
		r, n := utf8.DecodeRuneInString(x)
		s, m := utf8.DecodeRuneInString(y)
		if c := cmp.Compare(rank(r), rank(s)); c != 0 {
			return c
		}
		x, y = x[n:], y[m:]
	}
	return cmp.Or(cmp.Compare(len(x), len(y)), cmp.Compare(a, b))
}

// rank puts the slash before everything, so that "a/1" stands before "a b/1".
func rank(r rune) rune {
	if r == '/' {
		return -1
	}
	return []rune(strings.ToLower(string(r)))[0]
}

func digit(b byte) bool { return b >= '0' && b <= '9' }

// digits is the length of the run of digits that s begins with.
func digits(s string) int {
	n := 0
	for n < len(s) && digit(s[n]) {
		n++
	}
	return n
}
