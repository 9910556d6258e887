package swath

import (
	"math"

	"quoin/extract/cloud"
)

const (
	// patchPoints is how many pulses a patch should hold, on average, for a
	// plane and its residuals; patchLeast is how many it must.
	patchPoints = 16
	patchLeast  = 10
	// swathLeast is how many points of one leg count on a patch.
	swathLeast = 4
	// mostPatches is about how many patches of a block are looked at.
	mostPatches = 1 << 16
	// steepest is the tangent of the steepest slope of a patch (60°): beyond
	// it, a plane over x and y is no longer well determined.
	steepest = 1.732
)

// A patch is a small square of ground or roof with the plane that fits it: one
// gradient for all, one height for each leg, so that the shifts between legs
// do not pass for roughness.
type patch struct {
	x, y     float64    // its middle
	gx, gy   float64    // gradient
	within   float64    // standard deviation along the normal, about each leg's own plane
	together float64    // the same about one plane for all
	freedom  int        // degrees of freedom of within
	inverse  [3]float64 // of the scatter of x, y about the legs' centroids: xx, xy, yy
	parts    []part
}

// A part is what one leg measured of a patch.
type part struct {
	leg, n  int
	x, y, z float64 // centroid about the patch's middle; z about its first point
	sigma   float64 // along the normal, about its own plane
}

// slopeSq returns the square of the tangent of the patch's slope.
func (p *patch) slopeSq() float64 { return p.gx*p.gx + p.gy*p.gy }

// patchSize returns the side of patches for a density: a power of two from
// half a metre, so that patches of any size tile a unit.
func patchSize(density float64) float64 {
	size := 0.5
	for size < 16 && density*size*size < patchPoints {
		size *= 2
	}
	return size
}

// patches fits planes to the chosen patches of a block, in order of units.
func patches(b *cloud.Block, f *fleet, d Density, workers int) []patch {
	size := patchSize(d.Median)
	every := uint64(1)
	for d.Occupied/(size*size)/float64(every) > mostPatches {
		every *= 2
	}
	units := b.Units()
	var all []patch
	for _, some := range ordered(len(units), workers, func(i int) []patch {
		return fitter{b, f, size, every}.unit(units[i])
	}) {
		all = append(all, some...)
	}
	return all
}

type fitter struct {
	block *cloud.Block
	fleet *fleet
	size  float64
	every uint64 // one patch in so many is chosen
}

func (f fitter) unit(unit cloud.Rect) []patch {
	var fitted []patch
	for _, r := range f.squares(unit) {
		if p, ok := f.fit(r); ok {
			fitted = append(fitted, p)
		}
	}
	return fitted
}

// squares returns the chosen squares of a unit.
func (f fitter) squares(unit cloud.Rect) []cloud.Rect {
	var chosen []cloud.Rect
	g := cloud.NewGrid(unit, f.size)
	half := f.size / 2
	for i := range g.Len() {
		if x, y := g.Centre(i); f.chosen(x, y) {
			chosen = append(chosen, cloud.Rect{MinX: x - half, MinY: y - half, MaxX: x + half, MaxY: y + half})
		}
	}
	return chosen
}

// chosen decides by the patch's number on the grid of the CRS.
func (f fitter) chosen(x, y float64) bool {
	col := int64(math.Floor((x + f.block.Frame.OriginE) / f.size))
	row := int64(math.Floor((y + f.block.Frame.OriginN) / f.size))
	return mix(uint64(row)<<32^uint64(col)&math.MaxUint32)%f.every == 0
}

// A spot is a point about the middle of its patch.
type spot struct {
	leg     int
	x, y, z float64
}

