package extract

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"quoin/extract/cloud"
	"quoin/extract/outline"
	"quoin/vector"
)

// heights are elevations of one building, in local metres, by the terms of
// INSPIRE D2.8.III.2, ElevationReferenceValue.
type heights struct {
	lowestGround, highestGround, ground float64
	eave, roof, ridge, highest          float64
}

// groundTail is the share of the outline whose ground is left out at either end
// of its range: single cells of the terrain are off beside walls.
const groundTail = 0.02

// measureHeights reads the terrain and the roof along the outline. The eave is
// that of the roof's form, where it is known; else the lower quartile of the
// roof edge: more than half of a hipped or flat roof's edge and half of a
// gable's lies at it. The ridge is that of the form, or higher where rails or
// parapets are: it leaves the highest one per cent of roof points to aerials and
// chimneys.
func (d *drawing) measureHeights(terrain *cloud.Raster[float32], hag []float32, ring []outline.Vertex) heights {
	var h heights
	var ground, edge []float64
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		steps := max(int(math.Hypot(b.X-a.X, b.Y-a.Y)/terrain.Cell), 1)
		for k := range steps {
			f := (float64(k) + 0.5) / float64(steps)
			x, y := a.X+f*(b.X-a.X), a.Y+f*(b.Y-a.Y)
			ground = append(ground, cloud.Bilinear(terrain, x, y))
			if z, ok := d.shape.height(x, y); ok {
				edge = append(edge, z)
			}
		}
	}
	top := make([]float64, len(d.shape.points))
	for k, i := range d.shape.points {
		top[k] = d.shape.block.Points[i].Up()
	}
	h.ground, h.roof, h.eave = mean(ground), d.form.Mean, d.form.Eave
	h.ridge = quantile(top, 0.99)
	if d.form.Ridge > h.ridge {
		h.ridge = d.form.Ridge
	}
	level := steady(ground)
	h.lowestGround, h.highestGround = quantile(level, groundTail), quantile(level, 1-groundTail)
	h.highest = d.highest(hag)
	if math.IsNaN(h.eave) {
		h.eave = quantile(edge, 0.25)
	}
	if math.IsNaN(h.roof) {
		h.roof = mean(top)
	}
	return h
}

// steady returns the median of each value of a closed row and its two
// neighbours: a single cell that a façade or a shrub has raised stands out along
// an outline, the land does not.
func steady(v []float64) []float64 {
	out := make([]float64, len(v))
	for i, here := range v {
		before, after := v[(i+len(v)-1)%len(v)], v[(i+1)%len(v)]
		out[i] = max(min(before, here), min(max(before, here), after))
	}
	return out
}

// Returns that stand on a roof lie well inside its outline, and no more than
// so many metres above the roof: higher than chimneys and plant, lower than
// cranes and wires.
const (
	standingInside = 0.5
	standingMost   = 4.0
)

// highest returns the elevation of the highest return from the roof and what
// stands on it. Where vegetation is about, only roof returns count.
func (d *drawing) highest(hag []float32) float64 {
	b := d.shape.block
	top := math.Inf(-1)
	for _, i := range d.shape.points {
		top = max(top, b.Points[i].Up())
	}
	if slices.Contains(d.reasons, vector.ReviewVegetation) {
		return top
	}
	inside := local(b.Frame, d.footprint.Polygon)
	for i := range b.In(d.shape.roofBounds()) {
		p := &b.Points[i]
		if !(p.Up() > top) || !(hag[i] > adoptHeight) {
			continue
		}
		at := orb.Point{p.East(), p.North()}
		if z, ok := d.shape.height(at[0], at[1]); !ok || p.Up() > z+standingMost || !planar.PolygonContains(inside, at) {
			continue
		}
		if fromEdge(inside, at) >= standingInside {
			top = p.Up()
		}
	}
	return top
}

// fromEdge returns the distance of a place from the rings of a polygon.
func fromEdge(p orb.Polygon, at orb.Point) float64 {
	least := math.Inf(1)
	for _, ring := range p {
		least = min(least, planar.DistanceFrom(orb.LineString(ring), at))
	}
	return least
}
