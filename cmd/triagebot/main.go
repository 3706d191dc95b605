// Command triagebot walks owners of converted light electric vehicles through
// the hunt for a fault. See README.md.
package main

import (
	"context"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
)

// gcPercent: a turn leaves half a megabyte of garbage beside a knowledge base
// of some twenty. At the runtime's own pace every fortieth turn would wait for
// the collector; at this one less than one in a hundred does.
const gcPercent = 400

func main() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(gcPercent)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], streams{os.Stdin, os.Stdout, os.Stderr})
	stop()
	os.Exit(code)
}
