package survey

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/control"
)

// Bounds within which an offset is named after its cause.
const (
	// feetApart is the relative difference of the two feet.
	feetApart = 2e-6
	// feetSlack is how far from it a measured one may lie.
	feetSlack = 0.4e-6
	// leastScale is the least difference of ground and grid that an offset is
	// named after: smaller ones cannot be told from other causes.
	leastScale = 1e-5
	// leastOffset is the least offset worth a word, in metres: below it, it is
	// within what rounding and definition of an edge come to.
	leastOffset = 0.03
	// sure is the number of standard errors that an offset must come to.
	sure = 4
)

// Suspects names the mix-ups that the differences of checks look like; none
// when nothing does. corners are those of the layer, for an offset so large
// that points were not matched, or to wrong corners.
func Suspects(corners []vector.Corner, checks []vector.CornerCheck, c vector.CRS) []string {
	var found []string
	offset, at, slack, ok := meanOffset(checks)
	if !ok {
		offset, at, slack, ok = commonOffset(corners, checks, c.Horizontal)
		if ok {
			found = append(found, fmt.Sprintf("most surveyed points fit corners when all are moved by %.2f east and %.2f north: not the corners but the whole survey or the whole cloud lies aside", offset[0], offset[1]))
		}
	}
	if ok {
		if text := nameOffset(offset, at, slack, c); text != "" {
			found = append(found, text)
		}
	}
	return append(found, heights(checks, c)...)
}

// meanOffset returns the mean difference of the used checks, their middle and
// the standard error of the mean; false where fewer than half of the points
// on roofs are used, or less than three.
func meanOffset(checks []vector.CornerCheck) (offset, at orb.Point, slack float64, ok bool) {
	var n, all float64
	for _, k := range checks {
		if !control.Feature(k.Feature).Corner() {
			continue
		}
		all++
		if math.IsNaN(k.DeltaE + k.DeltaN) {
			continue
		}
		n++
		for axis, d := range [2]float64{k.DeltaE, k.DeltaN} {
			offset[axis] += d
			at[axis] += k.Surveyed[axis]
		}
	}
	if n < 3 || n < all/2 {
		return offset, at, 0, false
	}
	for axis := range offset {
		offset[axis] /= n
		at[axis] /= n
	}
	var sum float64
	for _, k := range checks {
		if !math.IsNaN(k.DeltaE + k.DeltaN) {
			sum += (k.DeltaE-offset[0])*(k.DeltaE-offset[0]) + (k.DeltaN-offset[1])*(k.DeltaN-offset[1])
		}
	}
	return offset, at, math.Sqrt(sum / 2 / (n - 1) / n), true
}

// nameOffset says what an offset along the position vector looks like. slack is
// the standard error of the offset on an axis.
func nameOffset(offset, at orb.Point, slack float64, c vector.CRS) string {
	far := math.Hypot(at[0], at[1])
	length := math.Hypot(offset[0], offset[1])
	if far == 0 || length < sure*slack || length*metres(c.Horizontal) < leastOffset {
		return ""
	}
	along := (offset[0]*at[0] + offset[1]*at[1]) / far
	across := (offset[1]*at[0] - offset[0]*at[1]) / far
	if math.Abs(across) > 3*slack+0.05*length {
		return ""
	}
	scale, unsure := along/far, 2*slack/far
	feet := c.Horizontal == vector.Foot || c.Horizontal == vector.USSurveyFoot
	switch size := math.Abs(scale); {
	case feet && math.Abs(size-feetApart) < feetSlack+unsure:
		return fmt.Sprintf("the differences have the size and direction of the 2 parts in a million of the coordinates that the international and the US survey foot differ by (%.3f east, %.3f north): cloud or survey is in the other foot", offset[0], offset[1])
	case size > leastScale && size < mostScale:
		return fmt.Sprintf("the differences grow with the coordinates from their origin, by a factor of %.6f: ground coordinates are mixed with grid coordinates", 1+scale)
	}
	return ""
}

