// Command tidemark is a session book that listens. It joins the edges to the
// desk, hands over arguments and streams, and exits with the command's status.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"tidemark/internal/cli"
	"tidemark/internal/kernel"
)

// kernels names the environment variable that turns the processor's own
// instructions off when it says "portable": for comparing speeds, and should
// results ever be in doubt.
const kernels = "TIDEMARK_KERNELS"

func main() {
	kernel.Portable(os.Getenv(kernels) == "portable")
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := cli.Main(ctx, os.Args[1:], edges())
	stop()
	os.Exit(status)
}
