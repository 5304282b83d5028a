package cli

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"
)

func demoCommand(e Edges) *cobra.Command {
	var dir string
	var noOpen bool
	var port int
	c := &cobra.Command{
		Use:   "demo [--dir D] [--no-open]",
		Short: "render a made-up band's session, check it and show the page",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if dir == "" {
				dir = filepath.Join(os.TempDir(), "tidemark-demo")
			}
			bar := newBar(e, "the band plays")
			err := e.WriteDemo(cmd.Context(), dir, bar.share)
			bar.done()
			if err != nil {
				return err
			}
			fmt.Fprintf(e.Stdout, "the demo session is in %s\n", dir)
			flags := checkFlags{nominal: -18, mains: "auto"}
			return serve(cmd.Context(), e, &flags, dir, port, !noOpen)
		},
	}
	c.Flags().StringVar(&dir, "dir", "", "folder for the session (default: a folder for temporary files)")
	c.Flags().BoolVar(&noOpen, "no-open", false, "do not open the page in the browser")
	c.Flags().IntVar(&port, "port", 0, "port on this machine (0: any free one)")
	return c
}
