package roof

import "math"

// A house in a row is at least this wide, in metres, and one that stands in a
// row and is twice as wide may be two. One that stands alone may be a row from
// the length of four, if it is as deep as houses are.
const (
	houseWidth  = 5.25
	houseLeast  = 6.0
	houseMost   = 15.0
	rowContact  = 3.0 // metres of wall shared with a neighbour
	rowOfHouses = 4 * houseWidth
)

// findSeveral marks the buildings that may be several houses whose joints
// nothing shows: equal roofs over party walls.
func (s *segmenter) findSeveral(list []profile) {
	owner := make([]int32, s.grid.Len())
	for b := range list {
		for _, c := range list[b].cells {
			owner[c] = int32(b) + 1
		}
	}
	for b := range list {
		p := &list[b]
		if len(p.points) == 0 || p.height < houseStorey {
			continue
		}
		along, beside := s.rowExtent(p, int32(b)+1, owner, list)
		deep := p.box.width >= houseLeast && p.box.width <= houseMost
		p.several = beside && along >= 2*houseWidth || deep && p.box.length >= rowOfHouses
	}
}

// houseStorey is the least median height of the roof of a house, in metres.
const houseStorey = 3.0

// rowExtent returns how far a building reaches in the direction of the
// neighbour that it shares most wall with; false where it shares none.
func (s *segmenter) rowExtent(p *profile, number int32, owner []int32, list []profile) (along float64, beside bool) {
	contact := make([]int, len(list)+1)
	most := int32(0)
	for _, c := range p.edge {
		for _, d := range [4]int{-1, 1, -s.grid.Cols, s.grid.Cols} {
			o := owner[int(c)+d]
			if o == 0 {
				o = owner[int(c)+2*d]
			}
			if o == 0 || o == number {
				continue
			}
			if contact[o]++; contact[o] > contact[most] || contact[o] == contact[most] && o < most {
				most = o
			}
		}
	}
	if most == 0 || float64(contact[most])*s.grid.Cell < rowContact {
		return 0, false
	}
	q := &list[most-1]
	dx, dy := q.box.x-p.box.x, q.box.y-p.box.y
	if math.Abs(p.box.dx*dx+p.box.dy*dy) >= math.Abs(-p.box.dy*dx+p.box.dx*dy) {
		return p.box.length, true
	}
	return p.box.width, true
}
