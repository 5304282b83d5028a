package main

import (
	"context"
	"os"

	"tidemark/internal/band"
	"tidemark/internal/cli"
	"tidemark/internal/desk"
	"tidemark/internal/disk"
)

// edges joins the command line to the disk, the demo band and the page.
func edges() cli.Edges {
	return cli.Edges{
		Stdout: os.Stdout, Stderr: os.Stderr, Terminal: terminal(os.Stderr),
		Folder: func(path string, aside ...string) (desk.Library, error) { return disk.OpenFolder(path, aside...) },
		Files:  func(paths []string) (desk.Library, error) { return disk.OpenFiles(paths) },
		List:   disk.OpenList, FindList: disk.FindList, FindAlone: disk.FindAlone,
		WriteDemo: func(ctx context.Context, dir string, progress func(float64)) error {
			return band.Write(ctx, dir, band.Options{Faults: true}, func(done, total float64) { progress(done / total) })
		},
		Serve: serve,
	}
}

// terminal says whether a stream is one, and not a pipe or a file.
func terminal(f *os.File) bool {
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0 && os.Getenv("TERM") != "dumb"
}
