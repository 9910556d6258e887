package geojson

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/atomicfile"
	"quoin/vector/layer"
	"quoin/vector/topology"
)

// CRSProperty is the property in which every feature of a projected file names
// its CRS. It is an ordinary property, so that the file has no member that the
// RFC does not know.
const CRSProperty = "coordinate_reference_system"

// decimals is the number of decimals of a degree: 10⁻⁹ degrees are 0.11 mm on
// the ground, as fine as the grid that outlines are snapped to.
const decimals = 9

// Transform takes a position in the CRS of the delivery to WGS 84 longitude
// and latitude in degrees, in this order.
type Transform func(orb.Point) (orb.Point, error)

// Write creates the file at path, or replaces it, with the footprints of d as
// an RFC 7946 feature collection in WGS 84 longitude and latitude. It is
// WriteTable of the layer of footprints, and returns an error as well for a
// delivery whose CRS is unknown.
func Write(ctx context.Context, path string, d vector.Delivery, toWGS84 Transform) error {
	if !d.CRS.Known() {
		return fmt.Errorf("geojson: write %s: the CRS is unknown, and GeoJSON needs longitude and latitude", path)
	}
	return WriteTable(ctx, path, footprints(d), toWGS84)
}

func footprints(d vector.Delivery) layer.Table {
	return layer.Table{Layer: layer.Footprints(), Rows: slices.Collect(layer.Footprints().Rows(d))}
}

// WriteTable creates the file at path, or replaces it, with the features of one
// layer as an RFC 7946 feature collection in WGS 84 longitude and latitude.
//
// The exterior of each polygon runs counter-clockwise, holes clockwise. The
// properties are the columns of the layer, null where a value is unknown, and
// lengths and heights in the units of the CRS that toWGS84 comes from. A feature
// of the layer of footprints has the building's identifier as its id. The
// collection has a bounding box; one without geometries has none. An outline or
// a line across the 180th meridian is cut there (section 3.1.9), and the box then has
// its west edge east of its east edge (section 5.2).
//
// It returns an error for a failing transform, and when the file cannot be
// written. It appears whole or not at all. The same features give the same
// bytes.
func WriteTable(ctx context.Context, path string, t layer.Table, toWGS84 Transform) error {
	c, err := geographic(ctx, t, toWGS84)
	if err != nil {
		return fmt.Errorf("geojson: write %s: %w", path, err)
	}
	return finish(path, func(w io.Writer) error { return c.write(ctx, w) })
}

// WriteLines is WriteTable with one feature a line and nothing around them
// (newline-delimited GeoJSON), which programs can read without holding all of it.
func WriteLines(ctx context.Context, path string, t layer.Table, toWGS84 Transform) error {
	c, err := geographic(ctx, t, toWGS84)
	if err != nil {
		return fmt.Errorf("geojson: write %s: %w", path, err)
	}
	return finish(path, func(w io.Writer) error { return c.writeLines(ctx, w) })
}

// WriteProjected is WriteTable without a transformation: positions are x =
// east, y = north in c, with all their digits, and elevations where the table has
// them.
//
// Section 4 of the RFC leaves such files to those who have agreed on them; what
// reads them as longitude and latitude puts them in the wrong place. Each
// feature names the CRS in its property CRSProperty; that is null where the CRS
// is unknown.
func WriteProjected(ctx context.Context, path string, t layer.Table, crs vector.CRS) error {
	c := newCollection(t.Layer)
	c.decimals, c.projected, c.crs = -1, true, crs
	var bound orb.Bound
	for i, row := range t.Rows {
		f := feature{row: row, z: t.Elevations(i)}
		if row.Geometry != nil {
			f.parts = []orb.Geometry{row.Geometry}
			if p, ok := row.Geometry.(orb.Polygon); ok && f.z == nil {
				f.parts[0] = topology.Orient(p)
			}
			if b := row.Geometry.Bound(); bound == (orb.Bound{}) {
				bound = b
			} else {
				bound = bound.Union(b)
			}
		}
		c.features = append(c.features, f)
	}
	if bound != (orb.Bound{}) {
		c.bbox = []float64{bound.Min[0], bound.Min[1], bound.Max[0], bound.Max[1]}
	}
	return finish(path, func(w io.Writer) error { return c.write(ctx, w) })
}

func finish(path string, write func(io.Writer) error) error {
	if err := atomicfile.Write(path, write); err != nil {
		return fmt.Errorf("geojson: write %s: %w", path, err)
	}
	return nil
}

// feature is one row with what it is drawn as.
type feature struct {
	row layer.Row
	// parts are all points, all lines or all polygons; more than one where the
	// row's geometry lies across the 180th meridian.
	parts []orb.Geometry
	// z has an elevation for each position of the one part; nil where it is flat.
	z []float64
	// west and east bound the parts, and west > east where they lie on both
	// sides of the 180th meridian.
	south, north, west, east float64
}

// geographic returns the features of a table in longitude and latitude.
func geographic(ctx context.Context, t layer.Table, toWGS84 Transform) (collection, error) {
	c := newCollection(t.Layer)
	if toWGS84 == nil {
		return c, errors.New("no transformation to longitude and latitude was given")
	}
	for i, row := range t.Rows {
		if err := ctx.Err(); err != nil {
			return c, err
		}
		f := feature{row: row}
		if err := f.draw(toWGS84); err != nil {
			return c, fmt.Errorf("%s, row %d: building %v: %w", t.Layer.Name, i+1, row.Values[0], err)
		}
		c.features = append(c.features, f)
	}
	c.bbox = geographicBox(c.features)
	return c, nil
}

// draw sets the parts of a feature from its row's geometry.
func (f *feature) draw(to Transform) error {
	switch g := f.row.Geometry.(type) {
	case orb.Point:
		line, err := transformed(orb.LineString{g}, to)
		if err != nil {
			return err
		}
		f.parts = []orb.Geometry{line[0]}
		f.bound(line.Bound())
	case orb.LineString:
		line, err := transformed(g, to)
		if err != nil {
			return err
		}
		f.placeLine(line)
	case orb.Polygon:
		polygon := make(orb.Polygon, len(g))
		for i, ring := range g {
			line, err := transformed(orb.LineString(ring), to)
			if err != nil {
				return err
			}
			polygon[i] = orb.Ring(line)
		}
		return f.place(polygon)
	}
	return nil
}

func transformed(line orb.LineString, to Transform) (orb.LineString, error) {
	out := make(orb.LineString, len(line))
	for i, q := range line {
		g, err := to(q)
		if err != nil {
			return nil, fmt.Errorf("position %v %v: %w", q[0], q[1], err)
		}
		if !(g[0] >= -180 && g[0] <= 180 && g[1] >= -90 && g[1] <= 90) {
			return nil, fmt.Errorf("position %v %v comes out as %v %v, which is no longitude and latitude", q[0], q[1], g[0], g[1])
		}
		out[i] = g
	}
	return out, nil
}
