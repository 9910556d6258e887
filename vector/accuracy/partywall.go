package accuracy

import (
	"math"

	"github.com/paulmach/orb"
)

// partyWalls finds the walls that the reference's neighbours share and
// compares what the layer makes of them.
func (m *matching) partyWalls() {
	found := make(map[int]bool)
	for _, o := range m.block.Reference {
		found[o.Index] = o.Found
	}
	byID := make(map[string]int, len(m.reference))
	for i, b := range m.reference {
		byID[b.ID] = i
	}
	for i, b := range m.reference {
		for _, id := range b.Neighbours {
			j, known := byID[id]
			if !known || j <= i || b.Ignored || m.reference[j].Ignored {
				continue
			}
			for _, s := range sharedSides(b.Polygon, m.reference[j].Polygon) {
				w := PartyWall{A: b.ID, B: id, Length: s.length(), Found: found[i] && found[j], Gap: math.NaN()}
				p, one := m.pairOf[i]
				q, other := m.pairOf[j]
				if w.Split = one && other; w.Split {
					m.measureGap(&w, s, m.footprint(p), m.footprint(q))
				}
				m.block.PartyWalls = append(m.block.PartyWalls, w)
			}
		}
	}
}

func (m *matching) footprint(pair int) orb.Polygon {
	return m.delivered[m.block.Pairs[pair].Delivered].Polygon
}

// measureGap measures the gap along the middle four fifths of a shared wall,
// whose interior is a's.
func (m *matching) measureGap(w *PartyWall, s segment, a, b orb.Polygon) {
	const n = 9
	normal := s.outward()
	back := orb.Point{-normal[0], -normal[1]}
	sa, sb := sides(a), sides(b)
	widest := 0.0
	for k := range n {
		at := s.at(0.1 + 0.8*(float64(k)+0.5)/n)
		da, db := crossing(at, normal, sa), crossing(at, back, sb)
		if max(math.Abs(da), math.Abs(db)) > m.options.gate() {
			return
		}
		widest = max(widest, math.Abs(da+db))
	}
	w.Gap = widest
	w.Shared = haveCommonSide(sa, sb)
}

// haveCommonSide reports whether a side of a is one of b run the other way, to
// the bit.
func haveCommonSide(a, b []segment) bool {
	ends := make(map[segment]bool, len(a))
	for _, s := range a {
		ends[s] = true
	}
	for _, s := range b {
		if ends[segment{s.b, s.a}] {
			return true
		}
	}
	return false
}

// sharedSides returns the stretches of a's sides, a metre long or more, that
// run along a side of b the other way round.
func sharedSides(a, b orb.Polygon) []segment {
	const off = 0.01
	var all []segment
	for _, s := range sides(a) {
		l := s.length()
		for _, t := range sides(b) {
			from, to := along(s, t.b), along(s, t.a)
			if from >= to || (segment{t.b, t.a}).lateral(s) > off {
				continue
			}
			if from, to = max(from, 0), min(to, l); to-from >= leastSide {
				all = append(all, segment{s.at(from / l), s.at(to / l)})
			}
		}
	}
	return all
}

// along returns the distance of p along s from its start.
func along(s segment, p orb.Point) float64 {
	return ((p[0]-s.a[0])*(s.b[0]-s.a[0]) + (p[1]-s.a[1])*(s.b[1]-s.a[1])) / s.length()
}

// lateral returns the larger distance of the ends of s from the line of t.
func (s segment) lateral(t segment) float64 {
	n := t.outward()
	across := func(p orb.Point) float64 { return math.Abs((p[0]-t.a[0])*n[0] + (p[1]-t.a[1])*n[1]) }
	return max(across(s.a), across(s.b))
}
