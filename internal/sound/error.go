package sound

import "fmt"

// FormatError says why a file cannot be read as sound, and where in it. Every
// decoder returns this type for what is wrong with the file's contents, so a
// caller can tell a bad file from a bad disk with errors.As. The name of the
// file is added by whoever opened it.
type FormatError struct {
	Chunk  string // "fmt", "data", "COMM", "frame 12"; "" for the file as a whole
	Offset int64  // of the chunk's first byte in the file
	Text   string // predicate of the sentence: "declares 0 channels, expected 1 to 64"
	Err    error  // what the disk or a library said, if it did
}

// Error is one sentence: chunk, byte offset, what was found, what to try.
func (e *FormatError) Error() string {
	where := ""
	if e.Chunk != "" {
		where = fmt.Sprintf("%s at byte %d ", e.Chunk, e.Offset)
	}
	if e.Err != nil {
		return fmt.Sprintf("%s%s: %v", where, e.Text, e.Err)
	}
	return where + e.Text
}

// Unwrap gives the error below, if there is one.
func (e *FormatError) Unwrap() error { return e.Err }
