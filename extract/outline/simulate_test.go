package outline

import (
	"math"
	"math/rand/v2"
)

// A plan is a polygon with its rings, exterior anticlockwise and holes clockwise.
type plan [][][2]float64

// shapes are rectilinear plans with sides a multiple of a, for which wings are a wide.
func shapes(a float64) map[string]plan {
	scale := func(p plan) plan {
		for _, r := range p {
			for i := range r {
				r[i][0] *= a
				r[i][1] *= a
			}
		}
		return p
	}
	return map[string]plan{
		"rectangle": scale(plan{{{0, 0}, {3, 0}, {3, 2}, {0, 2}}}),
		"L":         scale(plan{{{0, 0}, {3, 0}, {3, 1}, {1.2, 1}, {1.2, 2.5}, {0, 2.5}}}),
		"T":         scale(plan{{{0, 1.5}, {1, 1.5}, {1, 0}, {2.2, 0}, {2.2, 1.5}, {3.2, 1.5}, {3.2, 2.6}, {0, 2.6}}}),
		"U":         scale(plan{{{0, 0}, {3.2, 0}, {3.2, 2.5}, {2.2, 2.5}, {2.2, 1}, {1, 1}, {1, 2.2}, {0, 2.2}}}),
	}
}

// otherShapes are plans beyond the four of the published tables.
func otherShapes(a float64) map[string]plan {
	scale := func(p plan) plan {
		for _, r := range p {
			for i := range r {
				r[i][0] *= a
				r[i][1] *= a
			}
		}
		return p
	}
	return map[string]plan{
		"cross":     scale(plan{{{1, 0}, {2, 0}, {2, 1}, {3, 1}, {3, 2}, {2, 2}, {2, 3}, {1, 3}, {1, 2}, {0, 2}, {0, 1}, {1, 1}}}),
		"stairs":    scale(plan{{{0, 0}, {3, 0}, {3, 1}, {2, 1}, {2, 2}, {1, 2}, {1, 3}, {0, 3}}}),
		"comb":      scale(plan{{{0, 0}, {5, 0}, {5, 2}, {4, 2}, {4, 1}, {3, 1}, {3, 2}, {2, 2}, {2, 1}, {1, 1}, {1, 2}, {0, 2}}}),
		"courtyard": scale(plan{{{0, 0}, {4, 0}, {4, 3.5}, {0, 3.5}}, {{1, 1}, {1, 2.5}, {3, 2.5}, {3, 1}}}),
	}
}

// freeShapes are plans with walls that are not square to each other.
func freeShapes() map[string]plan {
	ring := func(n int, radius float64) plan {
		var r [][2]float64
		for i := range n {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			r = append(r, [2]float64{radius * c, radius * s})
		}
		return plan{r}
	}
	return map[string]plan{
		"skewed":    {{{0, 0}, {20, 0.6}, {19.5, 10}, {0, 10}}},
		"chamfer":   {{{0, 0}, {16, 0}, {16, 7}, {13, 10}, {0, 10}}},
		"hexagon":   ring(6, 7),
		"octagon":   ring(8, 8),
		"triangle":  {{{0, 0}, {18, 0}, {5, 12}}},
		"two wings": {{{0, 0}, {14, 0}, {22.66, 5}, {18.66, 11.928}, {11.86, 8}, {0, 8}}},
		"trapezoid": {{{0, 0}, {15, 0}, {12, 9}, {2, 9}}},
	}
}

// stepShapes are rectangles with a step or bay of the given depth.
func stepShapes(d float64) map[string]plan {
	return map[string]plan{
		"step":  {{{0, 0}, {12, 0}, {12, 8}, {7, 8}, {7, 8 - d}, {0, 8 - d}}},
		"bay":   {{{0, 0}, {4, 0}, {4, -d}, {8, -d}, {8, 0}, {12, 0}, {12, 8}, {0, 8}}},
		"notch": {{{0, 0}, {4, 0}, {4, d}, {8, d}, {8, 0}, {12, 0}, {12, 8}, {0, 8}}},
		"nook":  {{{0, 0}, {12, 0}, {12, 8 - d}, {12 - d, 8 - d}, {12 - d, 8}, {0, 8}}},
	}
}

func (p plan) turned(theta, dx, dy float64) plan {
	s, c := math.Sincos(theta)
	q := make(plan, len(p))
	for r := range p {
		for _, v := range p[r] {
			q[r] = append(q[r], [2]float64{c*v[0] - s*v[1] + dx, s*v[0] + c*v[1] + dy})
		}
	}
	return q
}

