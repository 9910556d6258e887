package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/topology"
)

// A plan lays the block out in the pixels of its image, y downwards.
type plan struct {
	Width, Height float64
	// Bar is the length of the scale bar in pixels, BarText what it says.
	Bar     float64
	BarText string

	// Exaggeration is how many times too large the ellipses of corners are
	// drawn; 0 where there are none.
	Exaggeration float64
	// Arrows are the differences at surveyed points, ArrowFactor times too
	// long.
	Arrows      []arrow
	ArrowFactor float64

	bound orb.Bound
	scale float64 // pixels a CRS unit
	unit  vector.Unit
}

func newPlan(c Content) plan {
	size := c.Image.Bounds().Size()
	p := plan{Width: float64(size.X), Height: float64(size.Y), bound: c.Bound, unit: c.Delivery.CRS.Horizontal}
	p.scale = p.Width / (c.Bound.Max[0] - c.Bound.Min[0])
	inReport := c.Format.convert(1, p.unit) // round in the unit of the report
	length := roundLength(p.Width/p.scale/5*inReport) / inReport
	p.Bar, p.BarText = length*p.scale, c.Format.length(decimals(length*inReport), length, p.unit)
	p.Exaggeration = exaggeration(c.Delivery.Corners(), p.scale)
	p.arrows(c.Delivery.Checks)
	return p
}

// roundLength returns the largest 1, 2 or 5 times a power of ten that is not
// above a length.
func roundLength(l float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(l)))
	for _, f := range []float64{5, 2} {
		if f*power <= l {
			return f * power
		}
	}
	return power
}

// at returns the pixel of a position.
func (p plan) at(q orb.Point) (x, y float64) {
	return (q[0] - p.bound.Min[0]) * p.scale, (p.bound.Max[1] - q[1]) * p.scale
}

// path returns the rings of a polygon as the path of an SVG element.
func (p plan) path(polygon orb.Polygon) string {
	var b strings.Builder
	for _, ring := range polygon {
		for i, q := range ring[:max(len(ring)-1, 0)] {
			x, y := p.at(q)
			command := "L"
			if i == 0 {
				command = "M"
			}
			fmt.Fprintf(&b, "%s%.2f %.2f", command, x, y)
		}
		b.WriteByte('Z')
	}
	return b.String()
}

// A building is one footprint as the page shows it.
type building struct {
	vector.Footprint
	Number   int
	Path     string
	X, Y     float64 // where its number stands
	Area     float64 // square metres
	SigmaMax float64
	View     string // the part of the plan around it, for a viewBox
	Dots     []dot
}

// A dot is a corner on the plan.
type dot struct {
	X, Y     float64
	Adjusted bool
	ellipse
}

func (p plan) buildings(c Content) []building {
	list := make([]building, len(c.Delivery.Footprints))
	metres := p.unit.Metres
	for i, f := range c.Delivery.Footprints {
		b := building{
			Footprint: f, Number: i + 1, Path: p.path(f.Polygon), View: p.around(f.Polygon.Bound()),
			Area: topology.Area(f.Polygon) * metres * metres, SigmaMax: f.CornerSigmaMax(),
		}
		b.X, b.Y = p.at(f.Polygon.Bound().Center())
		for _, corner := range f.Corners {
			if corner.Kind == vector.Round {
				continue
			}
			x, y := p.at(corner.Point)
			b.Dots = append(b.Dots, dot{x, y, corner.Kind == vector.Adjusted, ellipseOf(corner, p.scale*p.Exaggeration)})
		}
		list[i] = b
	}
	return list
}

// around returns a square view of a place with a third of its size about it.
func (p plan) around(b orb.Bound) string {
	x, y := p.at(b.Center())
	half := p.scale * max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]) * 0.85
	return fmt.Sprintf("%.1f %.1f %.1f %.1f", x-half, y-half, 2*half, 2*half)
}

// A look is a building that a person should look at.
type look struct {
	building
	Why []string
}

// looks returns the buildings with a reason, the least trusted first.
func (p plan) looks(all []building) []look {
	var list []look
	for _, b := range all {
		if len(b.Review) == 0 {
			continue
		}
		l := look{building: b}
		for _, r := range b.Review {
			l.Why = append(l.Why, explain(r))
		}
		list = append(list, l)
	}
	slices.SortStableFunc(list, func(a, b look) int {
		switch {
		case a.Quality < b.Quality:
			return -1
		case a.Quality > b.Quality:
			return 1
		}
		return 0
	})
	return list
}

// explain says a reason in a sentence.
func explain(r vector.Reason) string {
	switch r {
	case vector.ReviewOccluded:
		return "Part of an edge is not seen: something hides it."
	case vector.ReviewVegetation:
		return "Vegetation covers part of the roof or its edge."
	case vector.ReviewSparse:
		return "There are few points for its size."
	case vector.ReviewAtBlockEdge:
		return "The data end here: part of the building may be missing."
	case vector.ReviewIrregular:
		return "Straight edges and right angles do not explain all points."
	case vector.ReviewVehicleLike:
		return "It has the size of a truck or a container."
	case vector.ReviewTentLike:
		return "It has the shape of a marquee."
	case vector.ReviewSeveral:
		return "It may be a row of several houses: nothing shows where one ends."
	case vector.ReviewOpenRoof:
		return "Ground is seen below the roof: a canopy, a carport, or glass."
	case vector.ReviewAdjoining:
		return "The outline was cut where it met a neighbour's."
	}
	return string(r)
}
