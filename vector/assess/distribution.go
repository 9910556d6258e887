package assess

import (
	"math"

	"github.com/paulmach/orb"

	"quoin/vector/control"
)

// The rule of the NSSDA for where check points lie (FGDC-STD-007.3-1998,
// section 3.2.2, from memory).
const (
	leastQuadrant = 0.20 // of the points in each quadrant of the area
	leastSpacing  = 0.10 // of the diagonal between any two
)

// A Distribution is how the used points lie in the area.
type Distribution struct {
	// Quadrants has the share of the points in the quadrants of the area,
	// south-west, south-east, north-west, north-east.
	Quadrants [4]float64 `json:"quadrants"`
	// Nearest is the least distance of two points, and Spacing the least that
	// the rule asks for.
	Nearest control.Value `json:"nearest"`
	Spacing control.Value `json:"spacing"`
	// Balanced and Spaced tell whether the two parts of the rule are kept.
	Balanced bool `json:"balanced"`
	Spaced   bool `json:"spaced"`
}

func distribution(list []residual, area orb.Bound) Distribution {
	d := Distribution{
		Nearest: control.Value(math.NaN()), Balanced: len(list) > 0, Spaced: len(list) > 0,
		Spacing: control.Value(leastSpacing * math.Hypot(area.Max[0]-area.Min[0], area.Max[1]-area.Min[1])),
	}
	c := area.Center()
	for i, r := range list {
		q := 0
		if r.at[0] >= c[0] {
			q++
		}
		if r.at[1] >= c[1] {
			q += 2
		}
		d.Quadrants[q] += 1 / float64(len(list))
		for _, o := range list[:i] {
			if away := control.Value(math.Hypot(r.at[0]-o.at[0], r.at[1]-o.at[1])); !(away >= d.Nearest) {
				d.Nearest = away
			}
		}
	}
	const rounding = 1e-9
	for _, share := range d.Quadrants {
		d.Balanced = d.Balanced && share >= leastQuadrant-rounding
	}
	d.Spaced = d.Spaced && !(d.Nearest < d.Spacing)
	return d
}
