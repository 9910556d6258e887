package main

import (
	"fmt"
	"runtime"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"quoin/extract/scene"
	"quoin/extract/scene/flight"
	"quoin/vector"
)

func newDemo() *cobra.Command {
	var f demoFlags
	cmd := &cobra.Command{
		Use:   "demo DIR",
		Short: "Simulate a site: a cloud, surveyed corners, and the truth",
		Long: `Fly over an invented place with a simulated scanner and leave in the folder:

  cloud/       the point cloud, a file a flight line
  control.csv  surveyed roof corners, some of them with a blunder
  ortho.tif    a true-ortho with shadows, off by a known shift
  truth/       what is really there, for comparison; extraction never reads it

Nothing in it is a real place. The same flags give the same bytes. Blocks:

` + blockList() + "\n" + exitCodes,
		Example: "  quoin demo demo\n  quoin demo town --block suburb --extent 400 --spacing 0.3 --unit ft",
		Args:    usageArgs(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, args []string) error {
			spec, err := f.spec(cmd.Flags())
			if err != nil {
				return err
			}
			s, err := scene.Compose(spec)
			if err != nil {
				return &usageError{err}
			}
			sum, err := s.Write(cmd.Context(), args[0], max(f.workers, 1))
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%d points in %d files, %d buildings, control in %s\n",
				sum.Points, len(sum.Clouds), sum.Buildings, sum.Control)
			if sum.Ortho != "" {
				fmt.Fprintf(cmd.OutOrStdout(), "image in %s\n", sum.Ortho)
			}
			return nil
		},
	}
	f.define(cmd.Flags())
	return cmd
}

// demoFlags hold what the user says of the site.
type demoFlags struct {
	block, scanner, labels, unit string
	seed                         uint64
	spacing, extent              length
	turns                        bool
	blunders, workers            int
	ortho                        orthoFlags
}

func (f *demoFlags) define(flags *pflag.FlagSet) {
	d := scene.DefaultSpec(scene.Demo)
	f.spacing = length(d.Spacing)
	flags.StringVar(&f.block, "block", scene.Demo, "which block, see above")
	flags.Uint64Var(&f.seed, "seed", d.Seed, "number that the place follows from")
	flags.Var(&f.extent, "extent", "side of the block; 0 for the block's own")
	group(flags, "Site", "block", "seed", "extent")
	flags.Var(&f.spacing, "spacing", "point spacing of all flight lines together")
	flags.StringVar(&f.scanner, "scanner", "", "rotating-beams, line-scanner or oscillating-mirror; the block's own if empty")
	flags.BoolVar(&f.turns, "turns", false, "keep the scanner running in the turns")
	group(flags, "Flight", "spacing", "scanner", "turns")
	flags.StringVar(&f.unit, "unit", "m", "linear unit: m, ft or usft")
	flags.StringVar(&f.labels, "labels", string(d.Labels), "classes of the points: none, true, or wrong in part")
	flags.IntVar(&f.blunders, "blunders", d.Blunders, "surveyed points with a gross error")
	group(flags, "Files", "unit", "labels", "blunders")
	f.ortho.define(flags)
	flags.IntVar(&f.workers, "workers", runtime.GOMAXPROCS(0), "pieces of work done at once")
	group(flags, "Machine", "workers")
}

func (f *demoFlags) spec(flags *pflag.FlagSet) (scene.Spec, error) {
	unit, err := vector.ParseUnit(f.unit)
	if err != nil {
		return scene.Spec{}, &usageError{fmt.Errorf("--unit: %w", err)}
	}
	spec := scene.DefaultSpec(f.block)
	spec.Seed, spec.Spacing, spec.Turns, spec.Unit = f.seed, float64(f.spacing), f.turns, unit
	spec.Labels = scene.Labelling(f.labels)
	if flags.Changed("blunders") {
		spec.Blunders = f.blunders
	}
	if f.scanner != "" {
		spec.Scanner = flight.Kind(f.scanner)
	}
	if f.extent > 0 {
		spec.Extent = [2]float64{float64(f.extent), float64(f.extent)}
	}
	spec.Ortho, err = f.ortho.spec()
	return spec, err
}

// blockList names the blocks and what each puts to the test.
func blockList() string {
	var b strings.Builder
	for _, c := range scene.Composites() {
		fmt.Fprintf(&b, "  %-9s %s\n", c.Name, c.Purpose)
	}
	return b.String()
}
