// Command quoin turns lidar point clouds into building footprints whose
// corners are the buildings' corners.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"
)

// Exit codes, as the help of every command states them.
const (
	exitDone        = 0
	exitFailed      = 1
	exitUsage       = 2
	exitInterrupted = 130
)

const exitCodes = `Exit codes: 0 the job is done, 1 it failed, 2 wrong usage, 130 interrupted.`

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	os.Exit(run(ctx, os.Args[1:]))
}

func run(ctx context.Context, args []string) int {
	root := newRoot()
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	var usage *usageError
	switch {
	case err == nil:
		return exitDone
	case ctx.Err() != nil || errors.Is(err, context.Canceled):
		fmt.Fprintln(os.Stderr, "quoin: interrupted; nothing was left half-written")
		return exitInterrupted
	case errors.As(err, &usage):
		fmt.Fprintf(os.Stderr, "quoin: %v\n", err)
		return exitUsage
	}
	fmt.Fprintf(os.Stderr, "quoin: %v\n", err)
	return exitFailed
}

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "quoin",
		Short: "Building footprints from lidar point clouds, with proof of how accurate they are",
		Long: `quoin reads a georeferenced point cloud and delivers building footprints: the
roof edges seen from above, each corner with its standard error, tested against
surveyed control.

The outlines are roof edges, not walls, and no boundary survey: where a legal
boundary, an insured value or a flight depends on them, follow local codes and
have a licensed professional certify them.

` + exitCodes,
		Example:       "  quoin demo demo\n  quoin extract demo/cloud/*.las --control demo/control.csv --out delivery",
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          usageArgs(cobra.NoArgs),
		RunE:          func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return &usageError{err} })
	root.SetUsageTemplate(usageTemplate)
	cobra.AddTemplateFunc("flagGroups", flagGroups)
	root.AddCommand(newExtract(), newCheck(), newImageCheck(), newExport(), newConvert(), newDemo(), newVersion())
	for _, c := range root.Commands() {
		c.Flags().SortFlags = false // as they were defined, by what they govern
	}
	return root
}

// A usageError is a mistake in how the program was called.
type usageError struct{ err error }

func (e *usageError) Error() string { return e.err.Error() + " (see --help)" }

func (e *usageError) Unwrap() error { return e.err }

// usageArgs makes the complaints of an argument check usage errors.
func usageArgs(check cobra.PositionalArgs) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if err := check(cmd, args); err != nil {
			return &usageError{err}
		}
		return nil
	}
}
