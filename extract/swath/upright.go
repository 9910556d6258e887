package swath

import (
	"math"

	"quoin/extract/cloud"
)

const (
	// mostUpright is about how many squares of a block are searched for walls
	// and roof edges.
	mostUpright = 1 << 16
	// leastRise is the least height in metres within a square that has a wall
	// or an edge; trim is what is left out at its foot and top.
	leastRise = 2.5
	trim      = 0.7
	// seamLeast is the least number of points of a seam, seamLength its least
	// length in metres.
	seamLeast  = 8
	seamLength = 1.2
	// wallShare and edgeShare are the share of all candidates in a square that
	// must lie on one line: hedges and crowns put points beside it.
	wallShare = 0.85
	edgeShare = 0.7
	// seamTries is how many pairs of points a seam is sought through, and
	// seamSample about how many points judge which is best.
	seamTries  = 40
	seamSample = 48
	// levelness is how far in metres the points of a roof edge may scatter in
	// height about a straight line.
	levelness = 0.15
	// enoughOnSeams is the least number of points on walls or edges for an
	// estimate.
	enoughOnSeams = 120
)

// Upright things seen from above. Points on a wall scatter about its plane by
// the horizontal noise alone. Pulses that a roof edge splits have their first
// return on the roof and lie, but for that noise, within the half-width f of
// the beam from the edge, evenly: with variance f²/3.
//
// Each wall and edge counts as many times as it has points.
type uprights struct{ walls, edges *histogram }

func newUprights() uprights {
	const finest, widestWall, widestEdge = 0.5e-3, 0.15, 0.6
	return uprights{newHistogram(finest, widestWall), newHistogram(finest, widestEdge)}
}

// searchUprights measures how points scatter across walls and roof edges, on
// squares anchored on the CRS and chosen by a hash: small ones, in which trees
// beside an edge get in the way less often, and twice as large ones, which
// hold more of it.
func searchUprights(b *cloud.Block, d Density, workers int) uprights {
	size := min(max(2*patchSize(d.Median), 2), 8)
	sum := newUprights()
	for _, size := range []float64{size, 2 * size} {
		every := uint64(1)
		for d.Occupied/(size*size)/float64(every) > mostUpright {
			every *= 2
		}
		f := fitter{block: b, size: size, every: every}
		units := b.Units()
		for _, u := range pooled(len(units), workers, newUprights, func(u uprights, i int) { f.uprights(u, units[i]) }) {
			sum.walls.merge(u.walls)
			sum.edges.merge(u.edges)
		}
	}
	return sum
}

func (f fitter) uprights(u uprights, unit cloud.Rect) {
	var scratch []vec
	for _, r := range f.squares(unit) {
		lo, hi := int32(math.MaxInt32), int32(math.MinInt32)
		for i := range f.block.In(r) {
			lo, hi = min(lo, f.block.Points[i].Z), max(hi, f.block.Points[i].Z)
		}
		if float64(hi)-float64(lo) < leastRise/cloud.Step {
			continue
		}
		scratch = f.between(scratch[:0], r, lo, hi)
		if s, ok := findSeam(scratch, wallShare); ok && s.rise >= leastRise-2*trim-0.5 {
			u.walls.addTimes(s.scatter, s.points)
		}
		scratch = f.split(scratch[:0], r)
		if s, ok := findSeam(scratch, edgeShare); ok && s.unevenness < levelness {
			u.edges.addTimes(s.scatter, s.points)
		}
	}
}

// between appends the points of a square well above its lowest and well below
// its highest, about its corner.
func (f fitter) between(spots []vec, r cloud.Rect, lo, hi int32) []vec {
	const margin = int32(trim / cloud.Step)
	for i := range f.block.In(r) {
		if p := &f.block.Points[i]; p.Z > lo+margin && p.Z < hi-margin && p.Returns() <= 1 {
			spots = append(spots, about(p, r, lo))
		}
	}
	return spots
}

// split appends the first returns of pulses with two.
func (f fitter) split(spots []vec, r cloud.Rect) []vec {
	var base int32
	for i := range f.block.In(r) {
		if p := &f.block.Points[i]; p.Return() == 1 && p.Returns() == 2 {
			if len(spots) == 0 {
				base = p.Z
			}
			spots = append(spots, about(p, r, base))
		}
	}
	return spots
}

