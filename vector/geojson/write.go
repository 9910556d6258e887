package geojson

import (
	"errors"
	"fmt"
	"io"

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
// an RFC 7946 feature collection in WGS 84 longitude and latitude.
//
// The exterior of each polygon runs counter-clockwise, holes clockwise. The
// properties are the columns of layer.Footprints, null where a value is
// unknown, and lengths and heights in the units of the CRS of d. Each feature
// has the building's identifier as its id. The collection has a bounding box;
// one without features has none. An outline across the 180th meridian is cut
// there (section 3.1.9), and the box then has its west edge east of its east
// edge (section 5.2).
//
// It returns an error for a delivery whose CRS is unknown, for a failing
// transform, and when the file cannot be written. It appears whole or not at
// all. The same delivery gives the same bytes.
func Write(path string, d vector.Delivery, toWGS84 Transform) error {
	if !d.CRS.Known() {
		return fmt.Errorf("geojson: write %s: the CRS is unknown, and GeoJSON needs longitude and latitude", path)
	}
	features, err := geographic(d, toWGS84)
	if err != nil {
		return fmt.Errorf("geojson: write %s: %w", path, err)
	}
	return finish(path, collection{features: features, decimals: decimals, bbox: geographicBox(features)})
}

// WriteProjected is Write without a transformation: positions are x = east, y =
// north in the CRS of d, with all their digits.
//
// Section 4 of the RFC leaves such files to those who have agreed on them; what
// reads them as longitude and latitude puts them in the wrong place. Each
// feature names the CRS in its property CRSProperty; that is null where the CRS
// is unknown.
func WriteProjected(path string, d vector.Delivery) error {
	var features []feature
	var bound orb.Bound
	for row := range layer.Footprints().Rows(d) {
		f := feature{row: row}
		if p, ok := row.Geometry.(orb.Polygon); ok {
			f.parts = orb.MultiPolygon{topology.Orient(p)}
			if b := p.Bound(); bound == (orb.Bound{}) {
				bound = b
			} else {
				bound = bound.Union(b)
			}
		}
		features = append(features, f)
	}
	c := collection{features: features, decimals: -1, projected: true, crs: d.CRS}
	if bound != (orb.Bound{}) {
		c.bbox = []float64{bound.Min[0], bound.Min[1], bound.Max[0], bound.Max[1]}
	}
	return finish(path, c)
}

func finish(path string, c collection) error {
	err := atomicfile.Write(path, func(w io.Writer) error { return c.write(w) })
	if err != nil {
		return fmt.Errorf("geojson: write %s: %w", path, err)
	}
	return nil
}

// feature is one row with the polygons it is drawn as.
type feature struct {
	row   layer.Row
	parts orb.MultiPolygon
	// west and east bound the parts, and west > east where they lie on both
	// sides of the 180th meridian.
	south, north, west, east float64
}

// geographic returns the footprints in longitude and latitude.
func geographic(d vector.Delivery, toWGS84 Transform) ([]feature, error) {
	if toWGS84 == nil {
		return nil, errors.New("no transformation to longitude and latitude was given")
	}
	var features []feature
	for row := range layer.Footprints().Rows(d) {
		f := feature{row: row}
		if p, ok := row.Geometry.(orb.Polygon); ok {
			p, err := transformed(p, toWGS84)
			if err == nil {
				err = f.place(p)
			}
			if err != nil {
				return nil, fmt.Errorf("building %v: %w", row.Values[0], err)
			}
		}
		features = append(features, f)
	}
	return features, nil
}

func transformed(p orb.Polygon, to Transform) (orb.Polygon, error) {
	out := make(orb.Polygon, len(p))
	for i, ring := range p {
		out[i] = make(orb.Ring, len(ring))
		for j, q := range ring {
			g, err := to(q)
			if err != nil {
				return nil, fmt.Errorf("position %v %v: %w", q[0], q[1], err)
			}
			if !(g[0] >= -180 && g[0] <= 180 && g[1] >= -90 && g[1] <= 90) {
				return nil, fmt.Errorf("position %v %v comes out as %v %v, which is no longitude and latitude", q[0], q[1], g[0], g[1])
			}
			out[i][j] = g
		}
	}
	return out, nil
}
