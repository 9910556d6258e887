package extract

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"quoin/vector"
	"quoin/vector/crs"
	"quoin/vector/imagecheck"
	"quoin/vector/orthophoto"
	"quoin/vector/plate"
)

// checkImage measures how the footprints lie on the orthophoto that was given.
func (j *job) checkImage(ctx context.Context) error {
	if j.o.Ortho == "" || len(j.delivery.Footprints) == 0 {
		return nil
	}
	j.o.Progress.Start("image check", 0)
	l := orthophoto.Layer{CRS: j.crs}
	for _, f := range j.delivery.Footprints {
		l.Edges = append(l.Edges, edgesOf(f, j.crs.Vertical)...)
	}
	o := orthophoto.Options{Assumed: j.crs, AllowBallpark: j.o.AcceptBallpark}
	r, operation, err := orthophoto.Check(ctx, j.o.Ortho, l, o, imagecheck.Options{SameCloud: j.o.SameCloud})
	if errors.Is(err, imagecheck.ErrNothingSeen) || errors.Is(err, crs.ErrBallpark) {
		j.record.warn(j.o, fmt.Sprintf("the footprints were not checked on the image: %v", err))
		return nil
	}
	if err != nil {
		return err
	}
	if operation.Name != "" {
		j.tellImage(operation.Null, operation.Ballpark)
	}
	j.image, j.delivery.ImageChecks = r, r.Rows()
	short := *r
	short.Edges = nil // they are in the layer sides, and many
	j.record.Image = &short
	j.record.imageLine = r.Line(j.crs.Horizontal)
	return nil
}

// seenOf returns where the orthophoto has the edges of a building; nil when none was
// given.
func (j *job) seenOf(id string) (seen []plate.ImageEdge) {
	if j.image == nil {
		return nil
	}
	for _, e := range j.image.Edges {
		if e.Building != id || math.IsNaN(float64(e.Offset)) {
			continue
		}
		length := func(m imagecheck.Metres) float64 { return float64(m) / j.image.Unit }
		seen = append(seen, plate.ImageEdge{
			From: e.From, To: e.To, Offset: length(e.Offset), Residual: length(e.Offset - e.Expected),
			Sigma: length(e.Sigma), Pixel: length(j.image.PixelM),
		})
	}
	return seen
}

// tellImage warns of what limits a comparison over CRSs.
func (j *job) tellImage(null, ballpark bool) {
	switch {
	case ballpark:
		j.record.warn(j.o, "the shift of the image may be one of the CRSs: nothing is known of how their datums lie")
	case null:
		j.record.warn(j.o, "the shift of the image may be one of the CRSs: their datums are taken for the same, to a metre or two")
	}
}

// edgesOf returns the edges of a footprint with their heights above ground, from
// the corners at both ends.
func edgesOf(f vector.Footprint, vertical vector.Unit) []imagecheck.Edge {
	edges := imagecheck.EdgesOf(f.ID, f.Polygon, f.EaveHeight*vertical.Metres)
	elevation := map[[2]int]float64{}
	count := map[int]int{}
	for _, c := range f.Corners {
		elevation[[2]int{c.Ring, c.Vertex}] = c.Elevation
		count[c.Ring]++
	}
	for i := range edges {
		e := &edges[i]
		a, known := elevation[[2]int{e.Ring, e.Number}]
		b, knownToo := elevation[[2]int{e.Ring, (e.Number + 1) % max(count[e.Ring], 1)}]
		if h := ((a+b)/2 - f.GroundElevation) * vertical.Metres; known && knownToo && h == h { // not NaN
			e.Height = h
		}
		e.Heights = heightsAlong(f, *e, vertical)
	}
	return edges
}

// heightsAlong returns how high above ground the roof is along an edge, by the
// planes of its parts: a verge rises to the ridge. Nil where the parts do not reach
// all along it.
func heightsAlong(f vector.Footprint, e imagecheck.Edge, vertical vector.Unit) []float64 {
	const places = 24
	dx, dy := e.To[0]-e.From[0], e.To[1]-e.From[1]
	inward := 0.02 // of the length of an edge, so as to be on the part
	inward = min(inward, 0.05/math.Hypot(dx, dy))
	var heights []float64
	for i := range places + 1 {
		along := 0.01 + 0.98*float64(i)/places
		p := orb.Point{e.From[0] + along*dx - inward*dy, e.From[1] + along*dy + inward*dx}
		k := slices.IndexFunc(f.Parts, func(r vector.RoofPart) bool { return planar.PolygonContains(r.Polygon, p) })
		if k < 0 {
			return nil
		}
		r := f.Parts[k]
		z := r.Elevation + r.Gradient[0]*(p[0]-r.Origin[0]) + r.Gradient[1]*(p[1]-r.Origin[1])
		heights = append(heights, (z-f.GroundElevation)*vertical.Metres)
	}
	return heights
}
