package curve

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"time"

	"tidemark/bench/faults/stage"
	"tidemark/internal/desk"
	"tidemark/internal/model"
	"tidemark/internal/sound"
	"tidemark/internal/sound/wav"
)

// Folder is a folder of recordings in memory, with its list and line check.
type Folder struct {
	name  string
	names []string
	bytes map[string][]byte
	lines []stage.Line // the rows of the list
	alone *Folder
}

func newFolder(name string, lines []stage.Line) *Folder {
	return &Folder{name: name, bytes: map[string][]byte{}, lines: lines}
}

// put writes a file; a name that is there is replaced.
func (f *Folder) put(name string, sh stage.Sheet, channels ...[]float32) {
	var b bytes.Buffer
	if err := stage.Write(&b, sh, channels); err != nil {
		panic(err) // a buffer takes everything
	}
	f.putBytes(name, b.Bytes())
}

func (f *Folder) putBytes(name string, b []byte) {
	if _, ok := f.bytes[name]; !ok {
		f.names = append(f.names, name)
	}
	f.bytes[name] = b
}

// Folder is what findings call it.
func (f *Folder) Folder() string { return f.name }

// Files lists the files in the order in which they were put.
func (f *Folder) Files() ([]desk.File, error) {
	var out []desk.File
	for _, n := range f.names {
		out = append(out, desk.File{Name: n, Size: int64(len(f.bytes[n])), ModTime: time.Unix(1729245600, 0)})
	}
	return out, nil
}

// Open opens one of them.
func (f *Folder) Open(name string) (sound.Reader, io.Closer, error) {
	b, ok := f.bytes[name]
	if !ok {
		return nil, nil, fmt.Errorf("%s: %w", name, fs.ErrNotExist)
	}
	r, err := wav.Open(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	}
	return r, io.NopCloser(nil), nil
}

// check runs the program's whole check over the folder.
func (f *Folder) check(ctx context.Context) ([]model.Finding, error) {
	list := typed(f.lines)
	req := desk.CheckRequest{Recordings: f, Workers: 1,
		List: &desk.Document{Name: stage.ListName, Size: int64(len(list)), ReaderAt: bytes.NewReader(list)}}
	if f.alone != nil {
		req.Alone = f.alone
	}
	c, err := desk.CheckPass(ctx, req)
	if err != nil {
		return nil, err
	}
	if c.List != nil && len(c.List.Problems) > 0 {
		return nil, fmt.Errorf("the list was not understood: %+v", c.List.Problems)
	}
	return c.Findings, nil
}

// typed is the input list of lines.
func typed(lines []stage.Line) []byte {
	var b bytes.Buffer
	if err := stage.WriteList(&b, lines, rand.New(rand.NewPCG(1, 0x400))); err != nil {
		panic(err)
	}
	return b.Bytes()
}
