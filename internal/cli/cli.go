// Package cli is the command line: verbs first, files last. Each command has
// its file; what they ask of the disk, the demo band and the web page comes in
// through Edges, so that this package knows no other edge.
//
// Exit statuses: 0 nothing to stop for, 1 a stop finding, 2 the command could
// not do its work and says why in one line on stderr.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"tidemark/internal/desk"
)

// Edges are what the commands need of the outside.
type Edges struct {
	Stdout, Stderr io.Writer
	// Terminal says whether stderr is one, and progress may be drawn on it.
	Terminal bool
	// Folder opens a folder of recordings, without those below the folders aside.
	Folder func(path string, aside ...string) (desk.Library, error)
	// Files opens recordings given one by one.
	Files func(paths []string) (desk.Library, error)
	// List opens an input list; the closer is to be closed after the check.
	List func(path string) (*desk.Document, io.Closer, error)
	// FindList looks for the input list in a folder: "" when there is none, an
	// error when there are several.
	FindList func(folder string) (string, error)
	// FindAlone looks for a line-check folder beside the recordings: "" without.
	FindAlone func(folder string) string
	// WriteDemo renders the demo session to a folder.
	WriteDemo func(ctx context.Context, dir string, progress func(done float64)) error
	// Serve shows a check on a page until the context ends.
	Serve func(ctx context.Context, s Serving) error
}

// Serving is a page to serve.
type Serving struct {
	Request desk.CheckRequest
	Port    int          // 0: any free one
	Open    bool         // open it in the browser
	Say     func(string) // told the address
	Out     io.Writer    // told the verdict
}

// exit is an error that carries its status and needs no more words.
type exit int

func (e exit) Error() string { return fmt.Sprintf("exit status %d", int(e)) }

// Main runs the command line and returns the exit status.
func Main(ctx context.Context, args []string, e Edges) int {
	root := &cobra.Command{
		Use:   "tidemark",
		Short: "a session book that listens",
		Long: `Tidemark reads what the recorder wrote and the assistant's input list, measures
every line and says, before the band has put its instruments down, what is wrong,
where, by how much and what to do. Sound files are never written to.

Exit status: 0 nothing to stop for, 1 something to stop for, 2 the work could not
be done and one line on stderr says why.`,
		Example: `  tidemark demo                      a made-up band plays; see what a check looks like
  tidemark check "Tuesday/Take 3"    check a folder and print the findings
  tidemark serve "Tuesday/Take 3"    the same as a page in the browser`,
		Version:       version(),
		SilenceErrors: true, SilenceUsage: true,
		CompletionOptions: cobra.CompletionOptions{HiddenDefaultCmd: true},
	}
	root.SetOut(e.Stdout)
	root.SetErr(e.Stderr)
	// No line of help is longer than one of a check.
	root.SetUsageTemplate(strings.ReplaceAll(root.UsageTemplate(), ".FlagUsages", fmt.Sprintf(".FlagUsagesWrapped %d", usualWidth)))
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return fmt.Errorf("%w; %s --help lists what there is", err, c.CommandPath())
	})
	root.AddCommand(checkCommand(e), measureCommand(e), demoCommand(e), serveCommand(e), schemaCommand(e))
	root.InitDefaultHelpCmd()
	for _, c := range root.Commands() {
		if c.Name() == "help" {
			c.Short = "say more about a command"
		}
	}
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	var status exit
	switch {
	case err == nil:
		return 0
	case errors.As(err, &status):
		return int(status)
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(e.Stderr, "tidemark: stopped; nothing was changed")
		return 2
	}
	fmt.Fprintln(e.Stderr, "tidemark: "+oneLine(err))
	return 2
}

// oneLine keeps an error on one line, whatever it was made of.
func oneLine(err error) string {
	var lines []string
	for _, l := range strings.Split(err.Error(), "\n") {
		if l = strings.Join(strings.Fields(l), " "); l != "" {
			lines = append(lines, l)
		}
	}
	return strings.ReplaceAll(strings.Join(lines, "; "), "Did you mean this?;", "did you mean this:")
}