func (f fitter) fit(r cloud.Rect) (patch, bool) {
	var spots []spot
	x, y := (r.MinX+r.MaxX)/2, (r.MinY+r.MaxY)/2
	x0, y0 := int64(math.Round(x/cloud.Step)), int64(math.Round(y/cloud.Step))
	var z0 int64
	for i := range f.block.In(r) {
		p := &f.block.Points[i]
		if p.Returns() > 1 {
			continue
		}
		leg := f.fleet.leg(p.Source, p.Tick())
		if leg == noLeg {
			continue
		}
		if len(spots) == 0 {
			z0 = int64(p.Z)
		}
		spots = append(spots, spot{
			leg,
			float64(int64(p.X)-x0) * cloud.Step, float64(int64(p.Y)-y0) * cloud.Step, float64(int64(p.Z)-z0) * cloud.Step,
		})
	}
	if len(spots) < patchLeast {
		return patch{}, false
	}
	p := patch{x: x, y: y}
	spots = p.split(spots)
	return p, p.plane(spots)
}

// split makes the parts, and returns the points that belong to one.
func (p *patch) split(spots []spot) []spot {
	parts := make([]part, 0, 4)
	for _, s := range spots {
		i := 0
		for i < len(parts) && parts[i].leg != s.leg {
			i++
		}
		if i == len(parts) {
			parts = append(parts, part{leg: s.leg})
		}
		q := &parts[i]
		q.n++
		q.x += s.x
		q.y += s.y
		q.z += s.z
	}
	for _, q := range parts {
		if q.n >= swathLeast {
			n := float64(q.n)
			p.parts = append(p.parts, part{leg: q.leg, n: q.n, x: q.x / n, y: q.y / n, z: q.z / n})
		}
	}
	kept := spots[:0]
	for _, s := range spots {
		if p.part(s.leg) != nil {
			kept = append(kept, s)
		}
	}
	return kept
}

func (p *patch) part(leg int) *part {
	for i := range p.parts {
		if p.parts[i].leg == leg {
			return &p.parts[i]
		}
	}
	return nil
}

// plane fits the gradient and computes the residuals; false where the points
// do not determine it, as on one scan line, or where it is too steep.
func (p *patch) plane(spots []spot) bool {
	p.freedom = len(spots) - 2 - len(p.parts)
	if len(p.parts) == 0 || len(spots) < patchLeast || p.freedom < 4 {
		return false
	}
	var xx, xy, yy, xz, yz float64
	for _, s := range spots {
		c := p.part(s.leg)
		dx, dy, dz := s.x-c.x, s.y-c.y, s.z-c.z
		xx += dx * dx
		xy += dx * dy
		yy += dy * dy
		xz += dx * dz
		yz += dy * dz
	}
	det := xx*yy - xy*xy
	const thin = 0.05 // least ratio of the axes' variances, roughly
	if det <= thin*(xx+yy)*(xx+yy)/4 {
		return false
	}
	p.gx, p.gy = (xz*yy-yz*xy)/det, (yz*xx-xz*xy)/det
	if p.slopeSq() > steepest*steepest {
		return false
	}
	p.inverse = [3]float64{yy / det, -xy / det, xx / det}
	p.scatter(spots)
	return true
}

// scatter computes the residuals along the normal.
func (p *patch) scatter(spots []spot) {
	var within, together, mean float64
	for _, s := range spots {
		mean += s.z - p.gx*s.x - p.gy*s.y
	}
	mean /= float64(len(spots))
	for _, s := range spots {
		c := p.part(s.leg)
		r := s.z - c.z - p.gx*(s.x-c.x) - p.gy*(s.y-c.y)
		within += r * r
		c.sigma += r * r
		t := s.z - p.gx*s.x - p.gy*s.y - mean
		together += t * t
	}
	cosSq := 1 / (1 + p.slopeSq())
	p.within = math.Sqrt(within * cosSq / float64(p.freedom))
	p.together = math.Sqrt(together * cosSq / float64(len(spots)-3))
	for i := range p.parts {
		// The two unknowns of the gradient are borne by all parts alike.
		c := &p.parts[i]
		free := float64(c.n-1) - 2*float64(c.n)/float64(len(spots))
		c.sigma = math.Sqrt(c.sigma * cosSq / free)
	}
}
