package roof

import (
	"math"
	"math/rand/v2"

	"quoin/extract/cloud"
)

// The tests scan small invented worlds whose truth is known: solids that are
// height fields over rectangles, and crowns of leaves. Rays come in two
// swaths, obliquely, so that walls are seen and roofs throw shadows.

// A shape gives the height above ground of a solid at a place along its width
// and length, from its middle.
type shape func(u, v float64) float64

// A solid stands on a rectangle.
type solid struct {
	x, y, width, length, angle float64
	top                        shape
	truth                      int // building number, -1 for what is none
}

func (s *solid) local(x, y float64) (u, v float64) {
	dx, dy := x-s.x, y-s.y
	if reach := (s.width+s.length)/2 + 2; math.Abs(dx) > reach || math.Abs(dy) > reach {
		return reach, reach // outside by more than 2 m, whatever the angle
	}
	sin, cos := math.Sincos(s.angle)
	return dx*cos + dy*sin, dy*cos - dx*sin
}

// inset is the distance of a place inside the rectangle, negative outside.
func (s *solid) inset(x, y float64) float64 {
	u, v := s.local(x, y)
	return min(s.width/2-math.Abs(u), s.length/2-math.Abs(v))
}

// A crown is an ellipsoid of leaves.
type crown struct{ x, y, z, across, high, density float64 }

// A world is what is scanned.
type world struct {
	solids []solid
	crowns []crown
	ground shape
	size   float64
	taken  []bool  // square metres near something, see near
	top    float64 // a height that nothing reaches
}

// margin is the number of square metres kept beyond the world's edge.
const margin = 12

// near reports whether anything but ground is within a metre of a place.
func (w *world) near(x, y float64) bool {
	side := int(w.size) + 2*margin
	if w.taken == nil {
		w.taken = make([]bool, side*side)
		for i := range w.taken {
			px, py := float64(i%side-side/2)+0.5, float64(i/side-side/2)+0.5
			for k := range w.solids {
				w.taken[i] = w.taken[i] || w.solids[k].inset(px, py) > -2
			}
			for _, c := range w.crowns {
				w.taken[i] = w.taken[i] || math.Hypot(px-c.x, py-c.y) < c.across+2
			}
		}
	}
	col, row := int(math.Floor(x))+side/2, int(math.Floor(y))+side/2
	if row < 0 || col < 0 || row >= side || col >= side {
		return true
	}
	return w.taken[row*side+col]
}

func flat(h float64) shape { return func(float64, float64) float64 { return h } }

func gable(eave, pitch, width float64) shape {
	return func(u, _ float64) float64 { return eave + (width/2-math.Abs(u))*pitch }
}

func hip(eave, pitch, width, length float64) shape {
	return func(u, v float64) float64 {
		return eave + min(width/2-math.Abs(u), length/2-math.Abs(v))*pitch
	}
}

func lean(eave, pitch, width float64) shape {
	return func(u, _ float64) float64 { return eave + (width/2+u)*pitch }
}

// dome is a cap of a ball whose edge slopes by 45 degrees.
func dome(eave, radius float64) shape {
	return func(u, v float64) float64 {
		d := u*u + v*v
		if d > radius*radius {
			return 0
		}
		return eave + math.Sqrt(2*radius*radius-d) - radius
	}
}

// A truth says what a return was really from.
type truth struct {
	building int     // -1 for none
	roof     bool    // from the top of a building, not its wall
	inset    float64 // of the true place in the building's outline
}

// A survey is a scanned world.
type survey struct {
	block    *cloud.Block
	hag      []float32
	measures cloud.Measures
	truth    []truth
}

// A scan says how a world is scanned.
type scan struct {
	density, noise float64
	seed           uint64
	returnless     bool
}

func (w *world) height(x, y float64) (z float64, solid int) {
	z, solid = w.terrain(x, y), -1
	base := z
	for i := range w.solids {
		s := &w.solids[i]
		if s.inset(x, y) < 0 {
			continue
		}
		u, v := s.local(x, y)
		if h := s.top(u, v); h > 0 && base+h > z {
			z, solid = base+h, i
		}
	}
	return z, solid
}

