package accuracy

import (
	"math"

	"quoin/vector"
)

// A Summary pools blocks into the figures of a table row. Lengths are metres;
// a figure is NaN where nothing was there to measure.
type Summary struct {
	Blocks int
	// Classes are the counts of objects by size, in the order of SizeClasses.
	Classes []Detection
	// Area are the shares of area: common over reference, over delivered, and
	// over both together.
	AreaCompleteness, AreaCorrectness, AreaQuality float64
	// Merged and Divided are as in Block.
	Merged, Divided Share
	Shape           Shape
	Corners         CornerFigures
	// Extended are the corners' figures for those stated as extended,
	// Adjusted for the others.
	Adjusted, Extended CornerFigures
	// Seen are the corners of which both sides are seen from above over 95 %
	// of their length or more, Hidden the others. Seen corners that turn by
	// less than 45 degrees are Blunt: how well their place along the wall can
	// be told falls with the sine of that.
	Seen, Blunt, Hidden CornerFigures
	// AdjustedShare is the share of matched corners stated as adjusted.
	AdjustedShare Share
	// CornerCompleteness is the share of the reference's corners that were
	// matched, CornerCorrectness that of the delivered ones of paired
	// buildings.
	CornerCompleteness, CornerCorrectness Share
	// GrossUnflagged is Corners.Gross of outlines that give no reason for a
	// look, extra corners left out.
	GrossUnflagged Share
	// Exact is the share of pairs with the exact topology.
	Exact      Share
	Offsets    OffsetFigures
	Invalid    int
	Overlaps   int
	PartyWalls PartyWallFigures
	Walls      WallFigures
	// Ground, Eave, Ridge and CornerUp are errors of elevation.
	Ground, Eave, Ridge, CornerUp Errors
	// LowestGround, HighestGround and HighestPoint are, too.
	LowestGround, HighestGround, HighestPoint Errors
	// Roofs tells how often the type of the roof is right, by the true type, of
	// pairs of which it is known.
	Roofs       []RoofShare
	Reliability []Reliability
}

// Shape holds means over pairs.
type Shape struct {
	N                                  int
	IoU, BoundaryIoU, PoLiS, Hausdorff float64
}

// CornerFigures describe the errors of matched corners.
type CornerFigures struct {
	N int
	// RMSE is the radial root mean square error; Shifted that after the
	// blocks' shift is taken off, where it is known. InSpacings and
	// ShiftedInSpacings are the same with each error over its block's spacing.
	RMSE, Shifted, InSpacings, ShiftedInSpacings float64
	// MedianInSpacings is the median of the errors over the spacing, the shift
	// taken off. Where errors are normal and alike in all directions, RMSE is
	// 1.20 times that; where it is more, few corners make it.
	MedianInSpacings float64
	// East and North are the mean errors.
	East, North float64
	// Gross is the share of corners farther off, after the shift, than
	// max(2 spacings, 10 cm).
	Gross Share
	// NEES is the mean normalised squared error over 2 after the shift is
	// taken off, which is 1 where stated errors are true, and Median its
	// median over that of the distribution. Cover is the share within the 95 %
	// ellipse, CoverRaw that with the shift left in.
	NEES, Median    float64
	Cover, CoverRaw Share
}

// OffsetFigures describe how far outward the delivered sides lie.
type OffsetFigures struct {
	N         int
	Bias, RMS float64
	// Shifted is the RMS after the blocks' shift is taken off.
	Shifted float64
	// BiasInSpacings is the mean of offset over spacing.
	BiasInSpacings float64
	// Turn is the RMS direction error in degrees.
	Turn float64
}

// PartyWallFigures describe what became of shared walls.
type PartyWallFigures struct {
	// Split is the share of walls, of buildings found, whose buildings were
	// told apart; Shared that of split ones that both outlines share to the
	// bit. Gap is the widest gap.
	Split, Shared Share
	Gap           float64
}

// Errors describe differences, delivered less true.
type Errors struct {
	N               int
	Bias, RMS, Most float64
}

// Reliability tells for a range of stated quality how many are right.
type Reliability struct {
	Low, High float64
	Right     Share
}

// Summarise pools blocks.
func Summarise(blocks []Block) Summary {
	s := Summary{Blocks: len(blocks), Classes: detections(blocks)}
	var reference, delivered, common float64
	for _, b := range blocks {
		reference, delivered, common = reference+b.ReferenceArea, delivered+b.DeliveredArea, common+b.CommonArea
		s.Merged, s.Divided = s.Merged.Plus(b.Merged), s.Divided.Plus(b.Divided)
		s.Invalid, s.Overlaps = s.Invalid+b.Invalid, s.Overlaps+b.Overlaps
	}
	s.AreaCompleteness, s.AreaCorrectness = common/reference, common/delivered
	s.AreaQuality = common / (reference + delivered - common)
	s.shapes(blocks)
	s.corners(blocks)
	s.offsets(blocks)
	s.partyWalls(blocks)
	s.walls(blocks)
	s.elevations(blocks)
	s.roofs(blocks)
	s.reliability(blocks)
	return s
}

