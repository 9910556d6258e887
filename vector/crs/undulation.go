package crs

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-proj/v11"

	"quoin/vector"
)

// Undulation returns the height of the EGM96 geoid above the WGS 84 ellipsoid
// at a place in c, in metres; false where the place or the grid of the geoid
// (egm96_15.gtx, 15 minutes of arc) is not known here. It is good to about a
// metre, for telling kinds of heights apart, not for transforming them.
func Undulation(c vector.CRS, at orb.Point) (float64, bool) {
	if !c.Known() {
		return 0, false
	}
	t, err := NewTransformer(c, WGS84(), at, Options{AllowBallpark: true})
	if err != nil {
		return 0, false
	}
	place, err := t.Forward(at)
	if err != nil {
		return 0, false
	}
	pj, err := proj.New("+proj=vgridshift +grids=egm96_15.gtx +multiplier=1")
	if err != nil {
		return 0, false
	}
	got, err := pj.Forward(proj.Coord{place[0] * math.Pi / 180, place[1] * math.Pi / 180})
	if err != nil || math.IsInf(got[2], 0) || math.IsNaN(got[2]) || got[2] == 0 {
		return 0, false
	}
	return got[2], true
}
