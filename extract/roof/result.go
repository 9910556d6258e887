package roof

import (
	"cmp"
	"math"
	"slices"

	"quoin/vector"
)

// result judges what was found and puts it in order.
func (s *segmenter) result() Segmentation {
	list := s.profiles()
	s.findVehicles(list)
	s.findSeveral(list)
	r := Segmentation{Points: s.ids, Kinds: make([]Kind, len(s.ids)), Of: make([]int32, len(s.ids))}
	for k := range r.Of {
		r.Of[k] = -1
		if hag := s.hag[s.ids[k]]; hag < floor {
			r.Kinds[k] = Ground
		}
	}
	order := s.order(list)
	number := make([]int32, len(list))
	for b := range number {
		number[b] = -1
	}
	kinds := make([]Kind, len(list))
	for _, b := range order {
		p := &list[b]
		if p.vehicle && p.box.length > truckShort {
			r.vehicles = append(r.vehicles, p.box)
		}
		if reason := s.verdict(p); reason != "" {
			r.Held = append(r.Held, s.held(p, reason))
			kinds[b] = kindOf(reason)
			continue
		}
		number[b] = int32(len(r.Buildings))
		r.Buildings = append(r.Buildings, s.building(p))
	}
	for h, k := range s.high {
		r.Kinds[k] = s.kinds[h]
		if b := s.of[h]; b >= 0 {
			if r.Of[k] = number[b]; number[b] < 0 {
				r.Kinds[k] = kinds[b]
			}
		}
	}
	return r
}

// kindOf returns what the returns are of something held back.
func kindOf(reason vector.Reason) Kind {
	switch reason {
	case vector.HeldVegetation:
		return Vegetation
	case vector.HeldBridge:
		return Deck
	}
	return Object
}

// order sorts the buildings that have points by their first.
func (s *segmenter) order(list []profile) []int {
	var order []int
	for b := range list {
		if len(list[b].points) > 0 {
			order = append(order, b)
		}
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(list[a].points[0], list[b].points[0]) })
	return order
}

func (s *segmenter) building(p *profile) Building {
	b := Building{
		Roof: make([]int32, len(p.points)), Area: p.area, GroundElev: p.ground,
		EaveHeight: p.low - p.ground, RidgeHeight: p.top - p.ground,
		Penetration: p.penetration, Vegetation: p.vegetation,
		First: Cell{math.MaxInt32, math.MaxInt32},
	}
	for i, h := range p.points {
		b.Roof[i] = s.id(h)
		at := &s.block.Points[b.Roof[i]]
		c := Cell{int32(math.Floor(at.North())), int32(math.Floor(at.East()))}
		if cmp.Or(cmp.Compare(c.Row, b.First.Row), cmp.Compare(c.Col, b.First.Col)) < 0 {
			b.First = c
		}
	}
	b.Planes, b.Surface = s.planes(p)
	b.Reasons = s.reasons(p)
	b.stack = s.stackOf(p)
	return b
}

// planes describes the surfaces of a building, the largest first, and tells
// which of them each point is on.
func (s *segmenter) planes(p *profile) (list []Plane, of []int32) {
	order := s.surfacesOf(p)
	slices.SortStableFunc(order, func(a, b int32) int { return cmp.Compare(s.surfaces[b].area, s.surfaces[a].area) })
	number := make(map[int32]int32, len(order))
	for i, k := range order {
		f := &s.surfaces[k]
		list = append(list, Plane{f.gx, f.gy, f.x, f.y, f.z, f.area, f.n, f.rough})
		number[k] = int32(i)
	}
	of = make([]int32, len(p.points))
	for i, h := range p.points {
		of[i] = -1
		if n, ok := number[s.group[h]]; ok {
			of[i] = n
		}
	}
	return list, of
}

// sparsest is the number of roof points below which an outline rests on too
// little.
const sparsest = 20

func (s *segmenter) reasons(p *profile) []vector.Reason {
	var list []vector.Reason
	add := func(yes bool, r vector.Reason) {
		if yes {
			list = append(list, r)
		}
	}
	add(p.several, vector.ReviewSeveral)
	add(p.atBlockEdge, vector.ReviewAtBlockEdge)
	add(p.penetration > 0.1, vector.ReviewOpenRoof)
	add(len(p.points) < sparsest, vector.ReviewSparse)
	add(p.vegetation > 0.1, vector.ReviewVegetation)
	add(p.vehicle, vector.ReviewVehicleLike)
	add(tentLike(p), vector.ReviewTentLike)
	slices.Sort(list)
	return list
}

func (s *segmenter) held(p *profile, reason vector.Reason) Held {
	h := Held{Reason: reason, Height: p.height, Area: p.area, Points: len(p.points)}
	for _, c := range p.cells {
		h.Cells = append(h.Cells, Cell{int32(s.grid.Row0) + c/int32(s.grid.Cols), int32(s.grid.Col0) + c%int32(s.grid.Cols)})
	}
	return h
}
