package main

import (
	"errors"
	"fmt"
	"os"
	"runtime/debug"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"quoin/extract"
	"quoin/vector"
	"quoin/vector/formats"
	"quoin/vector/imagecheck"
	"quoin/vector/report"
)

func newExtract() *cobra.Command {
	o := extract.DefaultOptions()
	var given extractFlags
	cmd := &cobra.Command{
		Use:   "extract CLOUD...",
		Short: "Turn a point cloud into building footprints",
		Long: `Read one or many point-cloud files (LAS, LAZ, COPC) as one block and leave in the
output folder:

  footprints.gpkg         roof edges, corners, checks, and what was held back
  footprints.geojson      the roof edges in WGS 84; other layers in geojson/
  style/                  how the layers may be drawn (OGC SLD)
  report.html             what was found and how good it is, to read and sign
  accuracy-statement.txt  what was tested, by which standard, and what came of it
  metadata.xml            metadata as ISO 19115-3
  run.json                every parameter, input and figure of the run
  README.txt              what each file is, for whoever receives the folder
  SHA256SUMS              checksums of these files but run.json

The layers come in the formats of --format:

` + formatHelp + `
Lengths are metres unless ft or usft stands behind the number.

` + exitCodes,
		Example: "  quoin extract site/*.las --control control.csv --out delivery",
		Args: usageArgs(func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return errors.New("no point cloud given: name its LAS, LAZ or COPC files")
			}
			return nil
		}),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.Inputs = args
			if err := given.apply(&o, cmd.Flags()); err != nil {
				return err
			}
			if os.Getenv("GOMEMLIMIT") == "" {
				debug.SetMemoryLimit(o.Memory) // the collector then works more often rather than beyond it
			}
			record, err := extract.Run(cmd.Context(), o)
			var wrong *extract.OptionError
			if errors.As(err, &wrong) {
				return &usageError{err}
			}
			if err == nil {
				fmt.Fprint(cmd.OutOrStdout(), record.Summary())
			}
			return err
		},
	}
	given.define(cmd.Flags(), &o)
	return cmd
}

// extractFlags holds the flags whose values need work before they are
// options.
type extractFlags struct {
	radius, minJog length
	unit, memory   string
	locale, units  string
	deliver        []string
	drawing        []string
	parts          string
	quiet, verbose bool
	control        controlFlags
	sameCloud      string
}