func metres(u vector.Unit) float64 {
	if u.Known() {
		return u.Metres
	}
	return 1
}

const (
	// mostVoters and mostCorners bound the search for a common offset.
	mostVoters, mostCorners = 100, 50000
	// cellSize is the width of a cell of the votes, in metres.
	cellSize = 1.0
	// reach is the largest offset that is looked for, in metres.
	reach = 400
)

// commonOffset looks for one offset that brings most points to corners, by
// votes of all pairs of a point and a corner. It holds when it explains six of
// ten points, four at least, and clearly more than any offset elsewhere.
func commonOffset(corners []vector.Corner, checks []vector.CornerCheck, unit vector.Unit) (offset, at orb.Point, slack float64, ok bool) {
	var voters []orb.Point
	for _, k := range checks {
		if control.Feature(k.Feature).Corner() && len(voters) < mostVoters {
			voters = append(voters, k.Surveyed)
		}
	}
	if len(voters) < 4 || len(corners) > mostCorners {
		return offset, at, 0, false
	}
	cell, far := cellSize/metres(unit), reach/metres(unit)
	votes := countVotes(voters, corners, cell, far)
	best, second := twoBest(votes)
	n := votes[best]
	if n < 4 || float64(n) < 0.6*float64(len(voters)) || float64(votes[second]) > 0.7*float64(n) {
		return offset, at, 0, false
	}
	var e, north []float64
	for _, p := range voters {
		for _, c := range corners {
			d := orb.Point{c.Point[0] - p[0], c.Point[1] - p[1]}
			if math.Abs(d[0]-float64(best[0])*cell) <= 1.5*cell && math.Abs(d[1]-float64(best[1])*cell) <= 1.5*cell {
				e, north = append(e, d[0]), append(north, d[1])
			}
		}
		at[0] += p[0] / float64(len(voters))
		at[1] += p[1] / float64(len(voters))
	}
	return orb.Point{middle(e), middle(north)}, at, cell / 4 / math.Sqrt(float64(len(e))), true
}

type cellAt [2]int

// countVotes counts in each cell of offsets, widened by a cell on each side,
// the points that a corner gives such an offset.
func countVotes(voters []orb.Point, corners []vector.Corner, cell, far float64) map[cellAt]int {
	votes := map[cellAt]int{}
	last := map[cellAt]int{} // the voter that voted last, from 1
	for v, p := range voters {
		for _, c := range corners {
			e, n := c.Point[0]-p[0], c.Point[1]-p[1]
			if !(math.Abs(e) <= far && math.Abs(n) <= far) {
				continue
			}
			i, k := int(math.Round(e/cell)), int(math.Round(n/cell))
			for di := -1; di <= 1; di++ {
				for dk := -1; dk <= 1; dk++ {
					at := cellAt{i + di, k + dk}
					if last[at] != v+1 {
						last[at] = v + 1
						votes[at]++
					}
				}
			}
		}
	}
	return votes
}

// twoBest returns the cell with the most votes and the best that is not beside
// it. Of equals the one with the smaller offset comes first.
func twoBest(votes map[cellAt]int) (best, second cellAt) {
	cells := make([]cellAt, 0, len(votes))
	for c := range votes {
		cells = append(cells, c)
	}
	slices.SortFunc(cells, func(a, b cellAt) int {
		if d := votes[b] - votes[a]; d != 0 {
			return d
		}
		if d := a[0]*a[0] + a[1]*a[1] - b[0]*b[0] - b[1]*b[1]; d != 0 {
			return d
		}
		return slices.Compare(a[:], b[:])
	})
	if len(cells) == 0 {
		return best, second
	}
	best, second = cells[0], cellAt{math.MaxInt32, math.MaxInt32}
	for _, c := range cells[1:] {
		if abs(c[0]-best[0]) > 3 || abs(c[1]-best[1]) > 3 {
			return best, c
		}
	}
	return best, second
}

func abs(i int) int { return max(i, -i) }

// middle returns the median; NaN of none. The values are sorted in place.
func middle(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	slices.Sort(v)
	return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
}
