package accuracy

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/topology"
)

// Options say by what measure a block is scored.
type Options struct {
	// Spacing is that of the cloud, 1/√density, in metres.
	Spacing float64
}

// gate returns the distance up to which two corners can be the same one.
// The estimator's error is a fraction of the spacing; what is farther off is a
// corner missed and another one too many.
func (o Options) gate() float64 { return max(1, 3*o.Spacing) }

// Score compares the delivered footprints of one block with the reference.
// Delivered outlines that are not valid are counted and score nothing else. It
// returns an error when the reference is not valid. Nothing given is changed.
func Score(reference []Building, delivered []vector.Footprint, o Options) (Block, error) {
	for _, b := range reference {
		if err := topology.Validate(b.Polygon); err != nil {
			return Block{}, fmt.Errorf("accuracy: score: reference building %s: %w", b.ID, err)
		}
	}
	m := &matching{options: o, reference: reference, delivered: delivered}
	m.block.Spacing = o.Spacing
	steps := []func() error{m.cover, m.pairUp, m.overlaps}
	for _, step := range steps {
		if err := step(); err != nil {
			return Block{}, fmt.Errorf("accuracy: score: %w", err)
		}
	}
	m.takeShift()
	m.partyWalls()
	return m.block, nil
}

// matching is the state of a Score.
type matching struct {
	options   Options
	reference []Building
	delivered []vector.Footprint
	valid     []bool // of the delivered
	common    []overlap
	block     Block
	pairOf    map[int]int // index of the pair, by index of the building
}

// An overlap is the common area of a building and a footprint.
type overlap struct {
	building, footprint int
	area                float64
}

// cover finds the overlaps and judges the objects of both layers.
func (m *matching) cover() error {
	m.valid = make([]bool, len(m.delivered))
	for j, f := range m.delivered {
		if m.valid[j] = topology.Validate(f.Polygon) == nil; !m.valid[j] {
			m.block.Invalid++
		}
	}
	for i, b := range m.reference {
		for j, f := range m.delivered {
			if !m.valid[j] {
				continue
			}
			area, err := areaOf(b.Polygon, f.Polygon)
			if err != nil {
				return fmt.Errorf("building %s and footprint %s: %w", b.ID, f.ID, err)
			}
			if area > 0 {
				m.common = append(m.common, overlap{i, j, area})
			}
		}
	}
	m.judgeObjects()
	m.judgeNumbers()
	return nil
}

// judgeNumbers counts the footprints that are several buildings and the
// buildings that are several footprints.
func (m *matching) judgeNumbers() {
	holds, parts := make([]int, len(m.delivered)), make([]int, len(m.reference))
	ofIgnored := make([]bool, len(m.delivered))
	for _, c := range m.common {
		b, f := m.reference[c.building], m.delivered[c.footprint]
		if 2*c.area >= topology.Area(b.Polygon) {
			holds[c.footprint]++
			ofIgnored[c.footprint] = ofIgnored[c.footprint] || b.Ignored
		}
		if 2*c.area >= topology.Area(f.Polygon) && !b.Ignored {
			parts[c.building]++
		}
	}
	for j, n := range holds {
		if n > 0 && !ofIgnored[j] {
			m.block.Merged.add(n > 1)
		}
	}
	for _, n := range parts {
		if n > 0 {
			m.block.Divided.add(n > 1)
		}
	}
}

func (m *matching) judgeObjects() {
	covered := make([]float64, len(m.reference))
	coveredBy, ignored := make([]float64, len(m.delivered)), make([]float64, len(m.delivered))
	for _, c := range m.common {
		covered[c.building] += c.area
		coveredBy[c.footprint] += c.area
		if m.reference[c.building].Ignored {
			ignored[c.footprint] += c.area
		} else {
			m.block.CommonArea += c.area
		}
	}
	for i, b := range m.reference {
		if b.Ignored {
			continue
		}
		area := topology.Area(b.Polygon)
		m.block.ReferenceArea += area
		m.block.Corners += len(b.sharpCorners())
		m.block.Reference = append(m.block.Reference, Object{Index: i, ID: b.ID, Kind: b.Kind, Area: area, Found: covered[i] >= area/2})
	}
	for j, f := range m.delivered {
		area := topology.Area(f.Polygon)
		if !m.valid[j] || ignored[j] >= area/2 {
			continue
		}
		m.block.DeliveredArea += area - ignored[j]
		m.block.Delivered = append(m.block.Delivered, Object{Index: j, ID: f.ID, Area: area, Found: coveredBy[j] >= area/2, Quality: f.Quality})
	}
}

