package house

import (
	"fmt"
	"math"

	"github.com/peterstace/simplefeatures/geom"

	"quoin/extract/scene/solid"
)

// A Region is a polygon: rings without the closing point, the exterior
// counter-clockwise, holes clockwise.
type Region [][]solid.Point

// Area returns the region's area in square metres.
func (r Region) Area() float64 {
	sum := 0.0
	for _, ring := range r {
		sum += ringArea(ring)
	}
	return sum
}

func ringArea(ring []solid.Point) float64 {
	sum := 0.0
	for i, p := range ring {
		q := ring[(i+1)%len(ring)]
		sum += p.Sub(ring[0]).Cross(q.Sub(ring[0]))
	}
	return sum / 2
}

// Contains reports whether p is inside the region.
func (r Region) Contains(p solid.Point) bool {
	inside := false
	for _, ring := range r {
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
				inside = !inside
			}
		}
	}
	return inside
}

// Bounds returns the lower left and upper right corners of the exterior.
func (r Region) Bounds() (low, high solid.Point) {
	low = solid.Point{X: math.Inf(1), Y: math.Inf(1)}
	high = low.Scale(-1)
	for _, p := range r[0] {
		low = solid.Point{X: min(low.X, p.X), Y: min(low.Y, p.Y)}
		high = solid.Point{X: max(high.X, p.X), Y: max(high.Y, p.Y)}
	}
	return low, high
}

// Offset moves each side of a convex polygon outwards by its own distance.
// Sides that are parallel to their successor must have the same distance.
func Offset(plan []solid.Point, by []float64) []solid.Point {
	n := len(plan)
	moved := make([]solid.Point, n)
	for i := range plan {
		h := (i + n - 1) % n
		a, da := side(plan, h, by[h])
		b, db := side(plan, i, by[i])
		cross := da.Cross(db)
		if math.Abs(cross) < 1e-9 {
			moved[i] = b
			continue
		}
		t := b.Sub(a).Cross(db) / cross
		moved[i] = a.Add(da.Scale(t))
	}
	return moved
}

// side returns the start and the unit direction of a side moved outwards.
func side(plan []solid.Point, i int, by float64) (start, direction solid.Point) {
	p, q := plan[i], plan[(i+1)%len(plan)]
	d := q.Sub(p)
	d = d.Scale(1 / d.Length())
	return p.Add(solid.Point{X: d.Y, Y: -d.X}.Scale(by)), d
}

// union returns the union of convex polygons, which must be in one piece.
// Vertices that turn by nothing are left out.
func union(plans [][]solid.Point) (Region, error) {
	sum := Region{plans[0]}
	for _, plan := range plans[1:] {
		var err error
		if sum, err = unite(sum, Region{plan}); err != nil {
			return nil, err
		}
	}
	return sum, nil
}

// unite returns the union of two regions that is in one piece.
func unite(a, b Region) (Region, error) {
	p, err := polygonOf(a)
	if err != nil {
		return nil, fmt.Errorf("unite outlines: %w", err)
	}
	q, err := polygonOf(b)
	if err != nil {
		return nil, fmt.Errorf("unite outlines: %w", err)
	}
	sum, err := geom.Union(p, q)
	if err != nil {
		return nil, fmt.Errorf("unite outlines: %w", err)
	}
	return onePiece(sum)
}

// onePiece returns the only piece of a union. Sides that run along each other
// may leave slivers a rounding wide, which are no pieces.
func onePiece(g geom.Geometry) (Region, error) {
	const sliver = 1e-4 // square metres
	var found []geom.Polygon
	if p, ok := g.AsPolygon(); ok {
		found = append(found, p)
	}
	if m, ok := g.AsMultiPolygon(); ok {
		for i := range m.NumPolygons() {
			if p := m.PolygonN(i); p.Area() > sliver {
				found = append(found, p)
			}
		}
	}
	if len(found) != 1 {
		return nil, fmt.Errorf("unite outlines: %d pieces", len(found))
	}
	return regionOf(found[0].ForceCCW()), nil
}

func polygonOf(r Region) (geom.Geometry, error) {
	var rings []geom.LineString
	for _, ring := range r {
		flat := make([]float64, 0, 2*len(ring)+2)
		for i := range len(ring) + 1 {
			p := ring[i%len(ring)]
			// A nanometre grid lets sides that were meant to meet do so.
			flat = append(flat, math.Round(p.X*1e9)/1e9, math.Round(p.Y*1e9)/1e9)
		}
		rings = append(rings, geom.NewLineString(geom.NewSequence(flat, geom.DimXY)))
	}
	polygon := geom.NewPolygon(rings)
	return polygon.AsGeometry(), polygon.Validate()
}

func regionOf(polygon geom.Polygon) Region {
	rings := []geom.LineString{polygon.ExteriorRing()}
	for i := range polygon.NumInteriorRings() {
		rings = append(rings, polygon.InteriorRingN(i))
	}
	var region Region
	for i, ring := range rings {
		seq := ring.Coordinates()
		var points []solid.Point
		for j := range seq.Length() - 1 {
			xy := seq.GetXY(j)
			points = append(points, solid.Point{X: xy.X, Y: xy.Y})
		}
		points = straighten(points)
		// Gaps of overlapping sections' rounding are no courtyards.
		if i == 0 || math.Abs(ringArea(points)) > 0.01 {
			region = append(region, points)
		}
	}
	return region
}

// straighten leaves out the vertices that lie within a hundredth of a
// millimetre of the line between their neighbours.
func straighten(ring []solid.Point) []solid.Point {
	const tolerance = 1e-5
	for i := 0; i < len(ring) && len(ring) > 3; {
		p, q, r := ring[(i+len(ring)-1)%len(ring)], ring[i], ring[(i+1)%len(ring)]
		d := r.Sub(p)
		if l := d.Length(); q.Sub(p).Length() < tolerance || l < tolerance || math.Abs(q.Sub(p).Cross(d))/l < tolerance {
			ring = append(ring[:i:i], ring[i+1:]...)
			i = max(i-1, 0)
			continue
		}
		i++
	}
	return ring
}
