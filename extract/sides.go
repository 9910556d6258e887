package extract

import (
	"math"

	"github.com/paulmach/orb"

	"quoin/extract/cloud"
	"quoin/extract/wall"
	"quoin/vector"
	"quoin/vector/topology"
)

// A ledge is one edge of a delivered outline, in local metres: its start, the
// unit vector along it with the roof on the left, and its length.
type ledge struct{ x, y, tx, ty, length float64 }

// at returns the place of a point along the edge and inside of it.
func (l *ledge) at(x, y float64) (along, inward float64) {
	dx, dy := x-l.x, y-l.y
	return dx*l.tx + dy*l.ty, dy*l.tx - dx*l.ty
}

// ledges lists the edges of a polygon.
func ledges(frame cloud.Frame, p orb.Polygon) []ledge {
	var list []ledge
	h := frame.Horizontal
	for _, ring := range p {
		for i := range len(ring) - 1 {
			a, b := ring[i], ring[i+1]
			e := ledge{x: a[0]*h - frame.OriginE, y: a[1]*h - frame.OriginN, length: math.Hypot(b[0]-a[0], b[1]-a[1]) * h}
			e.tx, e.ty = (b[0]-a[0])*h/e.length, (b[1]-a[1])*h/e.length
			list = append(list, e)
		}
	}
	return list
}

// facades are the heights, in metres, between which a return counts as one of
// a façade: above ground, and below the roof over it.
const facadeGround, facadeEave = 0.3, 0.3

// walls fills in the sides of a footprint, and its wall outline where the
// walls of all of them are seen.
func (d *drawing) walls(s *surroundings) {
	f := &d.footprint
	frame := s.block.Frame
	edges := ledges(frame, f.Polygon)
	seen := s.facade(d.shape, edges)
	moved := make([]float64, len(edges))
	complete, k, corner := true, 0, 0
	fitted := d.fitted(frame)
	f.Sides = nil
	for r, ring := range f.Polygon {
		n := len(ring) - 1
		for i := range n {
			from, to := &f.Corners[corner+i], &f.Corners[corner+(i+1)%n]
			e := &edges[k]
			side := vector.Side{
				Ring: r, Edge: i, From: ring[i], To: ring[i+1],
				Direction: -1, Offset: -1, Arc: -1, SigmaLength: fitted.sigmaLength(r, i, from, to),
				Overhang: math.NaN(), SigmaOverhang: math.NaN(), Low: math.NaN(), High: math.NaN(),
			}
			if edge := fitted.edges[k]; edge != nil {
				if side.Arc = edge.Arc - 1; side.Arc < 0 {
					side.Direction, side.Offset = edge.Direction, edge.Parameter-len(d.adjusted.Directions)
				}
			}
			found, ok := wall.Find(seen[k], e.length, s.measures.Sigma)
			if ok {
				edge := max(variance(from, -e.ty, e.tx), variance(to, -e.ty, e.tx))
				side.Overhang = found.Overhang / frame.Horizontal
				side.SigmaOverhang = math.Sqrt(found.Sigma*found.Sigma/(frame.Horizontal*frame.Horizontal) + edge)
				side.FacadePoints = found.Points
				side.Low, side.High = found.Low/frame.Vertical, found.High/frame.Vertical
				moved[k] = found.Overhang
			}
			complete = complete && ok
			f.Sides = append(f.Sides, side)
			k++
		}
		corner += n
	}
	f.Adjustment, f.Arcs = d.adjustment(frame), d.arcs(frame)
	if sigma, ok := fitted.sigmaArea(); ok {
		f.AreaSigma = sigma / (frame.Horizontal * frame.Horizontal)
	}
	f.Walls = nil
	if complete {
		f.Walls = moveIn(frame, f.Polygon, edges, moved)
	}
}

// variance is that of a corner along a direction, in the unit of the CRS.
func variance(c *vector.Corner, x, y float64) float64 {
	return max(x*x*c.SigmaE*c.SigmaE+2*x*y*c.CovEN+y*y*c.SigmaN*c.SigmaN, 0)
}

// facade returns for each edge the returns below the roof and above the ground
// that lie near it.
func (s *surroundings) facade(shape *roofShape, edges []ledge) [][]wall.Point {
	near := make([][]wall.Point, len(edges))
	for i := range s.block.In(shape.roofBounds().Pad(2 * wall.Outside)) {
		p := &s.block.Points[i]
		height := float64(s.hag[i])
		if s.roofOf[i] >= 0 || !(height > facadeGround) {
			continue
		}
		x, y := p.East(), p.North()
		z, ok := math.NaN(), false
		for k := range edges {
			along, inward := edges[k].at(x, y)
			if along < 0 || along > edges[k].length || inward < -wall.Outside || inward > wall.Inside {
				continue
			}
			if math.IsNaN(z) {
				if z, ok = shape.height(x, y); !ok {
					break
				}
			}
			if p.Up() < z-facadeEave {
				near[k] = append(near[k], wall.Point{Along: along, Inward: inward, Height: height})
			}
		}
	}
	return near
}

// moveIn returns the polygon with each edge moved inside by its overhang; nil
// when neighbours are too close to parallel to meet, or the outcome is not
// valid.
func moveIn(frame cloud.Frame, p orb.Polygon, edges []ledge, by []float64) orb.Polygon {
	var out orb.Polygon
	k := 0
	for _, ring := range p {
		n := len(ring) - 1
		var moved orb.Ring
		for i := range n {
			a, b := &edges[k+(i+n-1)%n], &edges[k+i]
			cross := a.tx*b.ty - a.ty*b.tx
			if math.Abs(cross) < 0.1 {
				return nil
			}
			// lines -ty·x + tx·y = c, with c larger by the overhang
			ca := -a.ty*a.x + a.tx*a.y + by[k+(i+n-1)%n]
			cb := -b.ty*b.x + b.tx*b.y + by[k+i]
			moved = append(moved, frame.ToCRS((ca*b.tx-cb*a.tx)/cross, (ca*b.ty-cb*a.ty)/cross))
		}
		out = append(out, append(moved, moved[0]))
		k += n
	}
	if topology.Validate(out) != nil {
		return nil
	}
	return out
}
