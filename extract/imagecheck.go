package extract

import (
	"context"
	"errors"
	"fmt"

	"quoin/vector"
	"quoin/vector/crs"
	"quoin/vector/imagecheck"
	"quoin/vector/orthophoto"
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
	}
	return edges
}
