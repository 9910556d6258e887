package form

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"quoin/vector/topology"
)

// gather is how near to each other, in metres, nodes of parts are one: where
// three planes meet within their errors, or a hip comes down at a corner.
const gather = 0.15

// gatherNodes returns the tiles with nodes near a corner of the outline moved
// to it, and other nodes near each other to one of them. Where that would not
// leave a tiling it returns the tiles as they are.
func (w *work) gatherNodes(tiles []tile) []tile {
	anchors := vertices([]orb.Polygon{w.outline})
	corners := len(anchors)
	var polygons []orb.Polygon
	for _, t := range tiles {
		polygons = append(polygons, t.polygon)
	}
	to := make(map[orb.Point]orb.Point)
	for _, p := range vertices(polygons) {
		near := slices.IndexFunc(anchors, func(q orb.Point) bool { return math.Hypot(p[0]-q[0], p[1]-q[1]) < gather })
		if near < 0 || near >= corners && w.onOutline(p) {
			// What lies on the outline must not leave it but for a corner.
			near = len(anchors)
			anchors = append(anchors, p)
		}
		to[p] = anchors[near]
	}
	moved := make([]tile, 0, len(tiles))
	for _, t := range tiles {
		if p := mapped(t.polygon, to); len(p) > 0 {
			moved = append(moved, tile{p, t.label})
		}
	}
	if !w.tiles(moved) {
		return tiles
	}
	return moved
}

// vertices returns the different vertices of polygons, by their coordinates.
func vertices(polygons []orb.Polygon) []orb.Point {
	var all []orb.Point
	for _, p := range polygons {
		eachEdge(p, func(a, _ orb.Point) { all = append(all, a) })
	}
	slices.SortFunc(all, func(a, b orb.Point) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	return slices.Compact(all)
}

// onOutline reports whether a place lies on a side of the outline.
func (w *work) onOutline(p orb.Point) bool {
	on := false
	eachEdge(w.outline, func(a, b orb.Point) {
		length := math.Hypot(b[0]-a[0], b[1]-a[1])
		along := ((p[0]-a[0])*(b[0]-a[0]) + (p[1]-a[1])*(b[1]-a[1])) / length
		across := ((p[1]-a[1])*(b[0]-a[0]) - (p[0]-a[0])*(b[1]-a[1])) / length
		on = on || math.Abs(across) < straight && along > -straight && along < length+straight
	})
	return on
}

// mapped returns the polygon with its vertices moved; rings without an area
// fall out.
func mapped(p orb.Polygon, to map[orb.Point]orb.Point) orb.Polygon {
	var out orb.Polygon
	for k, ring := range p {
		var r orb.Ring
		for _, q := range ring[:len(ring)-1] {
			if m := to[q]; len(r) == 0 || m != r[len(r)-1] {
				r = append(r, m)
			}
		}
		for len(r) > 1 && r[0] == r[len(r)-1] {
			r = r[:len(r)-1]
		}
		if len(r) < 3 {
			if k == 0 {
				return nil
			}
			continue
		}
		out = append(out, append(r, r[0]))
	}
	return out
}

// lost is the area, in square metres, by which a tiling may miss the outline:
// rounding along its sides.
const lost = 0.01

// tiles reports whether tiles cover the outline once.
func (w *work) tiles(tiles []tile) bool {
	var polygons []orb.Polygon
	sum := 0.0
	for _, t := range tiles {
		if topology.Validate(t.polygon) != nil {
			return false
		}
		polygons = append(polygons, t.polygon)
		sum += topology.Area(t.polygon)
	}
	pairs, err := topology.Overlaps(polygons)
	if err != nil {
		return false
	}
	for _, p := range pairs {
		if p.Area > lost {
			return false
		}
	}
	return math.Abs(sum-topology.Area(w.outline)) < lost
}

// straight is how far, in metres, a vertex may lie from the line through its
// neighbours to be none.
const straight = 1e-3

// dropVertices takes away vertices at which no boundary turns and no third
// meets. Corners of the outline stay.
func (w *work) dropVertices(tiles []tile) []tile {
	beside := make(map[orb.Point][]orb.Point)
	join := func(a, b orb.Point) {
		if !slices.Contains(beside[a], b) {
			beside[a] = append(beside[a], b)
		}
	}
	for _, t := range tiles {
		eachEdge(t.polygon, func(a, b orb.Point) { join(a, b); join(b, a) })
	}
	corners := vertices([]orb.Polygon{w.outline})
	idle := func(p orb.Point) bool {
		n := beside[p]
		if len(n) != 2 || slices.ContainsFunc(corners, func(q orb.Point) bool { return math.Hypot(p[0]-q[0], p[1]-q[1]) < straight }) {
			return false
		}
		a, b := n[0], n[1]
		length := math.Hypot(b[0]-a[0], b[1]-a[1])
		return length > 0 && math.Abs((b[0]-a[0])*(p[1]-a[1])-(b[1]-a[1])*(p[0]-a[0]))/length < straight
	}
	out := make([]tile, len(tiles))
	for i, t := range tiles {
		out[i].label = t.label
		for _, ring := range t.polygon {
			var r orb.Ring
			for _, q := range ring[:len(ring)-1] {
				if !idle(q) {
					r = append(r, q)
				}
			}
			if len(r) >= 3 {
				out[i].polygon = append(out[i].polygon, append(r, r[0]))
			}
		}
	}
	if !w.tiles(out) {
		return tiles
	}
	return out
}
