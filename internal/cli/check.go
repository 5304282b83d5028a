package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"tidemark/internal/desk"
	"tidemark/internal/inputlist"
	"tidemark/internal/meter"
	"tidemark/internal/model"
)

// checkFlags are the flags of every command that checks a folder.
type checkFlags struct {
	lines, alone, mains, columns string
	matches                      []string
	nominal                      float64
	workers                      int
}

func (f *checkFlags) add(c *cobra.Command) {
	c.Flags().StringVar(&f.lines, "lines", "", "input `LIST`, CSV or XLSX (default: the one in the folder, if there is one)")
	c.Flags().StringVar(&f.alone, "alone", "", "line-check recording, a `FOLDER`: one pass in which the sources sound one after the other, or one sub-folder a source (default: \"Line check\" in the folder, if there is one)")
	c.Flags().Float64Var(&f.nominal, "nominal", desk.DefaultNominalDBFS, "level in `dBFS` that the house lines up to")
	c.Flags().StringVar(&f.mains, "mains", "auto", "which hum to look for, in `HZ`: 50, 60 or auto")
	c.Flags().StringVar(&f.columns, "columns", "", "which column of the list is which, where the heading does not tell, as in `source=B,mic=D`")
	c.Flags().StringArrayVar(&f.matches, "match", nil, "this file is that line, as in \"Audio 7.wav=12\"; \"Poly.wav:3=12\" for its third channel (`FILE=LINE`, may be given again)")
	c.Flags().IntVar(&f.workers, "workers", 0, "how many files to read side by side, a `NUMBER` (0: one a processor)")
}

// request opens what the flags name. Close the closer after the check.
func (f *checkFlags) request(e Edges, folder string) (desk.CheckRequest, io.Closer, error) {
	none := io.NopCloser(nil)
	req := desk.CheckRequest{Nominal: f.nominal, Overrides: f.matches, Workers: f.workers}
	if !(f.nominal >= -60 && f.nominal < 0) { // NaN too
		return req, none, fmt.Errorf("--nominal %g: expected a level between -60 and -1 dBFS, usually -18 or -20", f.nominal)
	}
	mains, err := meter.ParseMains(f.mains)
	if err != nil {
		return req, none, fmt.Errorf("--mains: %w", err)
	}
	req.Mains = mains
	if f.columns != "" {
		if req.Columns, err = inputlist.ParseColumns(f.columns); err != nil {
			return req, none, fmt.Errorf("--%w", err) // which begins with "columns:"
		}
	}
	var aside []string
	if f.alone != "" {
		aside = append(aside, f.alone) // it may lie below the folder under any name
	}
	if req.Recordings, err = e.Folder(folder, aside...); err != nil {
		return req, none, err
	}
	list := f.lines
	if list == "" {
		if list, err = e.FindList(folder); err != nil {
			return req, none, err
		}
	}
	alone := f.alone
	if alone == "" {
		alone = e.FindAlone(folder)
	}
	if alone != "" {
		if req.Alone, err = e.Folder(alone); err != nil {
			return req, none, fmt.Errorf("--alone: %w", err)
		}
	}
	if list == "" {
		return req, none, nil
	}
	doc, closer, err := e.List(list)
	if err != nil {
		return req, none, err
	}
	req.List = doc
	return req, closer, nil
}

func checkCommand(e Edges) *cobra.Command {
	var flags checkFlags
	var asJSON, all bool
	c := &cobra.Command{
		Use:   "check [--lines LIST] [--alone FOLDER] FOLDER",
		Short: "check a folder of tracks against the input list",
		Long: `Check reads every sound file of a folder (WAV, RF64, BW64, AIFF, AIFC or FLAC, in
it or in the folders below), finds the input list and the line check that lie there,
and prints what it found, worst first: STOP, fix it before another take; LISTEN, a
person must judge; NOTE, worth knowing. Below stand the levels of every line.`,
		Example: `  tidemark check "Tuesday/Take 3"
  tidemark check --lines "Input list.xlsx" --alone "Line check" --mains 50 "Take 3"`,
		Args: oneFolder,
		RunE: func(cmd *cobra.Command, args []string) error {
			req, closer, err := flags.request(e, args[0])
			if err != nil {
				return err
			}
			defer closer.Close()
			bar := newBar(e, "reading")
			req.Progress = bar.check
			result, err := desk.CheckPass(cmd.Context(), req)
			bar.done()
			if err != nil {
				return err
			}
			if asJSON {
				err = writeJSON(e.Stdout, result)
			} else {
				err = printCheck(e.Stdout, result, all)
			}
			if err != nil {
				return err
			}
			if result.Count(model.Stop) > 0 {
				return exit(1)
			}
			return nil
		},
	}
	flags.add(c)
	c.Flags().BoolVar(&asJSON, "json", false, "print one object, tidemark.check/1")
	c.Flags().BoolVar(&all, "all", false, "print the pairs of lines as well")
	return c
}

// oneFolder says what is missing in words.
func oneFolder(_ *cobra.Command, args []string) error {
	switch {
	case len(args) == 0, strings.TrimSpace(args[0]) == "":
		return fmt.Errorf("which folder? give the one that the recorder wrote to")
	case len(args) == 1:
		return nil
	}
	return fmt.Errorf("%d folders given (%s), expected one; put a name with blanks in quotes", len(args), strings.Join(args, ", "))
}

func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}