// distance is the distance to the outline, positive inside. It is written apart from the estimator: even-odd crossings and clamped
// segments.
func (p plan) distance(x, y float64) float64 {
	inside, least := false, math.Inf(1)
	for _, ring := range p {
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			if (a[1] > y) != (b[1] > y) && x < a[0]+(y-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
				inside = !inside
			}
			ux, uy := b[0]-a[0], b[1]-a[1]
			t := min(max(((x-a[0])*ux+(y-a[1])*uy)/(ux*ux+uy*uy), 0), 1)
			least = min(least, math.Hypot(x-a[0]-t*ux, y-a[1]-t*uy))
		}
	}
	if inside {
		return least
	}
	return -least
}

func (p plan) box() (x0, y0, x1, y1 float64) {
	x0, y0, x1, y1 = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, v := range p[0] {
		x0, y0, x1, y1 = min(x0, v[0]), min(y0, v[1]), max(x1, v[0]), max(y1, v[1])
	}
	return x0, y0, x1, y1
}

// A sampling is how pulses fall.
type sampling struct {
	density, sigma, beam float64
	// pattern is "poisson", "scan" (one or two passes of parallel lines at any heading, 1.4 to 1 between lines to along them) or
	// "parallel" (the same along the first edge).
	pattern string
	// shadow removes what lies outside on one side, within 6 m below the first edge's direction.
	shadow   bool
	mislabel float64
}

func (s sampling) measures() Measures {
	return Measures{Spacing: 1 / math.Sqrt(s.density), Sigma: s.sigma, Beam: s.beam}
}

// observe samples a plan and classifies each pulse by its true place; the place reported is blurred.
func (s sampling) observe(p plan, rng *rand.Rand) []Observation {
	x0, y0, x1, y1 := p.box()
	margin := max(4, 4/math.Sqrt(s.density))
	x0, y0, x1, y1 = x0-margin, y0-margin, x1+margin, y1+margin
	ex, ey := p[0][1][0]-p[0][0][0], p[0][1][1]-p[0][0][1]
	first := math.Atan2(ey, ex)
	shadowX, shadowY := math.Sin(first), -math.Cos(first)
	var obs []Observation
	for _, v := range s.places(x0, y0, x1, y1, first, rng) {
		d := p.distance(v[0], v[1])
		o := Observation{X: v[0] + s.sigma*rng.NormFloat64(), Y: v[1] + s.sigma*rng.NormFloat64()}
		switch {
		case d < -s.beam:
			o.Side = Outside
		case d < s.beam:
			o.Side = Split
		}
		if s.shadow && o.Side == Outside && s.shaded(p, v, shadowX, shadowY) {
			continue
		}
		if s.mislabel > 0 && rng.Float64() < s.mislabel {
			o.Side = Outside - o.Side
		}
		obs = append(obs, o)
	}
	return obs
}

// shaded tells whether the way back along the shadow meets the roof within 3 m.
func (s sampling) shaded(p plan, v [2]float64, sx, sy float64) bool {
	for k := 1; k <= 30; k++ {
		if t := 0.1 * float64(k); p.distance(v[0]-t*sx, v[1]-t*sy) > 0 {
			return true
		}
	}
	return false
}

func (s sampling) places(x0, y0, x1, y1, first float64, rng *rand.Rand) [][2]float64 {
	if s.pattern == "poisson" {
		n := poisson(s.density*(x1-x0)*(y1-y0), rng)
		v := make([][2]float64, n)
		for i := range v {
			v[i] = [2]float64{x0 + rng.Float64()*(x1-x0), y0 + rng.Float64()*(y1-y0)}
		}
		return v
	}
	passes := 1 + rng.IntN(2)
	var v [][2]float64
	for range passes {
		heading := rng.Float64() * math.Pi
		if s.pattern == "parallel" {
			heading = first
		}
		v = append(v, scan(s.density/float64(passes), heading, [4]float64{x0, y0, x1, y1}, rng)...)
	}
	return v
}

