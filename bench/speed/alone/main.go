// Command alone measures the files of a folder with all meters, as a take check
// does before it compares lines: what bench/speed takes the work between lines from.
//
//	alone WORKERS FOLDER
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strconv"

	"tidemark/internal/desk"
	"tidemark/internal/disk"
	"tidemark/internal/meter"
)

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "alone:", err)
		os.Exit(1)
	}
}

func run() error {
	if len(os.Args) != 3 {
		return errors.New("wants a number of workers and a folder")
	}
	workers, err := strconv.Atoi(os.Args[1])
	if err != nil {
		return err
	}
	folder, err := disk.OpenFolder(os.Args[2])
	if err != nil {
		return err
	}
	m, err := desk.MeasureFiles(context.Background(), folder, meter.Options{Sampled: true}, workers, nil)
	if err != nil {
		return err
	}
	fmt.Println(len(m.Files), "files")
	return nil
}
