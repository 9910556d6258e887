package assess

import (
	"quoin/vector"
	"quoin/vector/control"
)

// Walls is the test of wall lines against surveyed wall corners. It is apart
// from that of roof edges: another thing is measured there.
type Walls struct {
	// Surveyed counts the wall corners that test, Matched those whose walls
	// are seen; Buildings those with a used one.
	Surveyed  int                `json:"surveyed"`
	Matched   int                `json:"matched"`
	Buildings int                `json:"buildings"`
	All       control.Statistics `json:"all_matched"`
	Kept      control.Statistics `json:"without_blunders"`
	Blunders  []control.Finding  `json:"blunders"`
	// NotComparable are those without walls, or without a corner of walls
	// near.
	NotComparable []control.Finding `json:"not_comparable"`
	Consistency   Consistency       `json:"consistency"`
}

// CheckWalls compares the points on wall corners with the corners of the wall
// lines of footprints, within a radius in the unit of the CRS, in place; see
// control.MatchWallsInPlace.
func CheckWalls(checks []vector.CornerCheck, points []control.Point, footprints []vector.Footprint, radius float64) {
	control.MatchWallsInPlace(checks, points, wallCorners(footprints), radius)
}

func wallCorners(footprints []vector.Footprint) []vector.Corner {
	var list []vector.Corner
	for _, f := range footprints {
		list = append(list, control.WallCorners(f)...)
	}
	return list
}

// Apart reports whether a check is of a wall or of the ground: it is in no figure
// of roof corners.
func Apart(k vector.CornerCheck) bool { return !control.Feature(k.Feature).Corner() }

// apart separates the checks of walls from all others.
func apart(checks []vector.CornerCheck) (others, walls []vector.CornerCheck) {
	for _, k := range checks {
		if control.Feature(k.Feature) == control.WallCorner {
			walls = append(walls, k)
		} else {
			others = append(others, k)
		}
	}
	return others, walls
}

// wallsOf sums up the checks of walls; nil when there is none.
func wallsOf(checks []vector.CornerCheck, footprints []vector.Footprint) *Walls {
	if len(checks) == 0 {
		return nil
	}
	asCorners := append([]vector.CornerCheck(nil), checks...)
	for i := range asCorners {
		asCorners[i].Feature = string(control.RoofCorner) // for the same statistics
	}
	r := control.Stats(asCorners)
	return &Walls{
		Surveyed: r.Surveyed - r.Others, Matched: r.Matched, Buildings: r.Buildings, All: r.All, Kept: r.Kept,
		Blunders: r.Blunders, NotComparable: r.Unmatched,
		// The wall's relief is in its standard error: no floor is added.
		Consistency: consistency(residuals(checks, wallCorners(footprints), 0)),
	}
}