func (f *extractFlags) define(flags *pflag.FlagSet, o *extract.Options) {
	f.radius, f.minJog = length(o.MatchRadius), length(o.MinJog)

	flags.StringVarP(&o.Out, "out", "o", "", "folder to leave the delivery in")
	flags.StringSliceVar(&o.Formats, "format", o.Formats, "formats of the layers, separated by commas: "+formats.Names(formats.All()))
	flags.BoolVar(&o.WithZ, "with-z", false, "put elevations into the geometries of the layers")
	flags.StringSliceVar(&f.drawing, "drawing", nil, drawingUsage)
	flags.BoolVar(&o.ProjectedGeoJSON, "projected-geojson", false, "also write GeoJSON in the CRS of the cloud")
	flags.BoolVar(&o.Terrain, "terrain", false, "also write rasters of the terrain and of where it is interpolated")
	flags.StringVar(&o.Classified, "classified", "", "LAS or LAZ file to write every input point to, with its ASPRS class")
	flags.BoolVar(&o.UpgradeFormat, "upgrade-format", false, "write it in a point format that has bridge deck (17) and high noise (18)")
	flags.StringVar(&o.NadirImage, "nadir-image", "", "GeoTIFF to write with the cloud seen from above, cloud-optimised")
	flags.StringVar(&o.Plates, "plates", "", "folder to draw the block, each building and each surveyed point in, as SVG")
	group(flags, "Output", "out", "format", "with-z", "drawing", "projected-geojson", "terrain", "classified", "upgrade-format", "nadir-image", "plates")

	flags.BoolVar(&o.PDF, "pdf", false, "also print the report to report.pdf; needs a Chromium")
	flags.StringVar(&f.locale, "locale", "", "how the report writes numbers: en (1,234.5), de (1.234,5) or fr; words stay English")
	flags.StringVar(&f.units, "report-units", "", "unit of lengths in the report: m, ft or usft; the CRS's unless given")
	group(flags, "Report", "pdf", "locale", "report-units")

	flags.StringVar(&o.CRS, "crs", "", "coordinate reference system, as EPSG:25832, in place of what the files say")
	flags.StringVar(&f.unit, "unit", "", "linear unit where the files name none: m, ft or usft")
	flags.StringVar(&o.OutCRS, "out-crs", "", "CRS to deliver the layers in, as EPSG:25832; none for that of the cloud")
	flags.Float64Var(&o.CombinedFactor, "combined-factor", 0, "grid length through ground length, as 0.99957, for the columns of ground lengths; coordinates stay on the grid; 0 for none")
	group(flags, "Coordinates", "crs", "unit", "out-crs", "combined-factor")

	flags.StringVar(&o.Control, "control", "", "surveyed points: CSV (point,northing,easting,elevation,description), GeoPackage, GeoJSON or Shapefile")
	flags.Var(&f.radius, "match-radius", "how far a check point may lie from its corner")
	f.control.define(flags)
	group(flags, "Control", "control", "match-radius")

	flags.StringVar(&o.Ortho, "ortho", "", "image of the block (GeoTIFF or another georeferenced image), in any CRS, to check the footprints on and for the report")
	flags.StringVar(&f.sameCloud, "same-cloud", string(o.SameCloud), "whether that image was rectified or coloured with this cloud: yes, no or unknown")
	group(flags, "Image", "ortho", "same-cloud")

	flags.Float64Var(&o.MinArea, "min-area", o.MinArea, "smallest footprint delivered, in square metres")
	flags.Var(&f.minJog, "min-jog", "smallest step of an outline that is drawn")
	flags.StringVar(&f.parts, "parts", string(o.Parts), "a lower part built onto a building: merge into its footprint, or split into one of its own")
	flags.StringSliceVar(&f.deliver, "deliver", nil, "deliver, marked, what is held back as vehicle-like or tent-like")
	group(flags, "Buildings", "min-area", "min-jog", "parts", "deliver")

	flags.IntVar(&o.Workers, "workers", o.Workers, "pieces of work done at once")
	flags.StringVar(&f.memory, "memory", fmt.Sprintf("%dM", o.Memory>>20), "memory that the run may use, as 800M or 8G; larger clouds are kept on disk in the output folder meanwhile")
	group(flags, "Machine", "workers", "memory")

	flags.BoolVarP(&f.quiet, "quiet", "q", false, "no progress; log only warnings")
	flags.BoolVarP(&f.verbose, "verbose", "v", false, "log every step")
	group(flags, "Messages", "quiet", "verbose")
}

// apply turns flags into options.
func (f *extractFlags) apply(o *extract.Options, flags *pflag.FlagSet) error {
	var err error
	if f.unit != "" {
		if o.Unit, err = vector.ParseUnit(f.unit); err != nil {
			return &usageError{fmt.Errorf("--unit: %w", err)}
		}
	}
	if f.units != "" {
		if o.ReportFormat.Unit, err = vector.ParseUnit(f.units); err != nil {
			return &usageError{fmt.Errorf("--report-units: %w", err)}
		}
	}
	if o.ReportFormat.Locale, err = report.ParseLocale(f.locale); err != nil {
		return &usageError{fmt.Errorf("--locale: %w", err)}
	}
	if o.Memory, err = parseBytes(f.memory); err != nil {
		return &usageError{fmt.Errorf("--memory: %w", err)}
	}
	o.MatchRadius, o.MinJog = float64(f.radius), float64(f.minJog)
	o.Parts = extract.PartRule(f.parts)
	for _, reason := range f.deliver {
		o.Deliver = append(o.Deliver, vector.Reason(reason))
	}
	if err := f.control.apply(o); err != nil {
		return err
	}
	if o.Drawing, err = drawingOf(f.drawing); err != nil {
		return &usageError{err}
	}
	if o.SameCloud, err = imagecheck.ParseDependence(f.sameCloud); err != nil {
		return &usageError{fmt.Errorf("--same-cloud: %w", err)}
	}
	o.Version = version()
	o.Given = make(map[string]bool)
	flags.Visit(func(flag *pflag.Flag) { o.Given[flag.Name] = true })
	o.Log = newLog(f.quiet, f.verbose)
	if !f.quiet {
		o.Progress = newProgress()
	}
	return nil
}

// parseBytes reads a number of bytes with an optional K, M or G behind it.
func parseBytes(text string) (int64, error) {
	number, shift := text, 0
	for i, suffix := range []string{"K", "M", "G"} {
		if n, ok := strings.CutSuffix(strings.ToUpper(text), suffix); ok {
			number, shift = n, 10*(i+1)
		}
	}
	n, err := strconv.ParseInt(number, 10, 64)
	if err != nil || n <= 0 || n > (1<<62)>>shift {
		return 0, fmt.Errorf("%q is no amount of memory: write 800M or 8G", text)
	}
	return n << shift, nil
}