// scan lays parallel lines, 1.4 times as far apart as the points on them, with a tenth of a spacing of jitter along the line.
func scan(density, heading float64, box [4]float64, rng *rand.Rand) [][2]float64 {
	along := 1 / math.Sqrt(1.4*density)
	lines := 1.4 * along
	cx, cy := (box[0]+box[2])/2, (box[1]+box[3])/2
	radius := math.Hypot(box[2]-box[0], box[3]-box[1]) / 2
	s, c := math.Sincos(heading)
	var v [][2]float64
	for b := -radius + rng.Float64()*lines; b < radius; b += lines {
		for a := -radius + rng.Float64()*along; a < radius; a += along {
			t := a + 0.1*along*rng.NormFloat64()
			x, y := cx+c*t-s*b, cy+s*t+c*b
			if x > box[0] && x < box[2] && y > box[1] && y < box[3] {
				v = append(v, [2]float64{x, y})
			}
		}
	}
	return v
}

func poisson(mean float64, rng *rand.Rand) int {
	return max(0, int(math.Round(mean+math.Sqrt(mean)*rng.NormFloat64())))
}

// A score compares a result with the truth.
type score struct {
	exact   bool
	corners int
	errors  [][2]float64 // of the corners, metres
	nees    []float64
	outward []float64 // mean error of each corner along its two edges' outward normals
}

// judge matches each true corner to the nearest found one of the same rings; exact means one to one within reach, no more and no less.
func judge(p plan, r Result, within float64) score {
	var found []Vertex
	for _, ring := range r.Rings {
		found = append(found, ring.Vertices...)
	}
	s := score{exact: len(r.Rings) == len(p)}
	used := make([]bool, len(found))
	total := 0
	for _, ring := range p {
		total += len(ring)
		for i, v := range ring {
			best, least := -1, within
			for k, f := range found {
				if d := math.Hypot(f.X-v[0], f.Y-v[1]); d < least && !used[k] {
					best, least = k, d
				}
			}
			if best < 0 {
				s.exact = false
				continue
			}
			used[best] = true
			f := found[best]
			s.corners++
			dx, dy := f.X-v[0], f.Y-v[1]
			s.errors = append(s.errors, [2]float64{dx, dy})
			det := f.CovXX*f.CovYY - f.CovXY*f.CovXY
			s.nees = append(s.nees, (f.CovYY*dx*dx-2*f.CovXY*dx*dy+f.CovXX*dy*dy)/det)
			before, after := ring[(i+len(ring)-1)%len(ring)], ring[(i+1)%len(ring)]
			for _, e := range [2][2][2]float64{{before, v}, {v, after}} {
				ux, uy := e[1][0]-e[0][0], e[1][1]-e[0][1]
				s.outward = append(s.outward, (dx*uy-dy*ux)/math.Hypot(ux, uy))
			}
		}
	}
	s.exact = s.exact && len(found) == total
	return s
}

// bound is the root mean square over the corners of the least radial error: the covariance of docs/outline.md with true density, noise
// and full visibility, and one free direction.
func bound(p plan, s sampling) float64 {
	m := planModel(p)
	spans := m.spans(0, nil)
	supports := make([]support, len(spans))
	for i := range spans {
		l := spans[i].length()
		nu := s.density * l * s.sigma
		supports[i] = support{
			variance: math.Pow(0.35355+0.412*math.Pow(nu, 1.5), 2.0/3) / math.Pow(s.density*l, 2),
			centre:   (spans[i].ta + spans[i].tb) / 2, spreadSq: l * l / 12,
		}
	}
	cov, _ := covariance(m, spans, supports)
	sum := 0.0
	for i := range spans {
		xx, _, yy := cornerCovariance(m.parameters(), cov, &spans[spans[i].prev], &spans[i])
		sum += xx + yy
	}
	return math.Sqrt(sum / float64(len(spans)))
}

// planModel makes the model of a plan: edges share a direction where they are parallel or at right angles.
func planModel(p plan) *model {
	m := &model{}
	for _, ring := range p {
		var edges []edge
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			angle := math.Atan2(b[1]-a[1], b[0]-a[0]) - math.Pi/2
			e := edge{family: -1}
			for g, t := range m.theta {
				if math.Abs(math.Remainder(angle-t, math.Pi/2)) < 1e-6 {
					e.family = g
				}
			}
			if e.family < 0 {
				e.family = len(m.theta)
				m.theta = append(m.theta, angle)
			}
			e.quarter = int(math.Round((angle-m.theta[e.family])/(math.Pi/2))+8) & 3
			nx, ny := normal(m.theta[e.family], e.quarter)
			e.offset = nx*a[0] + ny*a[1]
			edges = append(edges, e)
		}
		m.rings = append(m.rings, edges)
	}
	return m
}
