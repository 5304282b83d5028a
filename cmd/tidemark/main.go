// Command tidemark is a session book that listens. It joins the edges to the
// desk, hands over arguments and streams, and exits with the command's status.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"tidemark/internal/cli"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := cli.Main(ctx, os.Args[1:], edges())
	stop()
	os.Exit(status)
}
