package extract

import (
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"quoin/vector"
)

// rimCells is how far from an outline, in cells of the roof stage, a rim
// reaches: cells are as coarse as the points are.
const rimCells = 1.5

// withoutRims leaves out of what was held back as vegetation, narrow or small what
// lies on or along a delivered outline all around: walls, parapets, rails, and edges
// beside which no roof prevailed. Drawn, they would look like second outlines. cell is the size of
// cells in CRS units.
func withoutRims(list []held, footprints []vector.Footprint, cell float64) []held {
	return slices.DeleteFunc(list, func(h held) bool {
		if h.reason != vector.HeldVegetation && h.reason != vector.HeldNarrow && h.reason != vector.HeldSmall {
			return false
		}
		bound := h.polygon.Bound()
		return slices.ContainsFunc(footprints, func(f vector.Footprint) bool {
			return f.Polygon.Bound().Pad(rimCells*cell).Intersects(bound) && along(h.polygon, f.Polygon, rimCells*cell)
		})
	})
}

// along reports whether all of a polygon's outer vertices lie in another one or
// within a distance of its boundary.
func along(p, other orb.Polygon, distance float64) bool {
	for _, v := range p[0] {
		if planar.PolygonContains(other, v) {
			continue
		}
		near := slices.ContainsFunc(other, func(r orb.Ring) bool {
			return planar.DistanceFrom(orb.LineString(r), v) <= distance
		})
		if !near {
			return false
		}
	}
	return true
}
