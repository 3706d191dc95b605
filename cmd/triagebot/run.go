package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
)

// streams are what a command reads and writes, so that tests run it whole.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// Exit codes.
const (
	exitFine  = 0
	exitFound = 1 // problems were found, or the command failed
	exitUsage = 2
)

// errFound is returned by a command that has already said what it found.
var errFound = errors.New("problems found")

// usageError is a mistake in the command line.
type usageError struct{ error }

func run(ctx context.Context, args []string, s streams) int {
	root := &cobra.Command{
		Use:           "triagebot",
		Short:         "Finds the fault of a converted light electric vehicle with its owner",
		SilenceUsage:  true,
		SilenceErrors: true,
		Args:          cobra.NoArgs,
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetArgs(args)
	root.SetIn(s.in)
	root.SetOut(s.out)
	root.SetErr(s.err)
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return usageError{err} })
	root.AddCommand(chatCommand(s), matchCommand(s), replyCommand(s), judgeCommand(s), drawCommand(s), checkCommand(s), mineCommand(s), rehearseCommand(s),
		backupCommand(s), restoreCommand(s), verifyCommand(s), forgetCommand(s), accountCommand(s), serveCommand(s), casesCommand(s),
		demoCommand(s), learnCommand(s))
	err := root.ExecuteContext(ctx)
	var usage usageError
	switch {
	case err == nil:
		return exitFine
	case errors.Is(err, errFound):
		return exitFound
	case errors.As(err, &usage), strings.HasPrefix(err.Error(), "unknown command"), strings.HasPrefix(err.Error(), "required flag"):
		fmt.Fprintf(s.err, "triagebot: %v\nSee: triagebot --help\n", err)
		return exitUsage
	}
	fmt.Fprintf(s.err, "triagebot: %v\n", err)
	return exitFound
}

// noMore refuses stray words, as a mistake of the command line.
func noMore(c *cobra.Command, args []string) error {
	if len(args) > 0 {
		return usageError{fmt.Errorf("%q is one word too many for %q", args[0], c.CommandPath())}
	}
	return nil
}
