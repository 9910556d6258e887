package control

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"
	"github.com/tidwall/rtree"

	"quoin/vector"
)

// straight is the deviation from 180 degrees up to which a vertex is no corner
// that anybody surveys: it is there because a neighbour's corner meets the
// edge. It is well below the 5 degrees or so of the flattest corners of
// buildings (common practice, no source).
const straight = 1.0

// Match compares surveyed points with the corners of the footprints and
// returns one check for each point, in their order.
//
// Each corner goes to one point at most and each point to one corner, no
// further apart than radius in plan, such that the sum of squared distances,
// with radius² for each point left over, is the least possible: not the
// nearest first, which depends on the order. A point left over is not used, and
// its reason says how far the nearest corner is, or who has it. Vertices at
// which an outline goes straight on take no part.
//
// Of the matched points, blunders are flagged as FlagBlundersInPlace says: they
// keep their corner and differences, and have a reason that begins with
// BlunderReason. corners and points are not changed.
func Match(corners []vector.Corner, points []Point, radius float64) []vector.CornerCheck {
	var index rtree.RTreeG[int]
	bound := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for i, c := range corners {
		if !(math.Abs(c.AngleDeg-180) <= straight) {
			index.Insert(c.Point, c.Point, i)
			bound = bound.Extend(c.Point)
		}
	}
	found := assign(len(points), len(corners), gate(corners, points, &index, radius), radius*radius)
	owner := make(map[int]string, len(points))
	for i, c := range found {
		if c >= 0 {
			owner[c] = points[i].ID
		}
	}
	checks := make([]vector.CornerCheck, len(points))
	for i, p := range points {
		if c := found[i]; c >= 0 {
			checks[i] = compare(p, corners[c])
			continue
		}
		checks[i] = uncompared(p)
		if !p.Feature.Corner() {
			checks[i].Reason = notACorner(p.Feature)
			continue
		}
		nearest, away := nearestCorner(&index, p.XY(), corners)
		switch {
		case nearest < 0:
			checks[i].Reason = "there is no corner to compare with"
		case away <= radius && owner[nearest] == "":
			checks[i].Reason = fmt.Sprintf("the nearest corner, of %s, is %.2f away, but the description names another building", corners[nearest].BuildingID, away)
		case away <= radius:
			checks[i].Reason = fmt.Sprintf("the corner of %s %.2f away went to point %s", corners[nearest].BuildingID, away, owner[nearest])
		case !bound.Pad(radius).Contains(p.XY()):
			checks[i].Reason = fmt.Sprintf("outside the delivered buildings: the nearest corner, of %s, is %.2f away", corners[nearest].BuildingID, away)
		default:
			checks[i].Reason = fmt.Sprintf("the nearest corner, of %s, is %.2f away, beyond the radius of %.2f", corners[nearest].BuildingID, away, radius)
		}
	}
	FlagBlundersInPlace(checks)
	return checks
}

// uncompared returns the check of a point without a corner.
func uncompared(p Point) vector.CornerCheck {
	nan := math.NaN()
	role := p.Role
	if role == "" || role == vector.RoleControl && p.Feature == CheckOnly {
		role = vector.RoleCheck
	}
	return vector.CornerCheck{
		ControlID: p.ID, Surveyed: p.XY(), SurveyedU: p.Elevation, SurveySigma: p.Sigma, Role: role, Feature: string(p.Feature),
		DeltaE: nan, DeltaN: nan, DeltaU: nan,
	}
}

// compare returns the check of a point with its corner. One that may adjust, or
// that the cloud was fitted to, is no test.
func compare(p Point, c vector.Corner) vector.CornerCheck {
	k := uncompared(p)
	k.BuildingID, k.Ring, k.Vertex = c.BuildingID, c.Ring, c.Vertex
	k.DeltaE, k.DeltaN, k.DeltaU = c.Point[0]-p.East, c.Point[1]-p.North, c.Elevation-p.Elevation
	switch k.Role {
	case vector.RoleControl:
		k.Reason = "control: it may adjust, so it does not test"
	case vector.RoleGeoreferencing:
		k.Reason = "the cloud was fitted to it, so it does not test"
	default:
		k.Used = true
	}
	return k
}

// notACorner says why a point is not compared with corners.
func notACorner(f Feature) string {
	if f == WallCorner {
		return wallsUnseen
	}
	return "a point on the " + string(f) + ": it tests the ground, not a corner"
}

// gate returns the pairs of points and corners within the radius. Of one point
// only the nearest corners are needed, as many as there are points: with all
// others matched, one of them is still free. That bounds the pairs where the
// radius is out of all proportion.
//
// A description that holds the identifier of a building keeps its point to
// that building; a point on something else than a roof has no pairs.
func gate(corners []vector.Corner, points []Point, index *rtree.RTreeG[int], radius float64) []pair {
	var pairs []pair
	names := make(map[string]string)
	for _, c := range corners {
		names[strings.ToLower(c.BuildingID)] = c.BuildingID
	}
	for i, p := range points {
		if !p.Feature.Corner() {
			continue
		}
		from, only := len(pairs), ""
		for _, w := range wordsOf(p.Description) {
			if id, ok := names[w]; ok && id != "" {
				only = id
			}
		}
		b := p.XY().Bound().Pad(radius)
		index.Search(b.Min, b.Max, func(_, _ [2]float64, c int) bool {
			de, dn := corners[c].Point[0]-p.East, corners[c].Point[1]-p.North
			if sq := de*de + dn*dn; sq <= radius*radius && (only == "" || corners[c].BuildingID == only) {
				pairs = append(pairs, pair{i, c, sq})
			}
			return true
		})
		mine := pairs[from:]
		slices.SortFunc(mine, func(a, b pair) int { return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.corner, b.corner)) })
		if len(mine) > len(points) {
			pairs = pairs[:from+len(points)]
		}
	}
	return pairs
}

// nearestCorner returns the nearest indexed corner and its distance, the first
// of equals; −1 when there is none.
func nearestCorner(index *rtree.RTreeG[int], p orb.Point, corners []vector.Corner) (int, float64) {
	best, away := -1, math.Inf(1)
	index.Nearby(
		func(lo, hi [2]float64, _ int, _ bool) float64 {
			return math.Hypot(max(lo[0]-p[0], 0, p[0]-hi[0]), max(lo[1]-p[1], 0, p[1]-hi[1]))
		},
		func(_, _ [2]float64, c int, _ float64) bool {
			d := math.Hypot(corners[c].Point[0]-p[0], corners[c].Point[1]-p[1])
			if best >= 0 && d > away {
				return false
			}
			if best < 0 || c < best {
				best, away = c, d
			}
			return true
		})
	return best, away
}
