package report

import (
	"math"
	"slices"

	"quoin/vector"
)

// An arrow is the difference at a surveyed point, from the surveyed position
// towards the delivered one, in pixels of the plan.
type arrow struct {
	ID               string
	X, Y, EndX, EndY float64
	Used             bool
}

// arrowLength is the length in pixels that the median arrow of a used point is
// drawn with, longestArrow that of any: a blunder must not cross the plan.
const arrowLength, longestArrow = 14, 60

// arrows lays out the differences that are known.
func (p *plan) arrows(checks []vector.CornerCheck) {
	var used []float64
	for _, k := range checks {
		if d := math.Hypot(k.DeltaE, k.DeltaN); k.Used && d > 0 {
			used = append(used, d)
		}
	}
	if len(used) == 0 {
		return
	}
	slices.Sort(used)
	p.ArrowFactor = max(roundLength(arrowLength/(used[len(used)/2]*p.scale)), 1)
	for _, k := range checks {
		if math.IsNaN(k.DeltaE) || math.IsNaN(k.DeltaN) {
			continue
		}
		x, y := p.at(k.Surveyed)
		e, n := k.DeltaE*p.scale*p.ArrowFactor, k.DeltaN*p.scale*p.ArrowFactor
		if length := math.Hypot(e, n); length > longestArrow {
			e, n = e*longestArrow/length, n*longestArrow/length
		}
		p.Arrows = append(p.Arrows, arrow{k.ControlID, x, y, x + e, y - n, k.Used})
	}
}
