package extract

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"github.com/paulmach/orb"

	"quoin/extract/cloud"
	"quoin/extract/outline"
	"quoin/extract/roof"
	"quoin/vector"
	"quoin/vector/reliability"
)

// outlines draws every building and brings the outlines together.
func (j *job) outlines(ctx context.Context) error {
	s := &surroundings{
		block: j.block, measures: j.cloud.Measures, path: j.cloud.Trajectory, headings: headingsOf(j.cloud.Report.Swaths),
		roofOf: j.roofs.of, hag: j.hag,
	}
	all := make([]*drawing, len(j.roofs.buildings))
	j.o.Progress.Start("outlines", int64(6*len(all)+min(len(all), noiseSample)))
	err := each(ctx, j.o, len(all), func(i int) error {
		b := j.roofs.buildings[i]
		all[i] = &drawing{
			number: int32(i), reasons: slices.DeleteFunc(slices.Clone(b.Reasons), seenBetter),
			shape: newRoofShape(j.block, b.Roof, s.measures, s.margin()).kept(),
		}
		return nil
	})
	if err != nil {
		return err
	}
	if err := s.adopt(ctx, all, j.o); err != nil {
		return err
	}
	for _, d := range all {
		d.footprint.ID = buildingID(j.crs, j.block.Frame, d.shape)
	}
	pulses, disagreement, err := draw(ctx, s, all, j.o)
	if err != nil {
		return err
	}
	m := pulses.block
	pulses.tell(j.cloud.Report.Swaths)
	j.judgePulses(m)
	j.cloud.Measures.Sigma, j.cloud.Measures.Beam = m.Sigma, m.Beam
	j.disagreement = disagreement
	j.o.Log.Info("measured at roof edges", "swath_disagreement_m", round(disagreement, 4), "sigma_m", round(m.Sigma, 4), "beam_half_width_m", round(m.Beam, 4))
	j.drawn = j.sort(all)
	if err := settle(j.drawn, j.block.Frame, j.cloud.Measures); err != nil {
		return err
	}
	s.measures.Sigma = m.Sigma
	if err := each(ctx, j.o, len(j.drawn), j.describeRoof); err != nil {
		return err
	}
	return j.publish(ctx, s)
}

// describeRoof finds the form of one roof.
func (j *job) describeRoof(i int) error {
	d := j.drawn[i]
	if d.footprint.Polygon == nil {
		return nil
	}
	defer d.shape.rest()
	return d.describe(j.roofs.buildings[d.number], j.block.Frame, j.cloud.Measures)
}

// judgePulses warns where split pulses can't be told from others.
func (j *job) judgePulses(m outline.Measures) {
	if !m.SplitsMerged {
		return
	}
	j.record.warn(j.o, fmt.Sprintf("the cloud has no GPS time or no return numbers, so that pulses which meet a roof's edge can't be told: the beam is taken to be %.2f m wide, by which edges lie too far out or in if it is not, and corners are up to 1.4 times less precise", 2*m.Beam))
}

// seenBetter reports whether a reason of the roof stage is settled here, with
// the rays of the pulses at hand.
func seenBetter(r vector.Reason) bool { return r == vector.ReviewOpenRoof }

// sort sets those aside that no outline came of, and orders the rest by name.
func (j *job) sort(all []*drawing) []*drawing {
	var drawn []*drawing
	for i, d := range all {
		if d.failed != nil {
			j.record.warn(j.o, fmt.Sprintf("no outline for what stands at %v: %v", j.block.Frame.ToCRS(d.shape.middle()), d.failed))
			b := j.roofs.buildings[i]
			j.roofs.held = append(j.roofs.held, held{
				polygon: box(j.block.Frame, d.shape.roofBounds()), reason: vector.HeldNoOutline,
				height: b.RidgeHeight, area: b.Area, points: len(b.Roof),
			})
			continue
		}
		drawn = append(drawn, d)
	}
	slices.SortFunc(drawn, func(a, b *drawing) int { return cmp.Compare(a.footprint.ID, b.footprint.ID) })
	return drawn
}

// publish makes the delivery's features.
func (j *job) publish(ctx context.Context, s *surroundings) error {
	edge := newExtent(j.block)
	err := each(ctx, j.o, len(j.drawn), func(i int) error {
		d := j.drawn[i]
		defer d.shape.rest()
		if d.footprint.Polygon == nil {
			return nil
		}
		if edge.cuts(d.plan.rings[0].Vertices) {
			d.reasons = append(d.reasons, vector.ReviewAtBlockEdge)
		}
		d.finish(j.terrain, j.hag, j.block.Frame)
		d.walls(s)
		d.footprint.Quality = reliability.Quality(d.footprint, s.measures.Spacing/j.block.Frame.Horizontal)
		return nil
	})
	if err != nil {
		return err
	}
	for _, d := range j.drawn {
		if d.footprint.Polygon == nil {
			j.record.warn(j.o, fmt.Sprintf("%s lies wholly within another outline and was left out", d.footprint.ID))
			continue
		}
		j.delivery.Footprints = append(j.delivery.Footprints, d.footprint)
	}
	cell := roof.CellSize(j.cloud.Measures) / j.block.Frame.Horizontal
	j.delivery.HeldBack = heldBack(j.block.Frame, withoutRims(j.roofs.held, j.delivery.Footprints, cell))
	return nil
}

// box returns a rectangle as a polygon in CRS units.
func box(frame cloud.Frame, r cloud.Rect) orb.Polygon {
	a, b, c, d := frame.ToCRS(r.MinX, r.MinY), frame.ToCRS(r.MaxX, r.MinY), frame.ToCRS(r.MaxX, r.MaxY), frame.ToCRS(r.MinX, r.MaxY)
	return orb.Polygon{{a, b, c, d, a}}
}
