package assess

import (
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/control"
	"quoin/vector/survey"
)

// DefaultFloor is the standard error, in metres and on each axis, of where the
// edge of a roof is: between gutter lip, drip edge and verge board, surveyor
// and beam choose differently by a centimetre or two (common practice, no
// source).
const DefaultFloor = 0.02

// Options govern an assessment.
type Options struct {
	CRS vector.CRS
	// Area is the bound of the block.
	Area orb.Bound
	// TargetClass is the RMSE_H in metres that is asked for; 0 for none.
	TargetClass float64
	// Floor is the standard error of what an edge is, in metres.
	Floor float64
	// Footprints have the sides whose walls were compared with surveyed wall
	// corners; nil where there are none.
	Footprints []vector.Footprint
}

func (o Options) areaKm2() float64 {
	u := unitOf(o.CRS.Horizontal)
	return (o.Area.Max[0] - o.Area.Min[0]) * (o.Area.Max[1] - o.Area.Min[1]) * u * u / 1e6
}

// An Assessment is what the checks of a delivery come to. Lengths are in the
// units of the CRS.
type Assessment struct {
	control.Result
	Class        Class             `json:"class"`
	Bias         []Bias            `json:"bias"`
	Candidates   []control.Finding `json:"beyond_three_times_target"`
	Snooping     Snooping          `json:"snooping"`
	Distribution Distribution      `json:"distribution"`
	// Trend is a scale, rotation and shift of delivered against surveyed; nil
	// with fewer than three points.
	Trend       *Adjustment `json:"trend"`
	Consistency Consistency `json:"consistency"`
	Network     Network     `json:"network"`
	// Ground is the vertical test; nil without points on the ground.
	Ground *Vertical `json:"ground"`
	// Walls is the test of wall lines; nil without surveyed wall corners.
	Walls *Walls `json:"walls"`
	// Clusters tells what corners of one building being alike comes to.
	Clusters Clusters `json:"clusters"`
	// Adjustment is what was applied; nil for nothing.
	Adjustment *Adjustment `json:"adjustment"`
	// Suspects are mix-ups that the differences look like; Notes say how the
	// points were brought over.
	Suspects []string `json:"suspects"`
	Notes    []string `json:"notes"`
	// Ellipses has the 95 % figures of each used check, in order.
	Ellipses []Ellipse `json:"ellipses"`
}

// An Ellipse is the uncertainty that a difference was expected to have.
type Ellipse struct {
	ControlID string `json:"control_id"`
	// Major and Minor are the semi-axes of the standard error ellipse, Azimuth
	// the direction of the major one in degrees from north, clockwise, 0 to
	// 180.
	Major   control.Value `json:"major"`
	Minor   control.Value `json:"minor"`
	Azimuth control.Value `json:"azimuth_deg"`
	// Circle is the radius of the 95 % circle.
	Circle control.Value `json:"circle_95"`
	// Inside tells whether the difference lies in it.
	Inside bool `json:"inside"`
}

// Assess returns the assessment of checks that control.Match gave, with
// CheckGround where there is a surface and CheckWalls where there are walls. corners are those of the layer. Nothing is
// changed.
func Assess(checks []vector.CornerCheck, corners []vector.Corner, o Options) Assessment {
	unit := unitOf(o.CRS.Horizontal)
	floor, target := o.Floor/unit, o.TargetClass/unit
	a := Assessment{Result: control.Stats(checks), Notes: []string{}}
	checks, walls := apart(checks)
	a.Walls = wallsOf(walls, o.Footprints)
	list := residuals(checks, corners, floor)
	a.Clusters = clusters(list)
	a.Class = classify(a.Result, checks, o)
	a.Bias = biases(a.Kept, target)
	a.Candidates = candidates(checks, target)
	a.Snooping = snoop(list)
	a.Distribution = distribution(list, o.Area)
	a.Trend = trend(list)
	a.Consistency = consistency(list)
	a.Network = network(list, floor)
	a.Ground = vertical(checks)
	a.Suspects = append([]string{}, survey.Suspects(corners, checks, o.CRS)...)
	a.Ellipses = ellipses(list, a.Network)
	return a
}

// ellipses returns those of the differences: local, survey, floor and the
// georeferencing's.
func ellipses(list []residual, n Network) []Ellipse {
	out := []Ellipse{}
	for _, r := range list {
		if !r.known {
			continue
		}
		t := r.total()
		if n.known {
			t[0] += float64(n.GeoreferencingE * n.GeoreferencingE)
			t[1] += float64(n.GeoreferencingN * n.GeoreferencingN)
		}
		major, minor, direction := vector.Ellipse(math.Sqrt(t[0]), math.Sqrt(t[1]), t[2])
		circle := vector.Circle95(major, minor)
		out = append(out, Ellipse{
			ControlID: r.id, Major: control.Value(major), Minor: control.Value(minor), Azimuth: control.Value(vector.Azimuth(direction)),
			Circle: control.Value(circle), Inside: math.Hypot(r.d[0], r.d[1]) <= circle,
		})
	}
	return out
}