func (w *world) terrain(x, y float64) float64 {
	if w.ground == nil {
		return 0
	}
	return w.ground(x, y)
}

// A hit is one return of a pulse.
type hit struct {
	x, y, z float64
	truth   truth
}

const marchStep = 0.08

// highest is a height that nothing reaches.
func (w *world) highest() float64 {
	top := 0.5
	for i := range w.solids {
		s := &w.solids[i]
		for k := range 64 {
			u, v := (float64(k%8)/7-0.5)*s.width, (float64(k/8)/7-0.5)*s.length
			sin, cos := math.Sincos(s.angle)
			top = max(top, s.top(u, v)+w.terrain(s.x+u*cos-v*sin, s.y+u*sin+v*cos)+0.5)
		}
	}
	for _, c := range w.crowns {
		top = max(top, c.z+c.high)
	}
	return top + 0.5
}

// trace follows a ray down over (x, y, 0).
func (w *world) trace(x, y, tx, ty float64, r *rand.Rand) []hit {
	var hits []hit
	last := w.top
	for z := last; z > -20; z -= marchStep {
		px, py := x+tx*z, y+ty*z
		if w.ground == nil && !w.near(px, py) {
			z = min(z, max(0, z-0.9)) // half a metre aside: still away from everything
			px, py = x+tx*z, y+ty*z
		}
		for i := range w.crowns {
			c := &w.crowns[i]
			dx, dy, dz := (px-c.x)/c.across, (py-c.y)/c.across, (z-c.z)/c.high
			if dx*dx+dy*dy+dz*dz < 1 && r.Float64() < c.density*marchStep && len(hits) < 4 {
				hits = append(hits, hit{px, py, z, truth{building: -1}})
			}
		}
		if len(hits) >= 3 {
			return hits
		}
		if h, _ := w.height(px, py); z > h {
			last = z
			continue
		}
		return append(hits, w.land(x, y, tx, ty, [2]float64{z, last}))
	}
	return hits
}

// land bisects for the place where a ray meets a surface.
func (w *world) land(x, y, tx, ty float64, between [2]float64) hit {
	lo, hi := between[0], between[1]
	for range 12 {
		mid := (lo + hi) / 2
		if h, _ := w.height(x+tx*mid, y+ty*mid); mid > h {
			hi = mid
		} else {
			lo = mid
		}
	}
	px, py := x+tx*lo, y+ty*lo
	h, k := w.height(px, py)
	t := truth{building: -1}
	if k >= 0 && w.solids[k].truth >= 0 {
		t = truth{w.solids[k].truth, h-lo < 0.1, w.inset(px, py, w.solids[k].truth)}
	}
	return hit{px, py, lo, t}
}

// inset is how far a place lies inside the union of a building's solids.
func (w *world) inset(x, y float64, building int) float64 {
	best := math.Inf(-1)
	for i := range w.solids {
		if w.solids[i].truth == building {
			best = max(best, w.solids[i].inset(x, y))
		}
	}
	return best
}

