package plate

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// A Corner is what the plate of a surveyed point shows.
type Corner struct {
	vector.CornerCheck
	// Corner is the delivered one; nil where none was matched.
	Corner *vector.Corner
	// Footprints and Marks are what is around it.
	Footprints []vector.Footprint
	Marks      []Mark
	Under      Underlay
}

// CornerBound returns the place that a surveyed point's plate shows: a square of at
// least 2 m that holds the difference and the ellipse.
func (s Sheet) CornerBound(c Corner) orb.Bound {
	half := 1 / s.metres()
	if d := math.Hypot(c.DeltaE, c.DeltaN); d == d {
		half = max(half, 2*d)
	}
	if c.Corner != nil {
		if major, _, _ := axes(*c.Corner); major > 0 && !math.IsInf(major, 0) {
			half = max(half, 1.5*ellipse95*major)
		}
	}
	return around(c.Surveyed, half)
}

// Corner returns the plate of a surveyed point, to scale.
func (s Sheet) Corner(c Corner) string {
	d := s.draw(s.CornerBound(c), c.Under, "The surveyed point "+c.ControlID+" and the corner next to it")
	for _, f := range c.Footprints {
		if !f.Polygon.Bound().Intersects(d.bound) {
			continue
		}
		if c.Corner != nil && f.ID == c.Corner.BuildingID {
			d.marks(f.Polygon, c.Marks)
		}
		d.outline(f)
	}
	x, y := d.at(c.Surveyed)
	d.ellipse("survey", x, y, max(c.SurveySigma[0], c.SurveySigma[1]), min(c.SurveySigma[0], c.SurveySigma[1]), turned(c.SurveySigma), 1)
	if c.Corner != nil {
		d.corners([]vector.Corner{*c.Corner}, 1)
	}
	d.difference(c.CornerCheck, 1)
	return d.close("Surveyed point "+c.ControlID, c.facts(s), c.legend())
}

// turned is the direction of the larger axis of surveyed standard errors.
func turned(sigma [3]float64) float64 {
	if sigma[1] > sigma[0] {
		return math.Pi / 2
	}
	return 0
}

// facts are the figures of the comparison.
func (c Corner) facts(s Sheet) []string {
	u := s.CRS.Horizontal.Symbol
	if c.Corner == nil {
		return []string{"No corner was matched.", c.Reason}
	}
	lines := []string{
		fmt.Sprintf("Delivered minus surveyed: east %+.3f, north %+.3f %s", c.DeltaE, c.DeltaN, u),
		fmt.Sprintf("Distance %.3f %s", math.Hypot(c.DeltaE, c.DeltaN), u),
	}
	if major, minor, _ := axes(*c.Corner); major > 0 {
		lines = append(lines, fmt.Sprintf("Standard errors along the axes %.3f, %.3f %s", major, minor, u))
	}
	lines = append(lines, fmt.Sprintf("Building %s, ring %d, vertex %d", c.BuildingID, c.Ring, c.Vertex))
	if !c.Used {
		lines = append(lines, "Not used: "+c.Reason)
	}
	return lines
}

func (c Corner) legend() []string {
	of := "relative to the cloud"
	if c.Corner != nil && c.Corner.Network != nil {
		of = "in the CRS, as surveyed points tell"
	}
	lines := []string{
		"Blue ellipse: holds 95 % of the corner's error " + of + ", to scale.",
		"Cross: surveyed. Line: from there to where the corner was delivered.",
	}
	if c.SurveySigma[0] > 0 {
		lines = append(lines, "Yellow ellipse: 95 % of the survey's own error.")
	}
	if len(c.Marks) > 0 {
		lines = append(lines, "Amber: a pulse met the roof; blue: it passed. Ringed: on the wrong side.")
	}
	return lines
}
