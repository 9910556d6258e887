package nadir

import (
	"cmp"
	"slices"
)

// reach is how far, in pixels, the nearest point may be for an empty pixel to
// take its colour. With pixels as large as the spacing and a place four times
// sparser than the block, a disc of this radius is empty by chance once in
// 280,000 (Poisson: exp(−π·4²/4)).
const reach = 4

// halo is how far beyond a tile one must look to fill it: an empty pixel is part of
// a larger gap when a disc that holds no point covers it; and light needs one
// pixel more.
const halo = 2*reach + 1

// padded is the side of a tile with its halo.
const padded = side + 2*halo

// An offset is a step to a neighbour.
type offset struct{ row, column int }

// disc lists the steps to the pixels within reach, the nearest first, those as near
// as each other from north-west to south-east.
func disc() []offset {
	var d []offset
	for row := -reach; row <= reach; row++ {
		for column := -reach; column <= reach; column++ {
			if n := row*row + column*column; n > 0 && n <= reach*reach {
				d = append(d, offset{row, column})
			}
		}
	}
	slices.SortStableFunc(d, func(a, b offset) int {
		return cmp.Compare(a.row*a.row+a.column*a.column, b.row*b.row+b.column*b.column)
	})
	return d
}

// A scene is a tile with its halo.
type scene struct {
	height []float32 // padded·padded
	value  []value
	near   []int32 // where an empty pixel takes its colour; −1 for too far
	steps  []offset
}

func newScene() *scene {
	const n = padded * padded
	return &scene{height: make([]float32, n), value: make([]value, n), near: make([]int32, n), steps: disc()}
}

// gather copies a tile and what is around it.
func (s *scene) gather(t *tiles, p place) error {
	for i := range s.height {
		s.height[i] = nothing
	}
	clear(s.value)
	for dr := -1; dr <= 1; dr++ {
		for dc := -1; dc <= 1; dc++ {
			m, err := t.at(place{p.column + dc, p.row + dr})
			if err != nil {
				return err
			}
			if m != nil {
				s.paste(m, halo+dc*side, halo+dr*side)
			}
		}
	}
	return nil
}

// paste copies the part of a tile that the scene shows, given where its first
// pixel lies.
func (s *scene) paste(m *tile, left, top int) {
	from, to := max(-left, 0), min(padded-left, side)
	for row := max(-top, 0); row < min(padded-top, side); row++ {
		at := (top+row)*padded + left
		copy(s.height[at+from:at+to], m.height[row*side+from:row*side+to])
		copy(s.value[at+from:at+to], m.value[row*side+from:row*side+to])
	}
}

// fill gives the pixels of small gaps what the nearest point has. It is a
// morphological closing of the pixels that hold points by a disc (Serra 1982,
// Image Analysis and Mathematical Morphology), so that the rims of larger gaps
// and of the block stay where the points end.
func (s *scene) fill() {
	s.findNearest()
	for row := 2 * reach; row < padded-2*reach; row++ {
		for column := 2 * reach; column < padded-2*reach; column++ {
			k := row*padded + column
			if n := s.near[k]; n >= 0 && int(n) != k && !s.inLargeGap(k) {
				s.height[k], s.value[k] = s.height[n], s.value[n]
			}
		}
	}
}

// findNearest looks for the nearest pixel with a point, within reach.
func (s *scene) findNearest() {
	for row := reach; row < padded-reach; row++ {
		for column := reach; column < padded-reach; column++ {
			k := row*padded + column
			s.near[k] = -1
			if s.height[k] != nothing {
				s.near[k] = int32(k)
				continue
			}
			for _, d := range s.steps {
				if n := k + d.row*padded + d.column; s.height[n] != nothing {
					s.near[k] = int32(n)
					break
				}
			}
		}
	}
}

// inLargeGap reports whether a disc without a point covers an empty pixel.
func (s *scene) inLargeGap(k int) bool {
	for _, d := range s.steps {
		if s.near[k+d.row*padded+d.column] < 0 {
			return true
		}
	}
	return false
}
