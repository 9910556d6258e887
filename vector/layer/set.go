package layer

import (
	"math"
	"slices"
	"time"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// A Set is all layers of a delivery with what is in them: what every writer
// writes, whether it comes from a job or out of a file.
type Set struct {
	// CRS is that of all coordinates.
	CRS    vector.CRS
	Tables []Table
	// Lineage, Metadata and Time are those of the delivery.
	Lineage  string
	Metadata []vector.Metadata
	Time     time.Time
}

// Of returns the layers of d with their rows, flat.
func Of(d vector.Delivery) Set {
	return Set{CRS: d.CRS, Tables: Tables(d), Lineage: d.Lineage, Metadata: d.Metadata, Time: d.Time}
}

// Table returns the table of a name, and false where there is none.
func (s Set) Table(name string) (Table, bool) {
	for _, t := range s.Tables {
		if t.Layer.Name == name {
			return t, true
		}
	}
	return Table{}, false
}

// Solid reports how many of the features have elevations, and how many have a
// geometry.
func (t Table) Solid() (withZ, placed int) {
	for i, row := range t.Rows {
		if row.Geometry != nil {
			placed++
		}
		if t.Elevations(i) != nil {
			withZ++
		}
	}
	return withZ, placed
}

// Elevations returns those of the geometry of row i, nil of a flat one.
func (t Table) Elevations(i int) []float64 {
	if t.Z == nil {
		return nil
	}
	return t.Z[i]
}

// A spot is a position of a building's outline. Neighbours share positions,
// and their roofs have heights of their own there.
type spot struct {
	building string
	at       orb.Point
}

// Flat returns the set without elevations in its geometries; s is not changed.
func (s Set) Flat() Set {
	s.Tables = slices.Clone(s.Tables)
	for i := range s.Tables {
		s.Tables[i].Z = nil
	}
	return s
}

// Raised returns the set with elevations in its geometries: points take that
// in their column elevation, lines and polygons those of the corners of the
// same building, where they run through nothing else; plane parts of roofs take
// those of their plane. What has no elevation at
// each of its positions stays flat. Elevations are those in the columns, in the
// vertical unit of the CRS; s is not changed.
func (s Set) Raised() Set {
	s = s.Flat()
	known := map[spot]float64{}
	for k, t := range s.Tables {
		s.Tables[k].Z = make([][]float64, len(t.Rows))
		building, elevation := t.Layer.Column("building_id"), t.Layer.Column("elevation")
		if t.Layer.Geometry != Point || building < 0 || elevation < 0 {
			continue
		}
		for i, row := range t.Rows {
			p, ok := row.Geometry.(orb.Point)
			z, has := row.Values[elevation].(float64)
			if !ok || !has {
				continue
			}
			s.Tables[k].Z[i] = []float64{z}
			if id, named := row.Values[building].(string); named && t.Layer.Name == "corners" {
				known[spot{id, p}] = z
			}
		}
	}
	for k, t := range s.Tables {
		building := t.Layer.Column("building_id")
		if t.Layer.Geometry == Point || building < 0 {
			continue
		}
		for i, row := range t.Rows {
			switch id, ok := row.Values[building].(string); {
			case row.Geometry == nil:
			case t.Layer.Column("plane_elevation") >= 0:
				s.Tables[k].Z[i] = onPlane(t.Layer, row)
			case ok:
				s.Tables[k].Z[i] = elevations(known, id, row.Geometry)
			}
		}
	}
	return s
}

// onPlane returns the elevations of the positions of a row on the plane that its
// columns describe; nil where they do not, or where the surface is no plane.
func onPlane(l Layer, row Row) []float64 {
	if i := l.Column("form"); i >= 0 && row.Values[i] != string(vector.FormPlane) {
		return nil
	}
	var v [5]float64
	for k, name := range [5]string{"plane_e", "plane_n", "plane_elevation", "gradient_e", "gradient_n"} {
		i := l.Column(name)
		if i < 0 {
			return nil
		}
		number, ok := row.Values[i].(float64)
		if !ok {
			return nil
		}
		v[k] = number
	}
	var z []float64
	for p := range Positions(row.Geometry) {
		z = append(z, rounded(v[2]+v[3]*(p[0]-v[0])+v[4]*(p[1]-v[1]), coordinateDecimals))
	}
	return z
}

// elevations looks up each position of a geometry; nil where one is unknown.
func elevations(known map[spot]float64, building string, g orb.Geometry) []float64 {
	var z []float64
	for p := range Positions(g) {
		v, ok := known[spot{building, p}]
		if !ok || math.IsNaN(v) {
			return nil
		}
		z = append(z, v)
	}
	return z
}

// Positions runs over the positions of a point, a line or a polygon, in the
// order of Table.Z.
func Positions(g orb.Geometry) func(yield func(orb.Point) bool) {
	return func(yield func(orb.Point) bool) {
		switch g := g.(type) {
		case orb.Point:
			yield(g)
		case orb.LineString:
			for _, p := range g {
				if !yield(p) {
					return
				}
			}
		case orb.Polygon:
			for _, ring := range g {
				for _, p := range ring {
					if !yield(p) {
						return
					}
				}
			}
		}
	}
}

// Middle returns the middle of everything that has a place; the zero point when
// nothing has.
func (s Set) Middle() orb.Point {
	var whole *orb.Bound
	for _, t := range s.Tables {
		for _, f := range t.Rows {
			if f.Geometry == nil {
				continue
			}
			b := f.Geometry.Bound()
			if whole != nil {
				b = whole.Union(b)
			}
			whole = &b
		}
	}
	if whole == nil {
		return orb.Point{}
	}
	return whole.Center()
}
