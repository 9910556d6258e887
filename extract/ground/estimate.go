// Package ground finds the terrain under a cloud: the surface, where it is
// only interpolated, the height of every point above it, and which points lie
// on it.
//
// The way: lowest points of cells, freed of low outliers (lowest.go,
// outlier.go); regions that stand above all that surrounds them (raised.go);
// a triangulated surface grown from seeds no raised region can hold
// (delaunay.go, densify.go); a progressive opening of what is left above it
// (opening.go); a robust refit in the fine cells (refit.go). docs/ground.md
// gives the reasons and the measured errors.
//
// Lengths are metres. All functions are pure: they change no argument, may be
// called at the same time, and their results do not depend on the order of
// points.
package ground

import (
	"quoin/extract/cloud"
)

// A Surface is the terrain of a core.
type Surface struct {
	// Z is the elevation at the cells' centres in metres; NaN only where no
	// point lies within the halo.
	Z *cloud.Raster[float32]
	// Interpolated tells which cells have no ground point near.
	Interpolated *cloud.Raster[bool]
}

// Estimate returns the terrain of the cells that a core touches. It depends on
// the points within the halo about the core and on nothing else.
//
// Without points in the halo all of Z is NaN. It fails only on options out of
// range. Time O(points + cells), memory about 110 bytes a cell of core and
// halo.
func Estimate(b *cloud.Block, core cloud.Rect, o Options) (*Surface, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	out := newSurface(cloud.NewGrid(core, o.Cell))
	box := window(b, core.Pad(o.Halo))
	if box.Empty() || out.Z.Len() == 0 {
		return out, nil
	}
	low := lowestPoints(b, cloud.NewGrid(box, o.Cell))
	if low.empty() {
		return out, nil
	}
	dropOutliers(low, o.LowDrop)
	rough := roughTerrain(b, low, o)
	part := cloud.NewGrid(core.Pad(refitMargin).Intersect(box), o.Cell)
	if part.Len() == 0 {
		part = low.Grid // the core lies beside the data
	}
	fit := newRefit(b, low, rough, part, o)
	fit.settle()
	fit.centre(b)
	fit.write(out)
	return out, nil
}

// newSurface returns a surface that knows nothing.
func newSurface(g cloud.Grid) *Surface {
	s := &Surface{cloud.NewRaster[float32](g), cloud.NewRaster[bool](g)}
	for i := range s.Z.Values {
		s.Z.Values[i] = nan32
		s.Interpolated.Values[i] = true
	}
	return s
}

// roughTerrain returns the terrain of a window in middle cells: the facets'
// trend, mended by two openings of what is above it. The first takes off what
// the facets climbed (vehicles, shrubs) and mends the trend, so that the
// second, with its large radii, works on heights above a better one.
func roughTerrain(b *cloud.Block, low *lowest, o Options) *roughly {
	mid := low.gather(int(o.middle() / o.Cell))
	parts, width := findRegions(mid, o.StepHeight, o.MaxWindow)
	side := o.windowFor(width)
	where := &standing{parts, newLocator(mid.Grid), mid.Cell}
	t := newTerrain(b, low.gather(int(coarse/o.Cell)), where, side, o)
	t.climb(mid, parts, o)
	trend := smooth(layer{mid.Rows, mid.Cols, t.raster(mid.Grid)}, int(trendRadius/mid.Cell))
	var above layer
	for _, radius := range [2]float64{min(firstRadius, o.OpeningRadius), o.OpeningRadius} {
		above = mend(trend, mid.above(b, trend), parts, radius, o)
	}
	trend = span(trend, above)
	out := &roughly{cloud.Raster[float32]{Grid: mid.Grid, Values: trend.v}, make([]bool, mid.Len())}
	for i := range out.raised {
		out.raised[i] = parts.isRaised(i)
	}
	return out
}

// roughly is a window's terrain in middle cells, and which of them lie in
// raised regions.
type roughly struct {
	cloud.Raster[float32]
	raised []bool
}

const (
	// trendRadius is half the width, in metres, over which facets are averaged.
	trendRadius = 1
	// firstRadius is the largest radius, in metres, of the first opening: wide
	// enough for a vehicle.
	firstRadius = 6
	// mendMost is how far, in metres, terrain may stand above the facets. They
	// come nearer than that to any ground that has a way up to it; a roof wider
	// than the first opening would be mended into the trend.
	mendMost = 1.8
)

// above returns how far the lowest points lie above a trend, each where it is:
// on a slope that is not the middle of its cell. NaN where there is none.
func (l *lowest) above(b *cloud.Block, trend layer) layer {
	surface := &cloud.Raster[float32]{Grid: l.Grid, Values: trend.v}
	out := layer{l.Rows, l.Cols, make([]float32, l.Len())}
	for i, z := range l.z {
		out.v[i] = nan32
		if z == z {
			p := &b.Points[l.index[i]]
			out.v[i] = z - float32(cloud.Bilinear(surface, p.East(), p.North()))
		}
	}
	return out
}

// mend adds to a trend what the cells that no opening takes for objects lie
// above or below it, and returns that: NaN in other cells.
func mend(trend, above layer, parts *regions, radius float64, o Options) layer {
	object := opened(fill(above), parts.cell, radius, o.OpeningSlope)
	for i := range above.v {
		if object[i] || parts.isRaised(i) || float64(above.v[i]) > mendMost {
			above.v[i] = nan32
		}
	}
	for i, v := range smooth(fill(above), 1).v {
		trend.v[i] += v
	}
	return above
}

// span returns a trend with its gaps spanned anew by a membrane: the facets
// across them have the folds of what happens to lie at their corners. The
// window's edge is kept as it is, since there the facets follow the slope and
// a membrane would run out level.
func span(trend, known layer) layer {
	out := layer{trend.rows, trend.cols, make([]float32, len(trend.v))}
	for i, v := range trend.v {
		row, col := i/trend.cols, i%trend.cols
		edge := row == 0 || col == 0 || row == trend.rows-1 || col == trend.cols-1
		if out.v[i] = nan32; edge || known.v[i] == known.v[i] {
			out.v[i] = v
		}
	}
	return fill(out)
}
