package main

import (
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"quoin/extract"
	"quoin/vector/dxf"
	"quoin/vector/formats"
)

func newExport() *cobra.Command {
	var e extract.Export
	var names, drawing []string
	cmd := &cobra.Command{
		Use:   "export DELIVERY --format LIST",
		Short: "Write the layers of a delivery in further formats",
		Long: `Read the layers of a delivery from its footprints.gpkg, and write them in other
formats, into its folder or another one:

` + formatHelp + `
What a format can't hold is printed. README.txt and SHA256SUMS take in what has
come.

` + exitCodes,
		Example: "  quoin export delivery --format shp,dxf\n  quoin export delivery/footprints.gpkg --format parquet --out tables",
		Args:    usageArgs(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, args []string) error {
			var err error
			if len(names) == 0 {
				return &usageError{errors.New("no format given: name it with --format")}
			}
			if e.Options.Formats, err = formats.Parse(names); err != nil {
				return &usageError{fmt.Errorf("--format: %w", err)}
			}
			if e.Options.Drawing, err = drawingOf(drawing); err != nil {
				return &usageError{err}
			}
			e.Delivery = args[0]
			result, err := e.Run(cmd.Context())
			if err != nil {
				return err
			}
			for _, w := range result.Warnings {
				fmt.Fprintf(os.Stderr, "Warning: %s\n", w)
			}
			out := cmd.OutOrStdout()
			for _, name := range result.Files {
				fmt.Fprintln(out, name)
			}
			for _, note := range result.Notes {
				fmt.Fprintf(out, "%s.\n", note)
			}
			return nil
		},
	}
	flags := cmd.Flags()
	flags.StringSliceVar(&names, "format", nil, "formats, separated by commas: "+formats.Names(formats.All()))
	flags.StringVarP(&e.Out, "out", "o", "", "folder to write to; that of the delivery if empty")
	flags.BoolVar(&e.Options.WithZ, "with-z", false, "put elevations into geometries")
	flags.StringSliceVar(&drawing, "drawing", nil, drawingUsage)
	group(flags, "Output", "format", "out", "with-z", "drawing")
	flags.BoolVar(&e.Options.AllowBallpark, "accept-ballpark", false, "accept transformations without knowledge of how the datums lie")
	group(flags, "Coordinates", "accept-ballpark")
	return cmd
}

const drawingUsage = "what the drawing shows beside outlines and corners: dimensions, elevations, identifiers, and shared-once for walls of two buildings"

// drawingOf returns what the names of --drawing ask for.
func drawingOf(names []string) (o dxf.Options, err error) {
	for _, name := range names {
		switch name {
		case "dimensions":
			o.Dimensions = true
		case "elevations":
			o.Elevations = true
		case "identifiers":
			o.Identifiers = true
		case "shared-once":
			o.SharedOnce = true
		default:
			return o, fmt.Errorf("--drawing: %q is none of dimensions, elevations, identifiers and shared-once", name)
		}
	}
	return o, nil
}

// formatHelp says what each format is.
const formatHelp = `  gpkg      GeoPackage, all layers in footprints.gpkg
  geojson   GeoJSON in WGS 84: footprints.geojson, other layers in geojson/
  geojsonl  GeoJSON in WGS 84, a feature a line, in geojsonl/
  fgb       FlatGeobuf, in fgb/
  parquet   GeoParquet, in parquet/
  shp       Shapefile, in shp/
  dxf       drawing with a list of corners, in dxf/
`