// pairUp scores the pairs: buildings and footprints whose IoU is above one
// half.
func (m *matching) pairUp() error {
	m.pairOf = make(map[int]int)
	for _, c := range m.common {
		b, f := &m.reference[c.building], &m.delivered[c.footprint]
		area := topology.Area(b.Polygon)
		iou := c.area / (area + topology.Area(f.Polygon) - c.area)
		if b.Ignored || iou <= 0.5 {
			continue
		}
		p := Pair{
			Reference: c.building, Delivered: c.footprint, ID: b.ID, Kind: b.Kind, Area: area,
			IoU: iou, PoLiS: PoLiS(b.Polygon, f.Polygon), Hausdorff: Hausdorff(b.Polygon, f.Polygon),
			Quality: f.Quality, Review: f.Review,
			Ground: f.GroundElevation - b.Ground,
			Eave:   f.GroundElevation + f.EaveHeight - b.Eave,
			Ridge:  f.GroundElevation + f.RidgeHeight - b.Ridge,

			LowestGround: f.LowestGround - b.LowestGround, HighestGround: f.HighestGround - b.HighestGround,
			HighestPoint: f.HighestPoint - b.HighestPoint, TrueRoof: b.Roof, Roof: f.Roof.Type,
		}
		var err error
		if p.BoundaryIoU, err = BoundaryIoU(b.Polygon, f.Polygon, band); err != nil {
			return fmt.Errorf("building %s: %w", b.ID, err)
		}
		p.compareCorners(b, f, m.options)
		p.compareSides(b, f, m.options)
		p.compareWalls(b, f)
		m.pairOf[c.building] = len(m.block.Pairs)
		m.block.Pairs = append(m.block.Pairs, p)
	}
	return nil
}

// band is the width of the bands of BoundaryIoU, in metres.
const band = 0.5

// compareCorners matches the corners of both outlines.
func (p *Pair) compareCorners(b *Building, f *vector.Footprint, o Options) {
	truth, all := b.sharpCorners(), cornersOf(f.Polygon)
	var found []corner
	for _, c := range all {
		if !b.besideArc(c, 0) {
			found = append(found, c)
		}
	}
	partner := matchCorners(truth, found, o.gate())
	taken := make([]bool, len(found))
	stated := statedCorners(f)
	p.Right = p.IoU >= 0.9
	for i, t := range truth {
		j := partner[i]
		if j < 0 {
			p.Missing = append(p.Missing, t.at)
			continue
		}
		taken[j] = true
		c := stated[[2]int{found[j].ring, found[j].vertex}]
		corner := Corner{
			At: t.at, Delta: orb.Point{found[j].at[0] - t.at[0], found[j].at[1] - t.at[1]},
			Up: c.Elevation - b.elevation(t), SigmaE: c.SigmaE, SigmaN: c.SigmaN, CovEN: c.CovEN, SigmaU: c.SigmaU,
			Kind: c.Kind, Bend: math.Abs(t.bend) * 180 / math.Pi, Visible: b.visibleAt(t),
		}
		p.Corners = append(p.Corners, corner)
		if c.Kind == vector.Adjusted {
			major, _, _ := c.Axes()
			p.Right = p.Right && math.Hypot(corner.Delta[0], corner.Delta[1]) <= max(3*major, 2*o.Spacing)
		}
	}
	for j, c := range found {
		if !taken[j] && !b.besideArc(c, o.gate()/2) {
			p.Extra = append(p.Extra, c.at)
			p.Right = p.Right && stated[[2]int{c.ring, c.vertex}].Kind != vector.Adjusted
		}
	}
	p.Exact = len(p.Missing) == 0 && len(p.Extra) == 0 && len(b.Polygon) == len(f.Polygon)
}

// statedCorners returns the footprint's corners by ring and vertex.
func statedCorners(f *vector.Footprint) map[[2]int]vector.Corner {
	all := make(map[[2]int]vector.Corner, len(f.Corners))
	for _, c := range f.Corners {
		all[[2]int{c.Ring, c.Vertex}] = c
	}
	return all
}

// elevation returns that of the roof edge at a corner; NaN when unknown.
func (b *Building) elevation(c corner) float64 {
	if c.ring >= len(b.Elevations) || c.vertex >= len(b.Elevations[c.ring]) {
		return math.NaN()
	}
	return b.Elevations[c.ring][c.vertex]
}

// visibleAt returns the smaller visible share of the sides at a corner.
func (b *Building) visibleAt(c corner) float64 {
	if c.ring >= len(b.Visible) {
		return 1
	}
	v := b.Visible[c.ring]
	if c.vertex >= len(v) {
		return 1
	}
	return min(v[c.vertex], v[(c.vertex+len(v)-1)%len(v)])
}

// overlaps counts the delivered outlines that overlap each other.
func (m *matching) overlaps() error {
	var all []orb.Polygon
	for j, f := range m.delivered {
		if m.valid[j] {
			all = append(all, f.Polygon)
		}
	}
	pairs, err := topology.Overlaps(all)
	if err != nil {
		return err
	}
	m.block.Overlaps = len(pairs)
	for _, p := range pairs {
		m.block.OverlapArea += p.Area
	}
	return nil
}