// survey scans the world.
func (w *world) survey(o scan) *survey {
	r := rand.New(rand.NewPCG(o.seed, 7))
	w.top = w.highest()
	var points []cloud.Point
	type key struct{ x, y, z int32 }
	known := make(map[key]truth)
	n := int(o.density * w.size * w.size)
	for i := range n {
		swath := i % 2
		lean := 0.25 + 0.1*r.Float64()
		tx, ty := lean, 0.1*(r.Float64()-0.5)
		if swath == 1 {
			tx, ty = -lean*0.6, lean*0.7
		}
		hits := w.trace((r.Float64()-0.5)*w.size, (r.Float64()-0.5)*w.size, tx, ty, r)
		for k, h := range hits {
			a := cloud.Attributes{
				Time: float64(i) * 1e-5, Source: uint16(swath),
				Return: uint8(k + 1), Returns: uint8(len(hits)),
			}
			if o.returnless {
				a.Return, a.Returns = 0, 0
			}
			p := cloud.Pack(h.x+o.noise*r.NormFloat64(), h.y+o.noise*r.NormFloat64(), h.z+o.noise*r.NormFloat64(), a)
			points = append(points, p)
			known[key{p.X, p.Y, p.Z}] = h.truth
		}
	}
	b, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, points)
	s := &survey{block: b, hag: make([]float32, b.Len()), truth: make([]truth, b.Len())}
	for i := range b.Points {
		p := &b.Points[i]
		s.hag[i] = float32(p.Up() - w.terrain(p.East(), p.North()))
		s.truth[i] = known[key{p.X, p.Y, p.Z}]
	}
	s.measures = cloud.Measures{Density: o.density, Spacing: 1 / math.Sqrt(o.density), SigmaZ: o.noise, Sigma: o.noise}
	return s
}

// A run is the outcome of the whole stage on a survey.
type run struct {
	features  []Feature
	buildings []Building
	held      []Held
	of        []int32 // of each point of the block
	kinds     []Kind
}

// segment runs the whole stage.
func (s *survey) segment(o Options) *run {
	b := s.block
	r := &run{features: make([]Feature, b.Len()), of: make([]int32, b.Len()), kinds: make([]Kind, b.Len())}
	for i := range r.of {
		r.of[i] = -1
	}
	var roofs []Run
	for _, u := range b.Units() {
		Describe(b, s.hag, u, s.measures, r.features)
	}
	for _, u := range b.Units() {
		list, _ := Mask(b, s.hag, r.features, u, s.measures)
		roofs = append(roofs, list...)
	}
	work := Work{s.measures, o}
	var parts []Segmentation
	for _, c := range Gather(roofs, s.measures) {
		parts = append(parts, Segment(b, s.hag, r.features, c, work))
	}
	ClearYards(parts, work)
	for _, g := range parts {
		base := int32(len(r.buildings))
		r.buildings = append(r.buildings, g.Buildings...)
		r.held = append(r.held, g.Held...)
		for k, id := range g.Points {
			r.kinds[id] = g.Kinds[k]
			if g.Of[k] >= 0 {
				r.of[id] = base + g.Of[k]
			}
		}
	}
	return r
}

// A score compares labels with the truth.
type score struct {
	roof, found         int // returns from roofs, those labelled
	edge, edgeFound     int // of those, within 0.3 m of the true edge
	falseEdge           int // labelled returns that are from no roof
	falseFar            int // of those, more than 0.3 m outside or from foliage
	planned, got, mixed int // buildings there, found, and found with parts of another
}

func (s *survey) score(r *run) score {
	var c score
	members := make(map[int]map[int32]int)
	for i, t := range s.truth {
		labelled := r.of[i] >= 0
		if !t.roof {
			if labelled {
				c.falseEdge++
				if t.building < 0 || t.inset < -0.3 {
					c.falseFar++
				}
			}
			continue
		}
		c.roof++
		if t.inset < 0.3 {
			c.edge++
			if labelled {
				c.edgeFound++
			}
		}
		if labelled {
			c.found++
			if members[t.building] == nil {
				members[t.building] = make(map[int32]int)
			}
			members[t.building][r.of[i]]++
		}
	}
	c.count(s, members)
	return c
}

// count counts the buildings that are found as one, and not together with
// another.
func (c *score) count(s *survey, members map[int]map[int32]int) {
	there := make(map[int]int)
	for _, t := range s.truth {
		if t.roof {
			there[t.building]++
		}
	}
	c.planned = len(there)
	taken := make(map[int32]int)
	for b, n := range there {
		best, most := int32(-1), 0
		for of, k := range members[b] {
			if k > most {
				best, most = of, k
			}
		}
		if 10*most >= 8*n {
			c.got++
			taken[best]++
		}
	}
	for _, n := range taken {
		if n > 1 {
			c.mixed += n - 1
		}
	}
}
