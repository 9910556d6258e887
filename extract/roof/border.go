package roof

import (
	"math"

	"quoin/extract/cloud"
)

// touching is how close in height, in metres, a roof and the ground beside it
// must be for the one to run on into the other.
const touching = 0.35

// moundSpread is the least height of a stockpile over its own edge, in metres.
const moundSpread = 0.8

// deckTilt is the steepest mean gradient of a bridge: ramps for vehicles go to
// 15 %, those for walkers less (common practice, no source). A gable between
// two banks is steeper.
const deckTilt = 0.2

// A border tells what lies beside the edges of roofs.
type border struct {
	s       *segmenter
	owner   []int32 // of each cell, 1 + the building that has it
	roofs   []roofCell
	foliage []uint16   // returns of vegetation, by cell
	count   []int32    // all returns, by cell
	ground  []spotMean // of the ground returns, by cell
}

func newBorder(s *segmenter, owner []int32) *border {
	n := s.grid.Len()
	b := &border{
		s: s, owner: owner, roofs: s.roofCells(),
		foliage: make([]uint16, n), count: make([]int32, n), ground: make([]spotMean, n),
	}
	for h, k := range s.high {
		c := s.cellOf(s.ids[k])
		b.count[c]++
		if s.kinds[h] == Vegetation && b.foliage[c] < 1<<16-1 {
			b.foliage[c]++
		}
	}
	for _, id := range s.ids {
		if !s.features[id].Above() {
			c := s.cellOf(id)
			b.count[c]++
			b.ground[c].add(&s.block.Points[id])
		}
	}
	b.lookBeyond()
	return b
}

// lookBeyond takes in the ground in the cells next to the zone.
func (b *border) lookBeyond() {
	s := b.s
	beyond := func(c int) bool {
		row, col := c/s.grid.Cols, c%s.grid.Cols
		if s.zone[c] > 0 || row == 0 || col == 0 || row == s.grid.Rows-1 || col == s.grid.Cols-1 {
			return false
		}
		for _, d := range s.neighbours() {
			if s.zone[c+d] > 0 {
				return true
			}
		}
		return false
	}
	for _, r := range runs(s.grid, beyond) {
		for i := range s.block.In(r.rect(s.grid.Cell)) {
			if s.features[i].Above() {
				continue
			}
			b.ground[s.cellOf(int32(i))].add(&s.block.Points[i])
		}
	}
}

// A spotMean sums places.
type spotMean struct{ n, x, y, z float64 }

func (m *spotMean) add(p *cloud.Point) {
	m.n, m.x, m.y, m.z = m.n+1, m.x+p.East(), m.y+p.North(), m.z+p.Up()
}

// measure fills in what a building's edge tells of it.
func (b *border) measure(p *profile, building int32) {
	var touch []int32
	leafy, beyond, grounded := 0, 0, 0
	for _, c := range p.edge {
		seen, on := b.runsOn(c, building)
		if on {
			touch = append(touch, c)
		}
		if seen {
			grounded++
		}
		if b.leafy(c) {
			leafy++
		}
		if b.dataEnds(c) {
			beyond++
		}
	}
	n := float64(max(len(p.edge), 1))
	p.vegetation = float64(leafy) / n
	p.atBlockEdge = float64(beyond)*b.s.grid.Cell >= 1.5
	p.mound = p.spread > moundSpread && 2*len(touch) > grounded && 4*len(touch) > len(p.edge)
	p.bridge = !p.mound && p.tilt < deckTilt && b.ends(touch, p.box.length)
}

// around are the steps to the four cells beside one.
func (b *border) around() [4]int {
	c := b.s.grid.Cols
	return [4]int{-1, 1, -c, c}
}

// runsOn reports whether ground is seen beside an edge cell, and whether the
// roof continues into it.
func (b *border) runsOn(c, building int32) (seen, on bool) {
	r := &b.roofs[c]
	if r.building != building {
		return false, false
	}
	for _, d := range b.around() {
		for far := 1; far <= 2 && b.owner[int(c)+far*d] == 0; far++ {
			g := &b.ground[int(c)+far*d]
			if g.n == 0 {
				continue
			}
			seen = true
			x, y, z := g.x/g.n, g.y/g.n, g.z/g.n
			if math.Abs(z-r.z-r.gx*(x-r.x)-r.gy*(y-r.y)) < touching {
				return true, true
			}
			break
		}
	}
	return seen, false
}

// leafy reports whether vegetation touches or covers an edge cell.
func (b *border) leafy(c int32) bool {
	n := int(b.foliage[c])
	for _, d := range b.around() {
		if b.owner[int(c)+d] == 0 {
			n += int(b.foliage[int(c)+d])
		}
	}
	return float64(n) > 0.5*b.s.full
}

// beyondEdge is how far, in metres, nothing at all must be seen beside a roof
// for the data to end there: farther than a roof's shadow.
const beyondEdge = 12

// dataEnds reports whether the data end beside an edge cell.
func (b *border) dataEnds(c int32) bool {
	g := b.s.grid
	x, y := g.Centre(int(c))
	for i, d := range b.around() {
		if b.count[int(c)+d] > 0 {
			continue
		}
		half := g.Cell / 2
		r := cloud.Rect{MinX: x - half, MinY: y - half, MaxX: x + half, MaxY: y + half}
		switch i {
		case 0:
			r.MinX, r.MaxX = r.MinX-beyondEdge, r.MinX
		case 1:
			r.MinX, r.MaxX = r.MaxX, r.MaxX+beyondEdge
		case 2:
			r.MinY, r.MaxY = r.MinY-beyondEdge, r.MinY
		case 3:
			r.MinY, r.MaxY = r.MaxY, r.MaxY+beyondEdge
		}
		if b.empty(r) {
			return true
		}
	}
	return false
}

func (b *border) empty(r cloud.Rect) bool {
	for range b.s.block.In(r) {
		return false
	}
	return true
}

// abutment is the least length along which a bridge meets the ground, in
// metres.
const abutment = 3.0

// abutmentGap is the distance within which touching cells belong to one
// abutment, in metres.
const abutmentGap = 2.0

// ends reports whether the touching cells form two stretches, long enough to
// be abutments and half the length of the whole apart.
func (b *border) ends(touch []int32, length float64) bool {
	g := b.s.grid
	u := newUnion(len(touch))
	near := max(int(abutmentGap/g.Cell), reach)
	for i, p := range touch {
		for j := i + 1; j < len(touch) && int(touch[j])/g.Cols-int(p)/g.Cols <= near; j++ {
			if d := int(touch[j])%g.Cols - int(p)%g.Cols; d <= near && d >= -near {
				u.join(int32(i), int32(j))
			}
		}
	}
	of, n := u.number()
	list := make([]cloud.Rect, n)
	for i, c := range touch {
		x, y := g.Centre(int(c))
		half := g.Cell / 2
		list[of[i]] = list[of[i]].Union(cloud.Rect{MinX: x - half, MinY: y - half, MaxX: x + half, MaxY: y + half})
	}
	for i, p := range list {
		for _, q := range list[:i] {
			apart := math.Hypot(p.MinX+p.MaxX-q.MinX-q.MaxX, p.MinY+p.MaxY-q.MinY-q.MaxY) / 2
			if min(diagonal(p), diagonal(q)) >= abutment && apart > length/2 {
				return true
			}
		}
	}
	return false
}

func diagonal(r cloud.Rect) float64 { return math.Hypot(r.MaxX-r.MinX, r.MaxY-r.MinY) }
