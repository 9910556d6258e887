package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/paulmach/orb"
	"github.com/spf13/cobra"

	"quoin/vector"
	"quoin/vector/atomicfile"
	"quoin/vector/crs"
	"quoin/vector/gdal"
	"quoin/vector/geojson"
	"quoin/vector/imagecheck"
	"quoin/vector/orthophoto"
)

// imageFlags govern quoin image-check.
type imageFlags struct {
	ortho, orthoCRS, sameCloud string
	layer, unit, height        string
	heightGiven                bool // the user names the column
	reach                      length
	ballpark                   bool
	report                     string
}

func newImageCheck() *cobra.Command {
	f := imageFlags{reach: imagecheck.DefaultReach}
	cmd := &cobra.Command{
		Use:   "image-check FOOTPRINTS --ortho FILE",
		Short: "Measure how a layer of lines or polygons lies on an orthophoto",
		Long: `Find the image edge nearest to each edge of a layer to a fraction of a pixel and
state how image and layer lie to each other: shift, rotation, scale and size bias
of the block with standard errors, whether it is a true-ortho or roofs lean, and
which buildings do not agree, by the image's fault or the layer's.

The layer may be one that quoin did not make: lines or polygons in a GeoPackage,
GeoJSON, Shapefile, FlatGeobuf, DXF or another file that GDAL reads, in any CRS.
Heights above ground, which tell lean from shift, come from the column eave_height
or the one named with --height-field.

An image that was rectified or coloured with the cloud that the layer comes from
is no independent test: say so with --same-cloud.

` + exitCodes,
		Example: "  quoin image-check delivery/footprints.gpkg --ortho ortho.tif --same-cloud no --json image.json",
		Args:    usageArgs(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, args []string) error {
			f.heightGiven = cmd.Flags().Changed("height-field")
			return f.run(cmd, args[0])
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.ortho, "ortho", "", "the image: GeoTIFF or another georeferenced image, in any CRS")
	flags.StringVar(&f.orthoCRS, "ortho-crs", "", "CRS of the image, as EPSG:25832, in place of what its file says")
	flags.StringVar(&f.sameCloud, "same-cloud", string(imagecheck.Unknown), "whether it was rectified or coloured with the cloud of the layer: yes, no or unknown")
	flags.Var(&f.reach, "reach", "how far from the layer's an image edge is looked for")
	group(flags, "Image", "ortho", "ortho-crs", "same-cloud", "reach")
	flags.StringVar(&f.layer, "layer", "", "layer of a file that has several")
	flags.StringVar(&f.unit, "unit", "", "linear unit of the layer where it names none: m, ft or usft")
	flags.StringVar(&f.height, "height-field", "eave_height", "column with heights above ground, in the vertical unit of the layer")
	flags.BoolVar(&f.ballpark, "accept-ballpark", false, "accept transformations without knowledge of how the datums lie")
	group(flags, "Layer", "layer", "unit", "height-field", "accept-ballpark")
	flags.StringVar(&f.report, "json", "", "also write the result to this file")
	group(flags, "Output", "json")
	return cmd
}

func (f *imageFlags) run(cmd *cobra.Command, path string) error {
	if !gdal.Built {
		return gdal.ErrNotBuilt // said first: no other input would help
	}
	if f.ortho == "" {
		return &usageError{errors.New("no image given: name its file with --ortho")}
	}
	same, err := imagecheck.ParseDependence(f.sameCloud)
	if err != nil {
		return &usageError{fmt.Errorf("--same-cloud: %w", err)}
	}
	if f.reach < 0.5 || f.reach > 20 {
		return &usageError{errors.New("--reach is between 0.5 and 20 metres")}
	}
	o := orthophoto.Options{AllowBallpark: f.ballpark}
	if f.orthoCRS != "" {
		if o.Assumed, err = crs.Parse(f.orthoCRS); err != nil {
			return &usageError{fmt.Errorf("--ortho-crs: %w", err)}
		}
		o.Override = true
	}
	l, err := f.edges(path, o)
	if err != nil {
		return err
	}
	r, operation, err := orthophoto.Check(cmd.Context(), f.ortho, l, o, imagecheck.Options{SameCloud: same, Reach: float64(f.reach)})
	if err != nil {
		return err
	}
	out := cmd.OutOrStdout()
	if operation.Name != "" {
		fmt.Fprintf(out, "Layer in %s, image brought under it by %s\n", l.CRS, operation)
	}
	fmt.Fprintln(out, r.Line(l.CRS.Horizontal))
	for _, s := range r.Sentences() {
		fmt.Fprintln(out, s)
	}
	if f.report == "" {
		return nil
	}
	return atomicfile.Write(f.report, func(w io.Writer) error {
		e := json.NewEncoder(w)
		e.SetIndent("", "  ")
		return e.Encode(r)
	})
}

// edges reads the layer, in a CRS in which lengths can be measured: one in
// degrees is brought to the image's.
func (f *imageFlags) edges(path string, o orthophoto.Options) (orthophoto.Layer, error) {
	var l orthophoto.Layer
	unit, err := optionalUnit(f.unit)
	if err != nil {
		return l, err
	}
	features, err := f.features(path)
	if err != nil {
		return l, err
	}
	if l.CRS, _, err = crs.Complete(features.crs); err != nil {
		return l, fmt.Errorf("%s: %w", path, err)
	}
	if !l.CRS.Horizontal.Known() || unit.Known() {
		l.CRS.Horizontal = unit
	}
	if !l.CRS.Measurable() {
		if err := f.project(path, &features, &l, o); err != nil {
			return l, err
		}
	}
	if !l.CRS.Horizontal.Known() {
		return l, &usageError{fmt.Errorf("%s does not say which unit its coordinates are in: give it with --unit m, ft or usft", path)}
	}
	vertical := l.CRS.Vertical
	if !vertical.Known() {
		vertical = l.CRS.Horizontal
	}
	for _, x := range features.list {
		x.height *= vertical.Metres
		l.Edges = append(l.Edges, x.edges()...)
	}
	if len(l.Edges) == 0 {
		return l, fmt.Errorf("%s has no line or polygon to check", path)
	}
	return l, nil
}

// project brings a layer in degrees, or in Web Mercator, to the CRS of the image.
func (f *imageFlags) project(path string, all *features, l *orthophoto.Layer, o orthophoto.Options) error {
	img, err := orthophoto.Open(f.ortho, o)
	if err != nil {
		return err
	}
	to := img.CRS()
	img.Close()
	if !to.Known() || !to.Measurable() || len(all.list) == 0 {
		return fmt.Errorf("%s is in %s, whose coordinates are no lengths, and the image is in %s: give either in a projected CRS", path, l.CRS, to)
	}
	t, err := crs.NewTransformer(l.CRS, to, all.list[0].geometry.Bound().Center(), crs.Options{AllowBallpark: o.AllowBallpark})
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	for i := range all.list {
		if all.list[i].geometry, err = moved(all.list[i].geometry, t.Forward); err != nil {
			return fmt.Errorf("%s: feature %s: %w", path, all.list[i].id, err)
		}
	}
	l.CRS = to
	return nil
}

// A feature is one geometry with its height in the vertical unit.
type feature struct {
	id       string
	geometry orb.Geometry
	height   float64
}

type features struct {
	list []feature
	crs  vector.CRS
}

// features reads a layer through GDAL; what a GeoJSON file says of its CRS is
// read by us, who know the property that quoin writes.
func (f *imageFlags) features(path string) (features, error) {
	layers, err := gdal.ReadLayers(path)
	if err != nil {
		return features{}, err
	}
	l, err := chosen(layers, f.layer)
	if err != nil {
		return features{}, fmt.Errorf("%s: %w", path, err)
	}
	all := features{crs: vector.CRS{WKT: l.CRS}}
	if polygons, err := geojson.ReadPolygons(path); err == nil {
		all.crs = polygons.CRS
	}
	id, height := column(l, "building_id"), column(l, f.height)
	if id < 0 {
		id = column(l, "id")
	}
	if height < 0 && f.heightGiven {
		return features{}, fmt.Errorf("%s has no column %q: name one with heights above ground", path, f.height)
	}
	for _, x := range l.Features {
		one := feature{geometry: x.Geometry, id: fmt.Sprint(x.ID), height: math.NaN()}
		if id >= 0 && x.Values[id] != nil {
			one.id = fmt.Sprint(x.Values[id])
		}
		if height >= 0 {
			switch v := x.Values[height].(type) {
			case float64:
				one.height = v
			case int64:
				one.height = float64(v)
			}
		}
		if x.Geometry != nil {
			all.list = append(all.list, one)
		}
	}
	return all, nil
}

// chosen returns the layer that is named, or footprints, or the only one.
func chosen(layers []gdal.Layer, name string) (gdal.Layer, error) {
	var names []string
	for _, l := range layers {
		if l.Name == name || name == "" && (l.Name == "footprints" || len(layers) == 1) {
			return l, nil
		}
		names = append(names, l.Name)
	}
	return gdal.Layer{}, &usageError{fmt.Errorf("say which layer to check with --layer: it has %q", names)}
}

func column(l gdal.Layer, name string) int {
	for i, f := range l.Fields {
		if f == name {
			return i
		}
	}
	return -1
}

// edges returns the edges of a feature; points have none.
func (x feature) edges() []imagecheck.Edge {
	switch g := x.geometry.(type) {
	case orb.Polygon:
		return imagecheck.EdgesOf(x.id, g, x.height)
	case orb.LineString:
		return imagecheck.LinesOf(x.id, g, x.height)
	case orb.MultiPolygon:
		var all []imagecheck.Edge
		for _, p := range g {
			all = append(all, imagecheck.EdgesOf(x.id, p, x.height)...)
		}
		return all
	case orb.MultiLineString:
		var all []imagecheck.Edge
		for _, p := range g {
			all = append(all, imagecheck.LinesOf(x.id, p, x.height)...)
		}
		return all
	case orb.Collection:
		var all []imagecheck.Edge
		for _, p := range g {
			all = append(all, feature{x.id, p, x.height}.edges()...)
		}
		return all
	}
	return nil
}

// moved takes a geometry to another CRS.
func moved(g orb.Geometry, to func(orb.Point) (orb.Point, error)) (orb.Geometry, error) {
	var failure error
	g = orb.Clone(g)
	line := func(points []orb.Point) {
		for i := range points {
			var err error
			if points[i], err = to(points[i]); err != nil && failure == nil {
				failure = err
			}
		}
	}
	switch g := g.(type) {
	case orb.Polygon:
		for _, r := range g {
			line(r)
		}
	case orb.LineString:
		line(g)
	case orb.MultiPolygon:
		for _, p := range g {
			for _, r := range p {
				line(r)
			}
		}
	case orb.MultiLineString:
		for _, l := range g {
			line(l)
		}
	}
	return g, failure
}
