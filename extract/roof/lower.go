package roof

import "math"

// A lower part built onto a building, a hall's wing or a garage, is told from
// the next house of a row by these: it is at least a storey lower or no larger
// than garages are, at most half as large as the other, and its joint takes at
// most so much of the side that it is built onto. Neighbours in a row are alike
// in size and depth.
const (
	storeyStep   = 2.0 // metres
	garageHeight = 3.5
	garageArea   = 50.0
	lowerArea    = 0.5
	lowerJoint   = 0.8
)

// keepParts joins each lower part to the building that it is built onto: where
// several are, to the one that it touches most.
func (s *segmenter) keepParts(u union, base []joint) {
	if s.options.SplitParts {
		return
	}
	for joined := true; joined; {
		measures := s.partMeasures(u)
		into := make(map[int32]joint)
		list := merged(base, u)
		for _, j := range list {
			if lower, ok := s.lowerOf(u, &j, measures); ok && j.n > into[lower].n {
				into[lower] = j
			}
		}
		joined = false
		for _, j := range list {
			for _, lower := range [2]int32{j.a, j.b} {
				if t := into[lower]; t.n > 0 && t.a == j.a && t.b == j.b {
					u.join(j.a, j.b)
					joined = true
				}
			}
		}
	}
}

// lowerOf returns which of the two parts of a joint is a lower part of the
// other; false where none is.
func (s *segmenter) lowerOf(u union, j *joint, measures []partMeasure) (int32, bool) {
	lower, upper := j.a, j.b
	if measures[lower].level > measures[upper].level {
		lower, upper = upper, lower
	}
	p, q := &measures[lower], &measures[upper]
	low := j.rise >= storeyStep*float64(j.n) || p.height <= garageHeight && p.area <= garageArea
	if s.gap(j) || !low || p.height < s.options.MinHeight || p.area > lowerArea*q.area {
		return 0, false
	}
	along, _ := j.places.spreads()
	l := s.lineOf(j)
	return lower, along*math.Sqrt(12) <= lowerJoint*s.extent(u, upper, -l.ny, l.nx)
}

// extent returns how far a part reaches in a direction.
func (s *segmenter) extent(u union, part int32, dx, dy float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for k := range s.patches {
		p := &s.patches[k]
		if s.surfaces[p.surface].kept && u.root(p.surface) == part {
			at := p.x*dx + p.y*dy
			lo, hi = min(lo, at), max(hi, at)
		}
	}
	return hi - lo
}
