package form

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/topology"
)

// Shares of a roof's area, or of its edge's length, that its type follows from.
// Common practice, no source.
const (
	mostOf     = 0.5  // a dome, a vault, a cone
	mainly     = 0.65 // flat, or sloping
	oneWay     = 0.85 // of the slopes fall the same way: shed or saw-tooth
	steepShare = 0.05 // of the slopes are a mansard's lower ones
	toothShare = 0.08 // the least tooth of a saw-tooth roof
	vergeShare = 0.12 // of the edge runs up a slope: gables, no hips
)

// steep is the pitch in degrees from which a slope is a mansard's lower one.
const steep = 52

// sameWay is the cosine of the largest angle between two aspects that are the
// same, 30 degrees.
const sameWay = 0.866

// An edge is a piece of the roof's outline and the part beneath it.
type edge struct {
	part   *Part
	length float64
	up     float64 // elevation at its middle
	fall   float64 // cosine between outward and down the slope; 0 of a level part
}

// outer returns the edges of the parts that no other part shares. A part of
// unknown form gives none.
func (r *Roof) outer() []edge {
	shared := make(map[[2]orb.Point]bool)
	for i := range r.Parts {
		eachEdge(r.Parts[i].Polygon, func(a, b orb.Point) { shared[[2]orb.Point{a, b}] = true })
	}
	var list []edge
	for i := range r.Parts {
		p := &r.Parts[i]
		if math.IsNaN(p.Plane.Z) {
			continue
		}
		eachEdge(p.Polygon, func(a, b orb.Point) {
			if shared[[2]orb.Point{b, a}] {
				return
			}
			e := edge{part: p, length: math.Hypot(b[0]-a[0], b[1]-a[1]), up: p.Plane.At((a[0]+b[0])/2, (a[1]+b[1])/2)}
			if p.Form == vector.FormPlane && p.Plane.Pitch() >= FlatPitch {
				e.fall = -(p.Plane.GX*(b[1]-a[1]) - p.Plane.GY*(b[0]-a[0])) / e.length / math.Hypot(p.Plane.GX, p.Plane.GY)
			}
			list = append(list, e)
		})
	}
	return list
}

// eave is the cosine of the angle to the slope within which a side is one that
// the roof falls to.
const eave = 0.7

// generalEave returns the median elevation along those sides that the roof
// falls to, or along level ones where more of its area is flat than sloping; NaN
// where most of the outline is below curved parts. A level part lower down, a
// porch or a terrace, does not count on a roof of slopes.
func generalEave(edges []edge, flat, sloping float64) float64 {
	var low, level []edge
	curved, whole := 0.0, 0.0
	for _, e := range edges {
		whole += e.length
		switch {
		case e.part.Form != vector.FormPlane:
			curved += e.length
		case e.fall == 0:
			level = append(level, e)
		case e.fall >= eave:
			low = append(low, e)
		}
	}
	switch {
	case 2*curved > whole:
		return math.NaN()
	case flat > sloping:
		return median(level)
	}
	return median(low)
}

// median returns the median elevation of edges by their length; NaN of none.
func median(edges []edge) float64 {
	list := slices.Clone(edges)
	slices.SortStableFunc(list, func(a, b edge) int { return cmp.Compare(a.up, b.up) })
	whole, sum := 0.0, 0.0
	for _, e := range list {
		whole += e.length
	}
	for _, e := range list {
		if sum += e.length; 2*sum >= whole {
			return e.up
		}
	}
	return math.NaN()
}

// judge sets the type of a roof from its parts.
func (r *Roof) judge() {
	r.Pitch, r.Aspect, r.Eave, r.Ridge = math.NaN(), math.NaN(), math.NaN(), r.ridge()
	forms := make(map[vector.PartForm]float64)
	var level, slopes []*Part
	var known, flat, sloping, sum float64
	for i := range r.Parts {
		p := &r.Parts[i]
		area := topology.Area(p.Polygon)
		forms[p.Form] += area
		if p.Form == vector.FormUnknown {
			continue
		}
		known, sum = known+area, sum+area*p.mean
		switch {
		case p.Form != vector.FormPlane:
		case p.Plane.Pitch() < FlatPitch:
			level, flat = append(level, p), flat+area
		default:
			slopes, sloping = append(slopes, p), sloping+area
		}
	}
	if r.Mean = sum / known; known == 0 {
		return
	}
	edges := r.outer()
	r.Eave = generalEave(edges, flat, sloping)
	r.Type = vector.RoofComplex
	switch {
	case forms[vector.FormDome] > mostOf*known:
		r.Type = vector.RoofDome
	case forms[vector.FormVault] > mostOf*known:
		r.Type = vector.RoofVault
	case forms[vector.FormCone] > mostOf*known:
		r.Type = vector.RoofCone
	case flat >= mainly*known:
		r.Type = vector.RoofFlat
	case sloping >= mainly*known:
		r.Type = pitched(slopes, edges)
	}
	if main := slopes; len(main) > 0 && r.Type != vector.RoofFlat {
		r.Pitch, r.Aspect = meanPitch(main), main[0].Plane.Aspect()
	} else if len(level) > 0 {
		r.Pitch = meanPitch(level)
	}
}

// ridgeShare is the share of the roof's area from which a part counts for its
// ridge: a tower does, plant on a hall and a dormer do not.
const ridgeShare = 0.05

func (r *Roof) ridge() float64 {
	whole, top := 0.0, math.Inf(-1)
	for _, p := range r.Parts {
		whole += topology.Area(p.Polygon)
	}
	for _, p := range r.Parts {
		if topology.Area(p.Polygon) >= ridgeShare*whole && p.Ridge > top {
			top = p.Ridge
		}
	}
	if math.IsInf(top, -1) {
		return math.NaN()
	}
	return top
}

func meanPitch(parts []*Part) float64 {
	var sum, area float64
	for _, p := range parts {
		a := topology.Area(p.Polygon)
		sum, area = sum+a*p.Plane.Pitch(), area+a
	}
	return sum / area
}

// pitched tells roofs of slopes apart.
func pitched(slopes []*Part, edges []edge) vector.RoofType {
	var area, along, steepArea float64
	first := slopes[0]
	teeth := 0
	for _, p := range slopes {
		a := topology.Area(p.Polygon)
		area += a
		if cosine(p, first) > sameWay {
			along += a
		}
		if p.Plane.Pitch() >= steep {
			steepArea += a
		}
	}
	for _, p := range slopes {
		if cosine(p, first) > sameWay && topology.Area(p.Polygon) >= toothShare*area && math.Abs(p.Plane.Pitch()-first.Plane.Pitch()) < FlatPitch &&
			math.Abs(p.Eave-first.Eave) < (first.Ridge-first.Eave)/2 {
			teeth++
		}
	}
	if along >= oneWay*area {
		if teeth > 1 {
			return vector.RoofSawtooth
		}
		return vector.RoofShed
	}
	if steepArea >= steepShare*area && steepArea < mostOf*area {
		return vector.RoofMansard
	}
	var verge, length float64
	for _, e := range edges {
		length += e.length
		if e.fall != 0 && math.Abs(e.fall) < eave {
			verge += e.length
		}
	}
	if verge >= vergeShare*length {
		return vector.RoofGable
	}
	return vector.RoofHip
}

// cosine is that of the angle between two aspects.
func cosine(p, q *Part) float64 {
	return (p.Plane.GX*q.Plane.GX + p.Plane.GY*q.Plane.GY) /
		(math.Hypot(p.Plane.GX, p.Plane.GY) * math.Hypot(q.Plane.GX, q.Plane.GY))
}