// about returns a point's position about the corner of a square and a height;
// being a difference of whole steps it does not depend on the block's origin.
func about(p *cloud.Point, r cloud.Rect, base int32) vec {
	return vec{
		float64(int64(p.X)-int64(math.Round(r.MinX/cloud.Step))) * cloud.Step,
		float64(int64(p.Y)-int64(math.Round(r.MinY/cloud.Step))) * cloud.Step,
		float64(int64(p.Z)-int64(base)) * cloud.Step,
	}
}

// A seam is a straight row of points seen from above.
type seam struct {
	points     int
	scatter    float64 // standard deviation across
	rise       float64 // from the lowest to the highest
	unevenness float64 // standard deviation of heights about a straight line
}

// findSeam looks for the straight line that most of the points lie on, seen
// from above: through chosen pairs of points the one with the least
// quantile of distances for the share that must lie on it, then a fit to what lies within three standard
// deviations.
func findSeam(spots []vec, share float64) (seam, bool) {
	if len(spots) < seamLeast {
		return seam{}, false
	}
	best, tolerance := row{}, math.Inf(1)
	var few [seamSample + 1]vec
	sample := few[:0]
	for i := 0; i < len(spots); i += len(spots)/seamSample + 1 {
		sample = append(sample, spots[i])
	}
	var distances [seamSample + 1]float64
	for try := range seamTries {
		h := mix(uint64(try))
		a, b := sample[h%uint64(len(sample))], sample[h>>32%uint64(len(sample))]
		dx, dy := b[0]-a[0], b[1]-a[1]
		n := math.Hypot(dx, dy)
		if n < seamLength/2 {
			continue
		}
		r := row{x: a[0], y: a[1], ux: dx / n, uy: dy / n}
		for i, s := range sample {
			distances[i] = math.Abs(r.offset(s))
		}
		if d := quickQuantile(distances[:len(sample)], share); d < tolerance {
			best, tolerance = r, d
		}
	}
	if math.IsInf(tolerance, 1) {
		return seam{}, false
	}
	return best.refine(spots, 2.5*tolerance+1e-3, share)
}

// A row is a line in plan.
type row struct{ x, y, ux, uy float64 }

func (r row) offset(s vec) float64 { return (s[1]-r.y)*r.ux - (s[0]-r.x)*r.uy }
func (r row) along(s vec) float64  { return (s[0]-r.x)*r.ux + (s[1]-r.y)*r.uy }

// refine fits the line to the points within a limit, which follows their
// scatter, and describes them.
func (r row) refine(spots []vec, limit, share float64) (seam, bool) {
	var on []vec
	var scatter float64
	for range 4 {
		on = on[:0]
		for _, s := range spots {
			if math.Abs(r.offset(s)) <= limit {
				on = append(on, s)
			}
		}
		if len(on) < seamLeast || float64(len(on)) < share*float64(len(spots)) {
			return seam{}, false
		}
		r, scatter = fitRow(on)
		limit = 3*scatter + 1e-3
	}
	s := seam{points: len(on), scatter: scatter}
	lo, hi, low, high := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	var tt, tz, zz float64
	var mean float64
	for _, q := range on {
		mean += q[2] / float64(len(on))
	}
	for _, q := range on {
		t, z := r.along(q), q[2]-mean
		lo, hi, low, high = min(lo, t), max(hi, t), min(low, q[2]), max(high, q[2])
		tt, tz, zz = tt+t*t, tz+t*z, zz+z*z
	}
	s.rise = high - low
	s.unevenness = math.Sqrt(max(zz-tz*tz/tt, 0) / float64(len(on)-2))
	return s, hi-lo >= seamLength && scatter < (hi-lo)/6
}

// fitRow returns the line of least squares of distances, through the centroid,
// and the standard deviation of the points about it.
func fitRow(on []vec) (row, float64) {
	var r row
	n := float64(len(on))
	for _, s := range on {
		r.x += s[0] / n
		r.y += s[1] / n
	}
	var xx, xy, yy float64
	for _, s := range on {
		dx, dy := s[0]-r.x, s[1]-r.y
		xx, xy, yy = xx+dx*dx, xy+dx*dy, yy+dy*dy
	}
	angle := math.Atan2(2*xy, xx-yy) / 2
	r.uy, r.ux = math.Sincos(angle)
	across := xx*r.uy*r.uy - 2*xy*r.ux*r.uy + yy*r.ux*r.ux
	return r, math.Sqrt(max(across, 0) / (n - 2))
}
