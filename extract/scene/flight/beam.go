package flight

import (
	"math"
	"slices"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/solid"
)

// A ray of the beam: its place in the cross-section, in units of the radius at
// 1/e² of the peak, and the share of the energy it stands for.
type ray struct{ u, v, weight float64 }

// beamRays returns the rays that a beam is cut into: one on the axis, a ring of
// six at 0.45 and one of twelve at 0.9 of the radius, weighted by a Gaussian
// profile times the area each stands for. Every second ray of the outer ring
// comes directly behind the axis: these seven are enough where they agree.
func beamRays() (rays [19]ray) {
	weight := func(r, inner, outer float64, n int) float64 {
		return math.Exp(-2*r*r) * (outer*outer - inner*inner) / float64(n)
	}
	rays[0] = ray{0, 0, weight(0, 0, 0.225, 1)}
	put := func(at, n int, r, phase, w float64) {
		for i := range n {
			a := 2*math.Pi*float64(i)/float64(n) + phase
			rays[at+i] = ray{r * math.Cos(a), r * math.Sin(a), w}
		}
	}
	put(1, 6, 0.9, 0, weight(0.9, 0.675, 1.1, 12))
	put(7, 6, 0.9, math.Pi/6, weight(0.9, 0.675, 1.1, 12))
	put(13, 6, 0.45, math.Pi/6, weight(0.45, 0.225, 0.675, 6))
	total := 0.0
	for _, r := range rays {
		total += r.weight
	}
	for i := range rays {
		rays[i].weight /= total
	}
	return rays
}

// first is the number of rays cast before it is known that all are needed.
const first = 7

// An echo is a part of the beam thrown back from one depth.
type echo struct {
	t, energy float64
	hit       solid.Hit // of its strongest ray
}

// A caster casts the beams of one worker; its buffers are reused.
type caster struct {
	world  *solid.World
	plan   *Plan
	rays   [19]ray
	bodies []int32
	parts  []echo
	echoes []echo
}

// maxRange is how far behind the planned ground a beam is followed, in metres.
const maxRange = 400

// cast returns the echoes of a pulse in order of distance. The slice is
// reused.
func (c *caster) cast(p pose, dir solid.Vec, dice *chance.Stream) []echo {
	axis := solid.Ray{Origin: p.at, Dir: dir}
	s := &c.plan.Scanner
	half := [2]float64{s.Divergence[0] / 2, s.Divergence[1] / 2}
	limit := (s.Height + maxRange) / max(0.2, -dir.Z)
	reach := max(half[0], half[1]) * 1.1 * (s.Height + 100) / max(0.2, -dir.Z)
	c.bodies = c.world.Gather(axis, reach, limit, c.bodies[:0])
	across := dir.Cross(p.forward).Unit()
	along := across.Cross(dir)
	turn := dice.Between(0, math.Pi/3)
	ct, st := math.Cos(turn), math.Sin(turn)
	c.parts = c.parts[:0]
	for i, r := range c.rays {
		if i == first && c.agree() {
			return c.whole()
		}
		u, v := (r.u*ct-r.v*st)*half[0], (r.u*st+r.v*ct)*half[1]
		d := dir.Add(along.Scale(u)).Add(across.Scale(v)).Unit()
		hit, ok := c.world.Cast(solid.Ray{Origin: p.at, Dir: d}, c.bodies, dice.Exponential(), limit)
		if ok {
			c.parts = append(c.parts, echo{hit.T, r.weight * lit(hit, d), hit})
		}
	}
	return c.split(s.Resolution)
}

// lit returns the share of light that a surface throws back.
func lit(h solid.Hit, dir solid.Vec) float64 {
	return float64(h.Surface.Reflectance) / 255 * math.Abs(h.Normal.Dot(dir))
}

// agree reports whether all rays so far met one smooth surface.
func (c *caster) agree() bool {
	if len(c.parts) != first {
		return false
	}
	a := &c.parts[0]
	for i := range c.parts[1:] {
		b := &c.parts[i+1]
		if a.hit.Object != b.hit.Object || a.hit.Surface != b.hit.Surface || a.hit.Normal.Dot(b.hit.Normal) < 0.9999 {
			return false
		}
	}
	return a.hit.Surface.Class < solid.LowVegetation || a.hit.Surface.Class > solid.Tree
}

// whole returns the one echo of rays that agree: that of the axis, with all of
// the energy.
func (c *caster) whole() []echo {
	e := c.parts[0]
	e.energy /= c.rays[0].weight
	c.echoes = append(c.echoes[:0], e)
	return c.echoes
}

// split gathers the parts of the beam into echoes: parts within the resolution
// of the first of them are one echo at their mean distance.
func (c *caster) split(resolution float64) []echo {
	slices.SortFunc(c.parts, func(a, b echo) int {
		switch {
		case a.t < b.t:
			return -1
		case a.t > b.t:
			return 1
		}
		return 0
	})
	c.echoes = c.echoes[:0]
	for i := 0; i < len(c.parts); {
		var sum, energy, best float64
		e := echo{}
		j := i
		for ; j < len(c.parts) && c.parts[j].t < c.parts[i].t+resolution; j++ {
			part := &c.parts[j]
			sum += part.t * part.energy
			energy += part.energy
			if part.energy > best {
				best, e.hit = part.energy, part.hit
			}
		}
		if energy > 0 {
			e.t, e.energy = sum/energy, energy
			c.echoes = append(c.echoes, e)
		}
		i = j
	}
	return c.echoes
}
