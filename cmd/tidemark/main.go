// Command tidemark is a session book that listens. It joins the edges to the
// desk, hands over arguments and streams, and exits with the command's status.
package main

import (
	"context"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"

	"tidemark/internal/cli"
	"tidemark/internal/kernel"
)

// kernels names the environment variable that turns the processor's own
// instructions off when it says "portable": for comparing speeds, and should
// results ever be in doubt.
const kernels = "TIDEMARK_KERNELS"

// garbagePercent is how much may be allocated, re what is in use, before it is
// swept: a check holds a few MiB and makes little garbage, so that sweeping more
// often costs nothing and keeps the program small beside the recorder.
const garbagePercent = 30

func main() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(garbagePercent)
	}
	kernel.Portable(os.Getenv(kernels) == "portable")
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := cli.Main(ctx, os.Args[1:], edges())
	stop()
	os.Exit(status)
}
