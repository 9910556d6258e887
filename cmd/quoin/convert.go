package main

import (
	"fmt"
	"runtime"

	"github.com/spf13/cobra"

	"quoin/extract/las"
	"quoin/vector"
	"quoin/vector/crs"
)

func newConvert() *cobra.Command {
	o := las.ConvertOptions{Workers: runtime.GOMAXPROCS(0), Define: define}
	cmd := &cobra.Command{
		Use:   "convert IN OUT",
		Short: "Write a point cloud as LAS, LAZ or COPC",
		Long: `Write the points of a LAS or LAZ file into another one, whose name says what it
is to be: .las, .laz or .copc.laz.

Between LAS and LAZ nothing is lost and the order is kept. COPC (cloud-optimized
point cloud) puts points into another order and knows point formats 6 to 8:
0 to 3 are rewritten with no field lost, waveform packets are refused.

` + exitCodes,
		Example: "  quoin convert site.las site.laz\n  quoin convert site.laz site.copc.laz",
		Args:    usageArgs(cobra.ExactArgs(2)),
		RunE: func(cmd *cobra.Command, args []string) error {
			if o.Workers < 1 {
				return &usageError{fmt.Errorf("--workers must be at least 1")}
			}
			report, err := las.Convert(cmd.Context(), args[0], args[1], o)
			if err != nil {
				return err
			}
			out := cmd.OutOrStdout()
			fmt.Fprintf(out, "%d points written to %s\n", report.Points, args[1])
			if report.Reordered {
				fmt.Fprintln(out, "Points are in another order than in the input.")
			}
			for _, note := range report.Notes {
				fmt.Fprintln(out, note)
			}
			return nil
		},
	}
	cmd.Flags().IntVar(&o.Workers, "workers", o.Workers, "chunks compressed or decompressed at once")
	group(cmd.Flags(), "Machine", "workers")
	return cmd
}

// define completes a CRS with its definition as well-known text.
func define(c vector.CRS) (vector.CRS, error) {
	completed, _, err := crs.Complete(c)
	return completed, err
}