// pairs calls f for every pair with its block.
func pairs(blocks []Block, f func(*Block, *Pair)) {
	for i := range blocks {
		for k := range blocks[i].Pairs {
			f(&blocks[i], &blocks[i].Pairs[k])
		}
	}
}

func (s *Summary) shapes(blocks []Block) {
	var iou, edge, polis, far []float64
	pairs(blocks, func(_ *Block, p *Pair) {
		iou, edge = append(iou, p.IoU), append(edge, p.BoundaryIoU)
		polis, far = append(polis, p.PoLiS), append(far, p.Hausdorff)
		s.Exact.add(p.Exact)
	})
	s.Shape = Shape{len(iou), mean(iou), mean(edge), mean(polis), mean(far)}
}

func (s *Summary) offsets(blocks []Block) {
	var raw, shifted, inSpacings, turns []float64
	pairs(blocks, func(b *Block, p *Pair) {
		for _, e := range p.Sides {
			raw, inSpacings = append(raw, e.Offset), append(inSpacings, e.Offset/b.Spacing)
			if b.Shifted {
				shifted = append(shifted, e.Shifted)
			}
			if !math.IsNaN(e.Turn) {
				turns = append(turns, e.Turn)
			}
		}
	})
	s.Offsets = OffsetFigures{
		len(raw), mean(raw), rootMeanSquare(raw), rootMeanSquare(shifted),
		mean(inSpacings), rootMeanSquare(turns),
	}
}

func (s *Summary) partyWalls(blocks []Block) {
	for _, b := range blocks {
		for _, w := range b.PartyWalls {
			if w.Found {
				s.PartyWalls.Split.add(w.Split)
			}
			if w.Split {
				s.PartyWalls.Shared.add(w.Shared)
			}
			if w.Gap > s.PartyWalls.Gap {
				s.PartyWalls.Gap = w.Gap
			}
		}
	}
}

func (s *Summary) elevations(blocks []Block) {
	var ground, eave, ridge, corner, low, high, top []float64
	pairs(blocks, func(_ *Block, p *Pair) {
		ground, eave, ridge = append(ground, p.Ground), append(eave, p.Eave), append(ridge, p.Ridge)
		low, high, top = append(low, p.LowestGround), append(high, p.HighestGround), append(top, p.HighestPoint)
		for _, c := range p.Corners {
			corner = append(corner, c.Up)
		}
	})
	s.Ground, s.Eave, s.Ridge, s.CornerUp = errorsOf(ground), errorsOf(eave), errorsOf(ridge), errorsOf(corner)
	s.LowestGround, s.HighestGround, s.HighestPoint = errorsOf(low), errorsOf(high), errorsOf(top)
}

// errorsOf describes the differences that are known.
func errorsOf(v []float64) Errors {
	var known []float64
	most := 0.0
	for _, x := range v {
		if !math.IsNaN(x) {
			known, most = append(known, x), max(most, math.Abs(x))
		}
	}
	return Errors{len(known), mean(known), rootMeanSquare(known), most}
}

// reliability counts what is right by ranges of stated quality. A footprint that
// is none of a pair is wrong: it holds several buildings, a part of one, or
// none.
func (s *Summary) reliability(blocks []Block) {
	limits := []float64{0, 0.5, 0.7, 0.8, 0.9, 0.95, math.Nextafter(1, 2)}
	for i := range len(limits) - 1 {
		s.Reliability = append(s.Reliability, Reliability{Low: limits[i], High: min(1, limits[i+1])})
	}
	for _, b := range blocks {
		right := make(map[int]bool)
		for _, p := range b.Pairs {
			right[p.Delivered] = p.Right
		}
		for _, f := range b.Delivered {
			for i := range s.Reliability {
				if f.Quality >= limits[i] && f.Quality < limits[i+1] {
					s.Reliability[i].Right.add(right[f.Index])
				}
			}
		}
	}
}

// seenShare is the visible share of a side from which it counts as seen.
const seenShare = 0.95

func (s *Summary) corners(blocks []Block) {
	var all, adjusted, extended, seen, blunt, hidden cornerPool
	for i := range blocks {
		b := &blocks[i]
		s.CornerCompleteness.N += b.Corners
		for _, p := range b.Pairs {
			s.CornerCompleteness.Count += len(p.Corners)
			s.CornerCorrectness = s.CornerCorrectness.Plus(Share{len(p.Corners), len(p.Corners) + len(p.Extra)})
			for _, c := range p.Corners {
				all.add(b, c)
				if len(p.Review) == 0 {
					s.GrossUnflagged.add(b.gross(c))
				}
				switch {
				case c.Visible < seenShare:
					hidden.add(b, c)
				case c.Bend < 45:
					blunt.add(b, c)
				default:
					seen.add(b, c)
				}
				s.AdjustedShare.add(c.Kind == vector.Adjusted)
				if c.Kind == vector.Adjusted {
					adjusted.add(b, c)
				} else {
					extended.add(b, c)
				}
			}
		}
	}
	s.Corners, s.Adjusted, s.Extended = all.figures(), adjusted.figures(), extended.figures()
	s.Seen, s.Blunt, s.Hidden = seen.figures(), blunt.figures(), hidden.figures()
}
