package web

import (
	"sync"
)

// Board holds what the page shows: the progress of a running check, then its
// result. Its methods may be called from several goroutines at once. A Board
// can finish more than once (a watched folder): each result takes the place of
// the one before, and open pages follow.
type Board struct {
	mu      sync.Mutex
	state   state
	changed chan struct{} // closed and replaced at every change
}

// state is one moment of a Board. Its slices are copied on change, never altered.
type state struct {
	Version int // counts results; 0 while the first check is running
	Folder  string
	Files   []FileProgress
	Failure string
	Closed  bool
	page    *Page
	json    []byte
}

// FileProgress is how far the reading of one file has come.
type FileProgress struct {
	Name     string    `json:"name"`
	State    FileState `json:"state"`
	Fraction float64   `json:"fraction"` // 0 to 1 of its frames
	Trouble  string    `json:"trouble,omitempty"`
}

// FileState says where a file is in the check.
type FileState string

// The states of a file, in order.
const (
	Waiting FileState = "waiting"
	Reading FileState = "listening"
	Heard   FileState = "heard"
	Refusal FileState = "could not be read"
)

// NewBoard returns a board for a check of the folder that is about to run.
func NewBoard(folder string) *Board {
	return &Board{state: state{Folder: folder}, changed: make(chan struct{})}
}

// Begin names the files of the check, all of them waiting. A result that is
// already shown stays until the next Finish.
func (b *Board) Begin(files []string) {
	b.change(func(s *state) {
		s.Failure = ""
		s.Files = make([]FileProgress, len(files))
		for i, f := range files {
			s.Files[i] = FileProgress{Name: f, State: Waiting}
		}
	})
}

// Progress tells how much of a file has been heard, by its index in Begin;
// fraction is clamped to 0…1, and 1 means heard to the end. An index that Begin
// did not give is ignored.
func (b *Board) Progress(file int, fraction float64) {
	f := FileProgress{State: Reading, Fraction: min(max(fraction, 0), 1)}
	if f.Fraction == 1 {
		f.State = Heard
	}
	b.file(file, f)
}

// Refuse tells that a file could not be read, with a sentence why.
func (b *Board) Refuse(file int, why string) {
	b.file(file, FileProgress{State: Refusal, Trouble: why})
}

func (b *Board) file(i int, f FileProgress) {
	b.change(func(s *state) {
		if i < 0 || i >= len(s.Files) {
			return
		}
		files := append([]FileProgress(nil), s.Files...)
		f.Name = files[i].Name
		files[i] = f
		s.Files = files
	})
}

// Finish shows the result. json is served as /check.json as it is; nil leaves
// that address empty. The board keeps both: the caller no longer changes them.
func (b *Board) Finish(p *Page, json []byte) {
	b.change(func(s *state) {
		s.Version++
		s.page, s.json, s.Failure = p, json, ""
	})
}

// Fail shows that the check could not do its work, with a sentence that says
// what and what to try.
func (b *Board) Fail(sentence string) {
	b.change(func(s *state) { s.Failure = sentence })
}

// Close ends all open event streams, so that a server can shut down.
func (b *Board) Close() {
	b.change(func(s *state) { s.Closed = true })
}

func (b *Board) change(f func(*state)) {
	b.mu.Lock()
	defer b.mu.Unlock()
	f(&b.state)
	close(b.changed)
	b.changed = make(chan struct{})
}

// now returns the present state and a channel that is closed when it changes.
func (b *Board) now() (state, <-chan struct{}) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.state, b.changed
}

// done counts the files that will not be read any further.
func (s state) done() int {
	n := 0
	for _, f := range s.Files {
		if f.State == Heard || f.State == Refusal {
			n++
		}
	}
	return n
}
