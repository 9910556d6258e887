package geojson

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"quoin/vector/topology"
)

// place sets the parts of a feature and their bound from a polygon in
// longitude and latitude, cut where it crosses the 180th meridian.
func (f *feature) place(p orb.Polygon) error {
	p = topology.Orient(unrolled(p))
	b := p.Bound()
	f.parts = []orb.Geometry{p}
	f.bound(b)
	if b.Left() >= -180 && b.Right() <= 180 {
		return nil
	}
	// Unrolling starts from longitudes within ±180, so one line is crossed at
	// most: the one at +180 or the one at −180.
	at := 180.0
	if b.Left() < -180 {
		at = -180
	}
	f.parts = nil
	for _, side := range []orb.Bound{
		{Min: orb.Point{at - 360, -90}, Max: orb.Point{at, 90}},
		{Min: orb.Point{at, -90}, Max: orb.Point{at + 360, 90}},
	} {
		parts, err := topology.Intersection(p, side.ToPolygon())
		if err != nil {
			return err
		}
		for _, part := range parts {
			if b := part.Bound(); b.Left() < -180 || b.Right() > 180 {
				shift(part, -math.Copysign(360, b.Left()+b.Right()))
			}
			f.parts = append(f.parts, part)
		}
	}
	f.west, f.east = wrap(b.Left()), wrap(b.Right())
	return nil
}

// placeLine is place for a line.
func (f *feature) placeLine(l orb.LineString) {
	l = orb.LineString(unrolled(orb.Polygon{orb.Ring(l)})[0])
	b := l.Bound()
	f.parts = []orb.Geometry{l}
	f.bound(b)
	if b.Left() >= -180 && b.Right() <= 180 {
		return
	}
	at := math.Copysign(180, b.Left()+b.Right())
	f.parts = nil
	part := orb.LineString{}
	for i, q := range l {
		if i > 0 {
			if p := l[i-1]; math.Abs(p[0]) > 180 != (math.Abs(q[0]) > 180) {
				cut := orb.Point{at, p[1] + (q[1]-p[1])*(at-p[0])/(q[0]-p[0])}
				f.parts = append(f.parts, append(part, cut))
				part = orb.LineString{cut}
			}
		}
		part = append(part, q)
	}
	f.parts = append(f.parts, part)
	for _, g := range f.parts {
		part := g.(orb.LineString)
		if b := part.Bound(); b.Left() < -180 || b.Right() > 180 {
			for i := range part {
				part[i][0] -= math.Copysign(360, b.Left()+b.Right())
			}
		}
	}
	f.west, f.east = wrap(b.Left()), wrap(b.Right())
}

func (f *feature) bound(b orb.Bound) {
	f.west, f.east, f.south, f.north = b.Left(), b.Right(), b.Bottom(), b.Top()
}

// unrolled returns the polygon with longitudes that go on beyond ±180 where an
// edge would otherwise span more than half the globe.
func unrolled(p orb.Polygon) orb.Polygon {
	out := make(orb.Polygon, len(p))
	for i, ring := range p {
		out[i] = slices.Clone(ring)
		for j, q := range out[i] {
			before := out[0][0]
			if j > 0 {
				before = out[i][j-1]
			}
			out[i][j][0] = q[0] - 360*math.Round((q[0]-before[0])/360)
		}
	}
	return out
}

func shift(p orb.Polygon, by float64) {
	for _, ring := range p {
		for i := range ring {
			ring[i][0] += by
		}
	}
}

// wrap returns the longitude within ±180.
func wrap(longitude float64) float64 {
	switch {
	case longitude > 180:
		return longitude - 360
	case longitude < -180:
		return longitude + 360
	}
	return longitude
}

// geographicBox returns the bounding box of the features, south-west corner
// first: the narrowest that holds them all, which is the complement of the
// widest gap of longitude between them. nil when there is nothing to bound.
func geographicBox(features []feature) []float64 {
	south, north := math.Inf(1), math.Inf(-1)
	var spans [][2]float64
	for _, f := range features {
		if len(f.parts) == 0 {
			continue
		}
		south, north = min(south, f.south), max(north, f.north)
		if f.west > f.east {
			// As two spans, one ends at the line and one begins there.
			spans = append(spans, [2]float64{f.west, 180}, [2]float64{-180, f.east})
			continue
		}
		spans = append(spans, [2]float64{f.west, f.east})
	}
	if len(spans) == 0 {
		return nil
	}
	slices.SortFunc(spans, func(a, b [2]float64) int {
		switch {
		case a[0] < b[0]:
			return -1
		case a[0] > b[0]:
			return 1
		}
		return 0
	})
	// The gap across the line comes first, so that it is kept unless another
	// is wider, and the box does not cross the line without need.
	reach := spans[0][1]
	for _, s := range spans {
		reach = max(reach, s[1])
	}
	west, east := spans[0][0], reach
	widest := west + 360 - reach
	reach = spans[0][1]
	for _, s := range spans[1:] {
		if gap := s[0] - reach; gap > widest {
			widest, west, east = gap, s[0], reach
		}
		reach = max(reach, s[1])
	}
	return []float64{west, south, east, north}
}
