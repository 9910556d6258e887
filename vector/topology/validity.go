package topology

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
)

// A Violation says which rule of OGC Simple Features a polygon breaks, and
// where.
type Violation struct {
	// Rule names what is wrong, as "polygon ring not simple".
	Rule string
	// Where is a place at or near the fault; NaN where there is none to name.
	Where orb.Point
}

// Error returns the rule and the place.
func (v *Violation) Error() string {
	if math.IsNaN(v.Where[0]) {
		return "topology: " + v.Rule
	}
	return fmt.Sprintf("topology: %s at %s %s", v.Rule,
		strconv.FormatFloat(v.Where[0], 'f', 4, 64), strconv.FormatFloat(v.Where[1], 'f', 4, 64))
}

var nowhere = orb.Point{math.NaN(), math.NaN()}

// Validate returns nil for a polygon that is valid by OGC Simple Features
// (06-103r4, 6.1.11), else a *Violation: rings are closed and simple, touch
// each other at single points at most, holes lie inside the exterior, and the
// interior is connected. An empty polygon is not valid: it is no outline. The
// way the rings run is not part of it; see Oriented.
func Validate(p orb.Polygon) error {
	if len(p) == 0 || len(p[0]) == 0 {
		return &Violation{"polygon is empty", nowhere}
	}
	for _, ring := range p {
		if v := checkNumbers(ring); v != nil {
			return v
		}
	}
	o := origin(p)
	err := toGeom(p, o).Validate()
	if err == nil {
		return nil
	}
	return violation(err, o)
}

func checkNumbers(ring orb.Ring) error {
	for _, q := range ring {
		if sum := q[0] + q[1]; math.IsNaN(sum - sum) {
			return &Violation{"coordinate is not a finite number", nowhere}
		}
	}
	switch {
	case len(ring) == 0:
		return &Violation{"polygon ring empty", nowhere}
	case len(ring) < 4:
		return &Violation{fmt.Sprintf("ring has %d positions, at least 4 are needed", len(ring)), ring[0]}
	case ring[0] != ring[len(ring)-1]:
		return &Violation{"polygon ring not closed", ring[0]}
	}
	return nil
}

// placeInMessage finds the position in a message of simplefeatures, whose error types
// cannot be matched otherwise.
var placeInMessage = regexp.MustCompile(`^(.*) \(at or near \{(\S+) (\S+)\}\)$`)

// violation turns an error of simplefeatures, about the origin o, into one of
// ours.
func violation(err error, o orb.Point) *Violation {
	for inner := errors.Unwrap(err); inner != nil; inner = errors.Unwrap(err) {
		err = inner
	}
	v := &Violation{strings.TrimSpace(err.Error()), nowhere}
	if m := placeInMessage.FindStringSubmatch(v.Rule); m != nil {
		x, errX := strconv.ParseFloat(m[2], 64)
		y, errY := strconv.ParseFloat(m[3], 64)
		if errX == nil && errY == nil {
			v.Rule, v.Where = m[1], orb.Point{x + o[0], y + o[1]}
		}
	}
	return v
}
