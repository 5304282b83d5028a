package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"tidemark/internal/desk"
	"tidemark/internal/disk"
	"tidemark/internal/model"
	"tidemark/internal/sound"
)

// check runs the program's own check of a take over a folder.
func check(ctx context.Context, folder, list, alone string) ([]model.Finding, error) {
	f, err := os.Open(list)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return nil, err
	}
	req := desk.CheckRequest{
		Recordings: library(folder),
		List:       &desk.Document{Name: filepath.Base(list), Size: st.Size(), ReaderAt: f},
		Workers:    1, // sessions run side by side already
	}
	if alone != "" {
		req.Alone = library(alone)
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

// library is a folder on disk as the desk wants it.
type library string

func (l library) Folder() string { return string(l) }

func (l library) Files() ([]desk.File, error) {
	entries, err := disk.List(string(l))
	if err != nil {
		return nil, err
	}
	var out []desk.File
	for _, e := range entries {
		out = append(out, desk.File{Name: e.Name, Size: e.Size, ModTime: e.ModTime})
	}
	return out, nil
}

func (l library) Open(name string) (sound.Reader, io.Closer, error) {
	return disk.Open(filepath.Join(string(l), filepath.FromSlash(name)))
}
