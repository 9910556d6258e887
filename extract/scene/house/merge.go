package house

import (
	"fmt"
	"math"
)

// Merge returns one building of several: a house with a round tower, a church
// with an apse. The first gives the id, the kind and the eave.
func Merge(parts ...*Building) (*Building, error) {
	whole := *parts[0]
	for _, p := range parts[1:] {
		whole.Bodies = append(whole.Bodies, p.Bodies...)
		whole.plans, whole.planes = append(whole.plans, p.plans...), append(whole.planes, p.planes...)
		whole.outlines, whole.rails = append(whole.outlines, p.outlines...), append(whole.rails, p.rails...)
		whole.lips = append(whole.lips, p.lips...)
		whole.Arcs = append(whole.Arcs, p.Arcs...)
		whole.Ridge, whole.Highest = math.Max(whole.Ridge, p.Ridge), math.Max(whole.Highest, p.Highest)
		var err error
		if whole.RoofEdge, err = unite(whole.RoofEdge, p.RoofEdge); err != nil {
			return nil, fmt.Errorf("house: merge %s: %w", whole.ID, err)
		}
		if whole.WallLine, err = unite(whole.WallLine, p.WallLine); err != nil {
			return nil, fmt.Errorf("house: merge %s: %w", whole.ID, err)
		}
	}
	return &whole, nil
}
