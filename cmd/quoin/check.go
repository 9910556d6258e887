package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"

	"github.com/paulmach/orb"
	"github.com/spf13/cobra"

	"quoin/extract"
	"quoin/vector"
	"quoin/vector/assess"
	"quoin/vector/atomicfile"
	"quoin/vector/control"
	"quoin/vector/crs"
	"quoin/vector/formats"
	"quoin/vector/gpkg"
	"quoin/vector/statement"
)

func newCheck() *cobra.Command {
	var path, report, text string
	var in checkedLayer
	var survey controlFlags
	radius := length(1)
	cmd := &cobra.Command{
		Use:   "check FOOTPRINTS --control FILE",
		Short: "Test the corners of a polygon layer against surveyed points",
		Long: `Match surveyed points one to one with the corners of a layer of polygons and
state the differences: mean, standard deviation and RMSE by axis, the NSSDA
horizontal value at 95 %, and the class by the ASPRS standards. Blunders are
named and never left out in silence.

The layer may be one that quoin did not make: any GeoPackage, GeoJSON,
GeoParquet, FlatGeobuf, Shapefile or DXF file with polygons, in a CRS in which
lengths can be measured. Points of role control do not test here.

` + exitCodes,
		Example: "  quoin check delivery/footprints.gpkg --control control.csv --json check.json",
		Args:    usageArgs(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, args []string) error {
			if path == "" {
				return &usageError{errors.New("no surveyed points given: name their file with --control")}
			}
			corners, reference, err := in.corners(args[0])
			if err != nil {
				return err
			}
			var o extract.Options
			if err := survey.apply(&o); err != nil {
				return err
			}
			o.Control, o.MatchRadius = path, float64(radius)
			return check(cmd.OutOrStdout(), corners, reference, checkFiles{o, report, text})
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&path, "control", "", "surveyed points: CSV (point,northing,easting,elevation,description), GeoPackage, GeoJSON or Shapefile")
	flags.Var(&radius, "match-radius", "how far a point may lie from its corner")
	survey.defineSurvey(flags)
	group(flags, "Control", "control", "match-radius")
	flags.StringVar(&in.layer, "layer", "", "layer of a GeoPackage or a drawing, where it has several")
	flags.StringVar(&in.crs, "crs", "", "CRS to measure in, as EPSG:25832, where the layer is in degrees or in another one")
	flags.StringVar(&in.unit, "unit", "", "linear unit of the layer where it names none: m, ft or usft")
	group(flags, "Layer", "layer", "crs", "unit")
	flags.StringVar(&report, "json", "", "also write the result to this file")
	flags.StringVar(&text, "statement", "", "also write the accuracy statement to this file")
	flags.BoolVar(&survey.certificate, "certificate", false, "add a block for a licensed professional to the statement")
	group(flags, "Output", "json", "statement", "certificate")
	return cmd
}

func optionalUnit(symbol string) (vector.Unit, error) {
	if symbol == "" {
		return vector.Unit{}, nil
	}
	u, err := vector.ParseUnit(symbol)
	if err != nil {
		return u, &usageError{fmt.Errorf("--unit: %w", err)}
	}
	return u, nil
}

// A checkedLayer says which layer of a file is checked and what its coordinates
// are.
type checkedLayer struct{ layer, crs, unit string }

// corners returns the corners of a file: those that quoin stored, with their
// standard errors, or else the vertices of its polygons.
func (l checkedLayer) corners(path string) ([]vector.Corner, vector.CRS, error) {
	polygons, err := formats.ReadPolygons(path, l.layer)
	if err != nil {
		return nil, vector.CRS{}, err
	}
	reference, _, err := crs.Complete(polygons.CRS)
	if err != nil {
		return nil, reference, fmt.Errorf("%s: %w", path, err)
	}
	if l.crs != "" {
		return l.moved(path, polygons, reference)
	}
	unit, err := optionalUnit(l.unit)
	if err != nil {
		return nil, reference, err
	}
	if !reference.Horizontal.Known() || unit.Known() {
		reference.Horizontal = unit
	}
	if !reference.Vertical.Known() {
		reference.Vertical = reference.Horizontal
	}
	switch {
	case !reference.Measurable():
		return nil, reference, fmt.Errorf("%s is in %s, whose coordinates are no lengths: name the CRS to measure in with --crs", path, reference)
	case !reference.Horizontal.Known():
		return nil, reference, &usageError{fmt.Errorf("%s does not say which unit its coordinates are in: give it with --unit m, ft or usft", path)}
	}
	if l.layer == "" && isGeoPackage(path) {
		switch corners, err := gpkg.ReadCorners(path); {
		case err == nil:
			return corners, reference, nil
		case !errors.Is(err, gpkg.ErrNoCorners):
			return nil, reference, err
		}
	}
	return control.CornersOf(polygons.Polygons, polygons.IDs), reference, nil
}

// moved returns the corners of polygons brought into the CRS to measure in.
func (l checkedLayer) moved(path string, polygons gpkg.Polygons, from vector.CRS) ([]vector.Corner, vector.CRS, error) {
	to, err := crs.Parse(l.crs)
	switch {
	case err != nil:
		return nil, to, &usageError{fmt.Errorf("--crs: %w", err)}
	case !to.Measurable():
		return nil, to, &usageError{fmt.Errorf("--crs: coordinates in %s are no lengths: name a projected CRS", to)}
	case !from.Known():
		return nil, to, fmt.Errorf("%s does not say which CRS it is in, so that it can't be brought into %s", path, to)
	}
	if !to.Vertical.Known() {
		to.Vertical = to.Horizontal
	}
	corners := control.CornersOf(polygons.Polygons, polygons.IDs)
	if len(corners) == 0 {
		return nil, to, nil
	}
	transformer, err := crs.NewTransformer(from, to, corners[0].Point, crs.Options{})
	if err != nil {
		return nil, to, fmt.Errorf("%s: %w", path, err)
	}
	for _, p := range polygons.Polygons {
		for _, ring := range p {
			for i := range ring {
				if ring[i], err = transformer.Forward(ring[i]); err != nil {
					return nil, to, fmt.Errorf("%s: %w", path, err)
				}
			}
		}
	}
	return control.CornersOf(polygons.Polygons, polygons.IDs), to, nil
}

type checkFiles struct {
	options           extract.Options // those of surveyed points
	report, statement string
}

func check(out io.Writer, corners []vector.Corner, reference vector.CRS, f checkFiles) error {
	if len(corners) == 0 {
		return errors.New("the layer has no polygon, so there is no corner to check")
	}
	area := boundOf(corners)
	points, err := extract.ReadSurvey(f.options, area, reference)
	var wrong *extract.OptionError
	if errors.As(err, &wrong) {
		return &usageError{err}
	}
	if err != nil {
		return err
	}
	checks := control.Match(corners, points.Points, f.options.MatchRadius/reference.Horizontal.Metres)
	result := assess.Assess(checks, corners, assess.Options{CRS: reference, Area: area, TargetClass: f.options.TargetClass, Floor: f.options.EdgeFloor})
	result.Notes = append(result.Notes, points.Notes...)
	delivery := deliveryOf(corners, reference)
	result.SetNetwork(delivery.Footprints)
	c := statement.Content{Delivery: delivery, CRS: reference, Assessment: &result, Certificate: f.options.Certificate, Version: version()}
	for _, w := range points.Warnings {
		fmt.Fprintf(out, "Warning: %s\n", w)
	}
	fmt.Fprint(out, result.Summary(reference), statement.Brief(&result, c))
	if f.statement != "" {
		if err := statement.Write(f.statement, c); err != nil {
			return err
		}
	}
	if f.report == "" {
		return nil
	}
	return atomicfile.Write(f.report, func(w io.Writer) error {
		e := json.NewEncoder(w)
		e.SetIndent("", "  ")
		return e.Encode(result)
	})
}

// deliveryOf groups corners by building, for the statement to count them.
func deliveryOf(corners []vector.Corner, reference vector.CRS) vector.Delivery {
	d := vector.Delivery{CRS: reference}
	at := map[string]int{}
	for _, c := range corners {
		i, ok := at[c.BuildingID]
		if !ok {
			i = len(d.Footprints)
			at[c.BuildingID] = i
			d.Footprints = append(d.Footprints, vector.Footprint{ID: c.BuildingID})
		}
		d.Footprints[i].Corners = append(d.Footprints[i].Corners, c)
	}
	return d
}

func boundOf(corners []vector.Corner) orb.Bound {
	b := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for _, c := range corners {
		b = b.Extend(c.Point)
	}
	return b
}

// isGeoPackage reports whether a file begins as a SQLite database does.
func isGeoPackage(path string) bool {
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	const signature = "SQLite format 3\x00"
	head := make([]byte, len(signature))
	_, err = io.ReadFull(f, head)
	return err == nil && string(head) == signature
}
