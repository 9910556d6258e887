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
// range. Time O(points + cells), memory about 100 bytes a cell of core and
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
	base := roughTerrain(b, low, o)
	part := cloud.NewGrid(core.Pad(refitMargin).Intersect(box), o.Cell)
	if part.Len() == 0 {
		part = low.Grid // the core lies beside the data
	}
	fit := newRefit(low, base, part, o)
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
func roughTerrain(b *cloud.Block, low *lowest, o Options) *cloud.Raster[float32] {
	mid := low.gather(int(o.middle() / o.Cell))
	parts, width := findRegions(mid, o.StepHeight, o.MaxWindow)
	side := min(max(1.2*width+10, o.MinWindow), o.MaxWindow)
	at := newLocator(mid.Grid)
	raised := func(i int) bool { return parts.isRaised(at.of(&b.Points[i])) }
	t := newTerrain(b, low.gather(int(coarse/o.Cell)), raised, side, o)
	trend := smooth(layer{mid.Rows, mid.Cols, t.raster(mid.Grid)}, int(trendRadius/mid.Cell))
	for _, radius := range [2]float64{min(6, o.OpeningRadius), o.OpeningRadius} {
		mend(trend, mid, parts, radius, o)
	}
	return &cloud.Raster[float32]{Grid: mid.Grid, Values: trend.v}
}

// trendRadius is half the width, in metres, over which facets are averaged.
const trendRadius = 2

// mend adds to a trend what the cells that no opening takes for objects lie
// above or below it.
func mend(trend layer, mid *lowest, parts *regions, radius float64, o Options) {
	above := layer{mid.Rows, mid.Cols, make([]float32, mid.Len())}
	for i, z := range mid.z {
		above.v[i] = z - trend.v[i]
	}
	object := opened(fill(above), mid.Cell, radius, o.OpeningSlope)
	for i := range above.v {
		if object[i] || parts.isRaised(i) {
			above.v[i] = nan32
		}
	}
	for i, v := range smooth(fill(above), 1).v {
		trend.v[i] += v
	}
}
