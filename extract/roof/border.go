package roof

import (
	"math"

	"quoin/extract/cloud"
)

// touching is how close in height, in metres, a roof and the ground beside it
// must be for the one to run on into the other.
const touching = 0.35

// A border tells what lies beside the edges of roofs.
type border struct {
	s       *segmenter
	owner   []int32 // of each cell, 1 + the building that has it
	roofs   []roofCell
	foliage []uint16  // returns of vegetation, by cell
	count   []int32   // all returns, by cell
	groundZ []float64 // mean elevation of ground returns, NaN for none
}

func newBorder(s *segmenter, owner []int32) *border {
	n := s.grid.Len()
	b := &border{
		s: s, owner: owner, roofs: s.roofCells(),
		foliage: make([]uint16, n), count: make([]int32, n), groundZ: make([]float64, n),
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
			b.groundZ[c] += s.block.Points[id].Up()
		}
	}
	for c := range b.groundZ {
		b.groundZ[c] /= float64(s.low[c]) // 0/0 is NaN: no ground seen
	}
	return b
}

// measure fills in what a building's edge tells of it.
func (b *border) measure(p *profile, building int32) {
	var touch []int32
	leafy, beyond := 0, 0
	for _, c := range p.edge {
		if b.runsOn(c, building) {
			touch = append(touch, c)
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
	share := float64(len(touch)) / n
	p.mound = share > 0.6
	p.bridge = !p.mound && b.ends(touch, p.box.length)
}

// around are the steps to the four cells beside one.
func (b *border) around() [4]int {
	return [4]int{-1, 1, -b.s.grid.Cols, b.s.grid.Cols}
}

// runsOn reports whether the roof in an edge cell continues into the ground in
// a cell beside it.
func (b *border) runsOn(c, building int32) bool {
	r := &b.roofs[c]
	if r.building != building {
		return false
	}
	for _, d := range b.around() {
		q := int(c) + d
		x, y := b.s.grid.Centre(q)
		if z := b.groundZ[q]; b.owner[q] == 0 && math.Abs(z-r.z-r.gx*(x-r.x)-r.gy*(y-r.y)) < touching {
			return true
		}
	}
	return false
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

// ends reports whether the touching cells form two stretches, long enough to
// be abutments and half the length of the whole apart.
func (b *border) ends(touch []int32, length float64) bool {
	g := b.s.grid
	u := newUnion(len(touch))
	for i, p := range touch {
		for j := i + 1; j < len(touch) && int(touch[j])/g.Cols-int(p)/g.Cols <= reach; j++ {
			if d := int(touch[j])%g.Cols - int(p)%g.Cols; d <= reach && d >= -reach {
				u.join(int32(i), int32(j))
			}
		}
	}
	of, n := u.number()
	type stretch struct{ n, x, y float64 }
	list := make([]stretch, n)
	for i, c := range touch {
		x, y := g.Centre(int(c))
		t := &list[of[i]]
		t.n, t.x, t.y = t.n+1, t.x+x, t.y+y
	}
	for i, p := range list {
		for _, q := range list[:i] {
			if min(p.n, q.n)*g.Cell >= abutment && math.Hypot(p.x/p.n-q.x/q.n, p.y/p.n-q.y/q.n) > length/2 {
				return true
			}
		}
	}
	return false
}
