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
		Long: `Demo renders a session that nobody played, about 240 MB with faults in it, then
checks it and shows the page until Ctrl-C is pressed.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return fmt.Errorf("demo takes no %q; to say where the session goes, write --dir %q", args[0], args[0])
			}
			return nil
		},
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
	c.Flags().StringVar(&dir, "dir", "", "`FOLDER` for the session, new or empty (default: one among the temporary files)")
	c.Flags().BoolVar(&noOpen, "no-open", false, "do not open the page in the browser")
	c.Flags().IntVar(&port, "port", 0, "`PORT` on this machine (0: any free one)")
	return c
}
