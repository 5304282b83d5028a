// Package disk is the one place that opens given files and writes new ones.
//
// Sound is opened for reading only. What Tidemark writes goes to a temporary
// name in the same folder, is synced, and takes its real name at the end: a
// crash leaves either the old file or the new one, never half of one.
package disk

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"tidemark/internal/sound"
	"tidemark/internal/sound/soundfile"
)

// Open opens the sound file at path, for reading only. The Closer belongs to
// the caller and closes the file; it is nil with an error. Errors begin with
// the file's name; those about its contents hold a *sound.FormatError.
func Open(path string) (sound.Reader, io.Closer, error) {
	name := filepath.Base(path)
	// A pipe or a device would block, or never end.
	info, err := os.Stat(path)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", name, plain(err))
	}
	if info.IsDir() {
		return nil, nil, fmt.Errorf("%s: a folder, not a sound file; name the sound file in it", name)
	}
	if !info.Mode().IsRegular() {
		return nil, nil, fmt.Errorf("%s: not an ordinary file; copy the sound to a disk first", name)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", name, plain(err))
	}
	// A recorder may still be writing: the size is that of the opened file.
	if info, err = f.Stat(); err != nil {
		f.Close()
		return nil, nil, fmt.Errorf("%s: %w", name, plain(err))
	}
	r, err := soundfile.Open(f, info.Size())
	if err != nil {
		f.Close()
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	}
	return r, f, nil
}

// sentence is what the disk said, worded for a person; errors.Is still finds
// what it was.
type sentence struct {
	text string
	err  error
}

func (s sentence) Error() string { return s.text }
func (s sentence) Unwrap() error { return s.err }

// plain words the usual refusals of a disk and leaves the path out, which the
// caller names.
func plain(err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return sentence{"there is no such file or folder; check the name, and that the disk is connected", err}
	case errors.Is(err, fs.ErrPermission):
		return sentence{"it may not be opened; check who may read it", err}
	}
	var p *fs.PathError
	if errors.As(err, &p) {
		return sentence{p.Err.Error(), err}
	}
	return err
}
