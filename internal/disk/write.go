package disk

import (
	"crypto/rand"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"tidemark/internal/sound/soundfile"
)

// WriteFile makes a file at path of what write writes. It is written under a
// temporary, hidden name in the same folder, synced, and renamed at the end; on
// any error nothing is left, and a file that was there before is untouched. An
// existing sound file is never replaced.
//
// The writer is an *os.File, unbuffered, so one that needs to go back (a WAV
// header) may seek.
func WriteFile(path string, write func(io.Writer) error) (err error) {
	folder, name := filepath.Split(path)
	if soundfile.Known(name) {
		if _, err := os.Lstat(path); err == nil {
			return fmt.Errorf("%s: a file of this name is there already; Tidemark does not write over sound, choose another name or folder", name)
		}
	}
	temporary := filepath.Join(folder, "."+name+"."+rand.Text()[:8]+".part")
	f, err := os.OpenFile(temporary, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return fmt.Errorf("%s: %w", name, unwritable(err))
	}
	done := false
	defer func() { // also when write panics
		if !done {
			f.Close()
			os.Remove(temporary)
		}
	}()
	if err := write(f); err != nil {
		return fmt.Errorf("%s: %w", name, unwritable(err))
	}
	if err := f.Sync(); err != nil {
		return fmt.Errorf("%s: %w", name, unwritable(err))
	}
	if err := f.Close(); err != nil {
		return fmt.Errorf("%s: %w", name, unwritable(err))
	}
	if err := os.Rename(temporary, path); err != nil {
		return fmt.Errorf("%s: %w", name, unwritable(err))
	}
	done = true
	// The name is on the disk once its folder is; systems that cannot sync a
	// folder do it themselves.
	if d, err := os.Open(filepath.Clean(folder + ".")); err == nil {
		d.Sync()
		d.Close()
	}
	return nil
}

// unwritable words the usual refusals of a disk to be written to.
func unwritable(err error) error {
	switch {
	case os.IsNotExist(err):
		return sentence{"its folder is not there; make it first", err}
	case os.IsPermission(err):
		return sentence{"its folder may not be written to; choose another, or change who may write there", err}
	}
	return plain(err)
}
