package survey

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/crs"
)

const (
	// leastHeights is the number of elevations below which nothing is said.
	leastHeights = 3
	// steady is the share of an offset that the differences may scatter by.
	steady = 0.2
	// poleSlack is how close to a usual pole height an offset lies, in metres.
	poleSlack = 0.06
	// leastUndulation and mostUndulation bound the offset between ellipsoidal
	// and orthometric heights that is named, in metres: the geoid lies within
	// 110 m of the ellipsoid, and below 5 m other causes are likelier.
	leastUndulation, mostUndulation = 5, 110
	// geoidSlack is how well an offset must fit the EGM96 geoid, in metres:
	// its error, and that between it and a national one.
	geoidSlack = 2
)

// poles are the lengths at which survey poles are commonly used, in metres
// (common practice, no source).
var poles = [...]float64{1.3, 1.5, 1.8, 2, 2.5}

// heights names what the differences of elevation look like.
func heights(checks []vector.CornerCheck, c vector.CRS) []string {
	unit := metres(c.Vertical)
	var d, ratio []float64
	at := orb.Point{}
	for _, k := range checks {
		if math.IsNaN(k.DeltaU) {
			continue
		}
		d = append(d, k.DeltaU*unit)
		ratio = append(ratio, (k.SurveyedU+k.DeltaU)/k.SurveyedU)
		at = k.Surveyed
	}
	if len(d) < leastHeights {
		return nil
	}
	offset := middle(d)
	scatter := make([]float64, len(d))
	for i, v := range d {
		scatter[i] = math.Abs(v - offset)
	}
	if text := heightUnit(ratio, offset); text != "" {
		return []string{text}
	}
	if middle(scatter) > max(steady*math.Abs(offset), 0.05) {
		return nil
	}
	if text := heightOffset(offset, at, c); text != "" {
		return []string{text}
	}
	return singlePoles(checks, offset, unit)
}

// heightUnit tells elevations in the other unit by their ratio.
func heightUnit(ratio []float64, offset float64) string {
	r := middle(ratio)
	for _, foot := range []float64{vector.Foot.Metres, 1 / vector.Foot.Metres} {
		if math.Abs(r/foot-1) < 0.05 && math.Abs(offset) > 1 {
			return fmt.Sprintf("delivered elevations are %.4f of the surveyed ones: elevations in feet are mixed with metres", r)
		}
	}
	return ""
}

// heightOffset names a constant offset in metres.
func heightOffset(offset float64, at orb.Point, c vector.CRS) string {
	size := math.Abs(offset)
	for _, p := range poles {
		if math.Abs(size-p) < poleSlack {
			return fmt.Sprintf("all elevations differ by about %.2f m, which is a usual pole height: it was left in, or taken off twice", offset)
		}
	}
	if size < leastUndulation || size > mostUndulation {
		return ""
	}
	if n, ok := crs.Undulation(c, at); ok && math.Abs(size-math.Abs(n)) < geoidSlack {
		return fmt.Sprintf("elevations differ by about %.2f m, and the geoid lies %.2f m from the ellipsoid here (EGM96): ellipsoidal heights are mixed with orthometric ones", offset, n)
	}
	return fmt.Sprintf("elevations differ by about %.2f m throughout: ellipsoidal heights may be mixed with orthometric ones, or two vertical datums", offset)
}

// singlePoles names the points whose elevation alone is a pole height off.
func singlePoles(checks []vector.CornerCheck, offset, unit float64) []string {
	var found []string
	for _, k := range checks {
		d := k.DeltaU*unit - offset
		for _, p := range poles {
			if math.Abs(math.Abs(d)-p) < poleSlack {
				found = append(found, fmt.Sprintf("the elevation of point %s is %.2f m off the others, which is a usual pole height", k.ControlID, d))
			}
		}
	}
	return found
}
