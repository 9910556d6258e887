package extract

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/tidwall/rtree"

	"quoin/extract/cloud"
	"quoin/vector"
	"quoin/vector/topology"
)

// snapGrid is the grid that corners are snapped to, in metres.
const snapGrid = 1e-4

// settle brings the outlines of all buildings together: walls that two of
// them share become one, overlaps are cut, and vertices are snapped once on
// the graph that all share. It sets each footprint's polygon and corners.
func settle(drawn []*drawing, frame cloud.Frame, m cloud.Measures) error {
	for _, group := range neighbourhoods(drawn, wallGate(m)) {
		plans := make([]*plan, len(group))
		for i, d := range group {
			plans[i] = &drawn[d].plan
		}
		shareWalls(plans, wallGate(m))
	}
	polygons := make([]orb.Polygon, len(drawn))
	for i, d := range drawn {
		d.corners = nil
		polygons[i] = polygon(frame, d.plan.rings)
		for _, ring := range d.plan.rings {
			d.corners = append(d.corners, corners(frame, d.shape, m, ring.Vertices)...)
		}
	}
	if err := part(drawn, polygons); err != nil {
		return err
	}
	snapped, losses, err := topology.Snap(polygons, snapGrid/frame.Horizontal)
	if err != nil {
		return err
	}
	for _, l := range losses {
		drawn[l.Index].cut = true
	}
	known := newCornerIndex(drawn, frame)
	for i, d := range drawn {
		d.footprint.Polygon = snapped[i]
		d.footprint.Corners = known.label(snapped[i], d)
	}
	return nil
}

// wallGate is how close two edges must be to be the faces of one wall.
func wallGate(m cloud.Measures) float64 { return min(max(m.Spacing, 0.05), 0.5) }

// neighbourhoods returns the groups of drawings that lie next to each other,
// by their places in drawn.
func neighbourhoods(drawn []*drawing, gap float64) [][]int {
	var tree rtree.RTreeG[int]
	sets := newUnion(len(drawn))
	for i, d := range drawn {
		lo, hi := d.plan.box()
		tree.Search([2]float64{lo[0] - gap, lo[1] - gap}, [2]float64{hi[0] + gap, hi[1] + gap},
			func(_, _ [2]float64, j int) bool {
				sets.join(i, j)
				return true
			})
		tree.Insert(lo, hi, i)
	}
	return sets.sets()
}

// box returns the corners of the smallest rectangle that holds a plan.
func (p *plan) box() (lo, hi [2]float64) {
	lo, hi = [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	for _, v := range p.rings[0].Vertices {
		lo = [2]float64{min(lo[0], v.X), min(lo[1], v.Y)}
		hi = [2]float64{max(hi[0], v.X), max(hi[1], v.Y)}
	}
	return lo, hi
}

// part cuts what two polygons have in common from the one that is known less
// well. Polygons are changed in place.
func part(drawn []*drawing, polygons []orb.Polygon) error {
	pairs, err := topology.Overlaps(polygons)
	if err != nil {
		return fmt.Errorf("overlapping outlines: %w", err)
	}
	for _, pair := range pairs {
		loser, winner := pair.I, pair.J
		if drawn[pair.I].trust() >= drawn[pair.J].trust() {
			loser, winner = pair.J, pair.I
		}
		rest, err := topology.Difference(polygons[loser], polygons[winner])
		if err != nil {
			return fmt.Errorf("overlapping outlines: %w", err)
		}
		drawn[loser].cut = true
		polygons[loser] = largest(rest)
	}
	return nil
}

// largest returns the polygon with the largest area; nil of none.
func largest(polygons orb.MultiPolygon) orb.Polygon {
	var best orb.Polygon
	var most float64
	for _, p := range polygons {
		if a := topology.Area(p); a > most {
			best, most = p, a
		}
	}
	return best
}

// trust orders outlines by how well they are known: the mean weight of their
// corners.
func (d *drawing) trust() float64 {
	var sum float64
	var n int
	for _, ring := range d.plan.rings {
		for _, v := range ring.Vertices {
			sum += v.CovXX + v.CovYY
			n++
		}
	}
	return -sum / float64(n)
}

// A cornerIndex finds the corner that a vertex came from.
type cornerIndex struct {
	tree rtree.RTreeG[cornerAt]
	near float64 // how far snapping and cutting may have moved it
}

type cornerAt struct {
	owner  *drawing
	corner vector.Corner
}

func newCornerIndex(drawn []*drawing, frame cloud.Frame) *cornerIndex {
	x := &cornerIndex{near: 2 * snapGrid / frame.Horizontal}
	for _, d := range drawn {
		for _, c := range d.corners {
			x.tree.Insert(c.Point, c.Point, cornerAt{d, c})
		}
	}
	return x
}

// label returns the corners of a polygon. A vertex of the building's own
// outline keeps its standard error; one that a neighbour gave has the
// neighbour's; one where two outlines were cut is extended and as uncertain
// as the building's worst.
func (x *cornerIndex) label(p orb.Polygon, d *drawing) []vector.Corner {
	var list []vector.Corner
	for r, ring := range p {
		n := len(ring) - 1
		for v := range n {
			c := x.find(ring[v], d)
			c.BuildingID, c.Ring, c.Vertex, c.Point = d.footprint.ID, r, v, ring[v]
			c.AngleDeg = interiorAngle(ring[(v+n-1)%n], ring[v], ring[v+1])
			list = append(list, c)
		}
	}
	return list
}

func (x *cornerIndex) find(p orb.Point, d *drawing) vector.Corner {
	var found *cornerAt
	x.tree.Search([2]float64{p[0] - x.near, p[1] - x.near}, [2]float64{p[0] + x.near, p[1] + x.near},
		func(_, _ [2]float64, c cornerAt) bool {
			if found == nil || c.owner == d && found.owner != d ||
				(c.owner == d) == (found.owner == d) && c.corner.CovEN < found.corner.CovEN {
				found = &c
			}
			return true
		})
	if found != nil {
		return found.corner
	}
	worst := d.corners[0]
	for _, c := range d.corners {
		if c.SigmaE+c.SigmaN > worst.SigmaE+worst.SigmaN {
			worst = c
		}
	}
	worst.Kind = vector.Extended
	return worst
}

// interiorAngle is the angle at b, in degrees, on the left of a, b, c: inside
// the building, as exteriors run counter-clockwise and holes clockwise.
func interiorAngle(a, b, c orb.Point) float64 {
	in, out := math.Atan2(a[1]-b[1], a[0]-b[0]), math.Atan2(c[1]-b[1], c[0]-b[0])
	angle := (in - out) * 180 / math.Pi
	if angle < 0 {
		angle += 360
	}
	return angle
}
