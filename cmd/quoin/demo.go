package main

import (
	"fmt"
	"runtime"

	"github.com/spf13/cobra"

	"quoin/extract/scene"
)

func newDemo() *cobra.Command {
	spec := scene.DefaultSpec(scene.Demo)
	workers := runtime.GOMAXPROCS(0)
	cmd := &cobra.Command{
		Use:   "demo DIR",
		Short: "Simulate a small site: a cloud, surveyed corners, and the truth",
		Long: `Fly over an invented place with a simulated scanner and leave in the folder:

  cloud/       the point cloud, a file a flight line
  control.csv  surveyed roof corners, two of them with a blunder
  truth/       what is really there, for comparison; extraction never reads it

Nothing in it is a real place.

` + exitCodes,
		Example: "  quoin demo demo --seed 7",
		Args:    usageArgs(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, args []string) error {
			s, err := scene.Compose(spec)
			if err != nil {
				return &usageError{err}
			}
			sum, err := s.Write(cmd.Context(), args[0], workers)
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%d points in %d files, %d buildings, control in %s\n", sum.Points, len(sum.Clouds), sum.Buildings, sum.Control)
			return nil
		},
	}
	flags := cmd.Flags()
	flags.Uint64Var(&spec.Seed, "seed", spec.Seed, "number that the place follows from")
	flags.Float64Var(&spec.Spacing, "spacing", spec.Spacing, "point spacing of all flight lines together, in metres")
	group(flags, "Site", "seed", "spacing")
	flags.IntVar(&workers, "workers", workers, "pieces of work done at once")
	group(flags, "Machine", "workers")
	return cmd
}
