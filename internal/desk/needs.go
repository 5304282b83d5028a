package desk

import (
	"io"
	"time"

	"tidemark/internal/sound"
)

// File is one sound file as a library lists it.
type File struct {
	Name    string // path below the folder, with slashes
	Size    int64
	ModTime time.Time
}

// Library is a folder of recordings. Recordings are only ever read.
type Library interface {
	// Folder is what a person calls it: the path they gave.
	Folder() string
	// Files lists the sound files below it, in the natural order of names.
	Files() ([]File, error)
	// Open opens one of them by its name.
	Open(name string) (sound.Reader, io.Closer, error)
}

// Document is a list that somebody typed.
type Document struct {
	Name string
	Size int64
	io.ReaderAt
}

// Progress tells how far a check has come.
type Progress struct {
	File       string  // the file that moved on, "" for work between lines
	Done       float64 // of this file, 0 to 1
	BytesDone  int64
	BytesTotal int64
	Stage      string // "reading", "comparing lines", "line check"
}
