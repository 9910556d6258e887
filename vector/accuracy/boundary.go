package accuracy

import (
	"fmt"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
	"github.com/peterstace/simplefeatures/geos"

	"quoin/vector/topology"
)

// BoundaryIoU returns the intersection over union of the inner bands of the
// given width along the boundaries of two valid polygons (Cheng, Girshick,
// Dollár, Berg and Kirillov, CVPR 2021). The band is all of a polygon that is
// nowhere wider than twice the width.
func BoundaryIoU(a, b orb.Polygon, width float64) (float64, error) {
	coreA, err := eroded(a, width)
	if err == nil {
		var coreB orb.MultiPolygon
		if coreB, err = eroded(b, width); err == nil {
			var iou float64
			if iou, err = bandIoU(a, b, coreA, coreB); err == nil {
				return iou, nil
			}
		}
	}
	return 0, fmt.Errorf("accuracy: boundary IoU: %w", err)
}

// bandIoU compares what is left of a and b without their cores. The core lies
// within its polygon, so that areas add up.
func bandIoU(a, b orb.Polygon, coreA, coreB orb.MultiPolygon) (float64, error) {
	sum := func(x, y orb.MultiPolygon) (total float64, err error) {
		for _, p := range x {
			for _, q := range y {
				area, err := areaOf(p, q)
				if err != nil {
					return 0, err
				}
				total += area
			}
		}
		return total, nil
	}
	wholeA, wholeB := orb.MultiPolygon{a}, orb.MultiPolygon{b}
	common := 0.0
	for _, t := range []struct {
		x, y orb.MultiPolygon
		sign float64
	}{{wholeA, wholeB, 1}, {coreA, wholeB, -1}, {wholeA, coreB, -1}, {coreA, coreB, 1}} {
		area, err := sum(t.x, t.y)
		if err != nil {
			return 0, err
		}
		common += t.sign * area
	}
	band := func(p orb.Polygon, core orb.MultiPolygon) float64 {
		left := topology.Area(p)
		for _, c := range core {
			left -= topology.Area(c)
		}
		return left
	}
	return common / (band(a, coreA) + band(b, coreB) - common), nil
}

// eroded returns the places of a polygon farther than width from its boundary.
func eroded(p orb.Polygon, width float64) (orb.MultiPolygon, error) {
	o := p[0][0]
	rings := make([]geom.LineString, len(p))
	for i, ring := range p {
		var flat []float64
		for _, q := range ring {
			flat = append(flat, q[0]-o[0], q[1]-o[1])
		}
		rings[i] = geom.NewLineString(geom.NewSequence(flat, geom.DimXY))
	}
	core, err := geos.Buffer(geom.NewPolygon(rings).AsGeometry(), -width, geos.BufferQuadSegments(8))
	if err != nil {
		return nil, err
	}
	var out orb.MultiPolygon
	for _, part := range core.Dump() {
		if part.IsPolygon() {
			out = append(out, polygonOf(part.MustAsPolygon(), o))
		}
	}
	return out, nil
}

// polygonOf returns a polygon about the origin o.
func polygonOf(g geom.Polygon, o orb.Point) orb.Polygon {
	var p orb.Polygon
	for _, ring := range g.DumpRings() {
		seq := ring.Coordinates()
		var r orb.Ring
		for i := range seq.Length() {
			xy := seq.GetXY(i)
			r = append(r, orb.Point{xy.X + o[0], xy.Y + o[1]})
		}
		p = append(p, r)
	}
	return p
}
