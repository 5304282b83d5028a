package cli

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"
)

func serveCommand(e Edges) *cobra.Command {
	var flags checkFlags
	var noOpen bool
	var port int
	c := &cobra.Command{
		Use:   "serve [--lines LIST] [--alone FOLDER] FOLDER",
		Short: "check a folder and show the result as a page on this machine",
		Long: `Serve checks a folder like check does, and shows the result as a page that only
this machine can see, until Ctrl-C is pressed.`,
		Example: `  tidemark serve "Tuesday/Take 3"`,
		Args:    oneFolder,
		RunE: func(cmd *cobra.Command, args []string) error {
			return serve(cmd.Context(), e, &flags, args[0], port, !noOpen)
		},
	}
	flags.add(c)
	c.Flags().BoolVar(&noOpen, "no-open", false, "do not open the page in the browser")
	c.Flags().IntVar(&port, "port", 0, "`PORT` on this machine (0: any free one)")
	return c
}

// serve checks a folder in the background and shows the page until it is interrupted.
func serve(ctx context.Context, e Edges, flags *checkFlags, folder string, port int, open bool) error {
	req, closer, err := flags.request(e, folder)
	if err != nil {
		return err
	}
	defer closer.Close()
	return e.Serve(ctx, Serving{Request: req, Port: port, Open: open, Out: e.Stdout, Say: func(url string) {
		fmt.Fprintf(e.Stdout, "the page is at %s (only on this machine); press Ctrl-C to end\n", url)
	}})
}
