package extract

import (
	"context"
	"slices"

	"github.com/paulmach/orb"

	"quoin/extract/cloud"
	"quoin/extract/roof"
	"quoin/vector"
	"quoin/vector/scratch"
)

// roofs are what the roof stage found in the block.
type roofs struct {
	// of is the building that each point is a roof return of; -1 for none.
	of        []int32
	buildings []roof.Building
	held      []held
}

// held is something above ground that was not taken for a building; lengths
// in metres, the polygon in CRS units.
type held struct {
	polygon      orb.Polygon
	reason       vector.Reason
	height, area float64
	points       int
}

// findRoofs describes points unit by unit, joins roof-like cells to clusters
// over the whole block, and takes the clusters apart one by one.
func (j *job) findRoofs(ctx context.Context) error {
	b, m, units := j.block, j.cloud.Measures, j.block.Units()
	store := b.Store.Branch() // what is known of single points is needed here only
	defer store.Close()
	features, err := scratch.Array[roof.Feature](store, b.Len())
	if err != nil {
		return err
	}
	cells, others := make([][]roof.Run, len(units)), make([][]roof.Run, len(units))
	j.o.Progress.Start("roofs", int64(2*len(units)))
	err = each(ctx, j.o, len(units), func(i int) error {
		roof.Describe(b, j.hag, units[i], m, features)
		return nil
	})
	if err != nil {
		return err
	}
	err = each(ctx, j.o, len(units), func(i int) error {
		cells[i], others[i] = roof.Mask(b, j.hag, features, units[i], m)
		return nil
	})
	if err != nil {
		return err
	}
	clusters := roof.Gather(flatten(cells), m)
	j.o.Progress.Done()
	work := j.roofWork()
	parts, err := j.segment(ctx, clusters, features, store)
	if err != nil {
		return err
	}
	roof.ClearYards(parts, work)
	if err := j.evidence(features, parts); err != nil {
		return err
	}
	if j.roofs, err = collect(b, parts, m); err != nil {
		return err
	}
	j.roofs.vegetation(b, j.hag, roof.Gather(flatten(others), m), work)
	return nil
}

// roofWork is what governs the work on clusters.
func (j *job) roofWork() roof.Work {
	work := roof.Work{Measures: j.cloud.Measures, Options: roof.DefaultOptions()}
	work.Options.MinArea = j.o.MinArea
	work.Options.SplitParts = j.o.Parts == SplitParts
	work.Options.KeepVehicleLike = slices.Contains(j.o.Deliver, vector.ReviewVehicleLike)
	work.Options.KeepTentLike = slices.Contains(j.o.Deliver, vector.ReviewTentLike)
	return work
}

// segment takes clusters apart. What is found of single points goes to the
// block's store, or to that for this stage.
func (j *job) segment(ctx context.Context, clusters []roof.Cluster, features []roof.Feature, stage *scratch.Store) ([]roof.Segmentation, error) {
	work := j.roofWork()
	j.o.Progress.Start("buildings", int64(len(clusters)))
	parts := make([]roof.Segmentation, len(clusters))
	need := func(i int) (string, int64) {
		c := &clusters[i]
		return "what stands on " + place(j.block.Frame, c.Bounds), c.Memory(j.block, work.Measures)
	}
	err := eachWithin(ctx, j.o, len(clusters), need, func(i int) error {
		part := roof.Segment(j.block, j.hag, features, clusters[i], work)
		part.Points, part.Kinds, part.Of = scratch.Copy(stage, part.Points), scratch.Copy(stage, part.Kinds), scratch.Copy(stage, part.Of)
		for k := range part.Buildings {
			b := &part.Buildings[k]
			b.Roof, b.Surface = scratch.Copy(j.block.Store, b.Roof), scratch.Copy(j.block.Store, b.Surface)
		}
		parts[i] = part
		return nil
	})
	return parts, err
}

func flatten(lists [][]roof.Run) []roof.Run {
	var all []roof.Run
	for _, l := range lists {
		all = append(all, l...)
	}
	return all
}

// collect numbers the buildings of all clusters and tells for each point which
// one it is on.
func collect(b *cloud.Block, parts []roof.Segmentation, m cloud.Measures) (r roofs, err error) {
	if r.of, err = scratch.Array[int32](b.Store, b.Len()); err != nil {
		return r, err
	}
	for i := range r.of {
		r.of[i] = -1
	}
	for _, part := range parts {
		for _, building := range part.Buildings {
			for _, i := range building.Roof {
				r.of[i] = int32(len(r.buildings))
			}
			r.buildings = append(r.buildings, building)
		}
		for _, h := range part.Held {
			r.hold(b.Frame, h, m)
		}
	}
	return r, nil
}

// hold adds something that was held back, in as many polygons as it has parts.
func (r *roofs) hold(frame cloud.Frame, h roof.Held, m cloud.Measures) {
	for i, p := range trace(frame, h.Cells, roof.CellSize(m)) {
		part := held{polygon: p, reason: h.Reason, height: h.Height, area: h.Area}
		if i == 0 {
			part.points = h.Points
		}
		r.held = append(r.held, part)
	}
}

// vegetation holds back what stands above ground in cells where no roof-like
// points prevail, from the smallest area that would be a building.
func (r *roofs) vegetation(b *cloud.Block, hag []float32, others []roof.Cluster, w roof.Work) {
	size := roof.CellSize(w.Measures)
	for _, c := range others {
		h := roof.Held{Reason: vector.HeldVegetation}
		for _, run := range c.Runs {
			for col := run.Lo; col < run.Hi; col++ {
				h.Cells = append(h.Cells, roof.Cell{Row: run.Row, Col: col})
			}
		}
		h.Area = float64(len(h.Cells)) * size * size
		if h.Area < w.Options.MinArea {
			continue
		}
		var heights []float64
		for _, run := range c.Runs {
			for i := range b.In(cloud.Rect{
				MinX: float64(run.Lo) * size, MinY: float64(run.Row) * size,
				MaxX: float64(run.Hi) * size, MaxY: float64(run.Row+1) * size,
			}) {
				if hag[i] >= standing && r.of[i] < 0 {
					heights = append(heights, float64(hag[i]))
				}
			}
		}
		h.Points = len(heights)
		h.Height = quantile(heights, 0.5)
		r.hold(b.Frame, h, w.Measures)
	}
}

// standing is the height above ground, in metres, from which a point stands
// for something to hold back.
const standing = 2
