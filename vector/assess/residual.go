package assess

import (
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// A residual is one used check with what it was expected to scatter by.
type residual struct {
	id, building string
	at           orb.Point
	d            [2]float64
	// local, survey and floor are covariances: of the corner in the cloud, of
	// the surveyed point, and of what the edge is; EE, NN, EN.
	local, survey [3]float64
	floor         float64
	known         bool // the corner has standard errors
	surveyed      bool // and so has the survey
}

// variance returns the expected variance of the difference on an axis.
func (r residual) variance(axis int) float64 { return r.local[axis] + r.survey[axis] + r.floor }

type cornerKey struct {
	building     string
	ring, vertex int
}

// residuals returns those of the checks that count.
func residuals(checks []vector.CornerCheck, corners []vector.Corner, floor float64) []residual {
	byKey := make(map[cornerKey]vector.Corner, len(corners))
	for _, c := range corners {
		byKey[cornerKey{c.BuildingID, c.Ring, c.Vertex}] = c
	}
	var list []residual
	for _, k := range checks {
		if !k.Used || math.IsNaN(k.DeltaE+k.DeltaN) {
			continue
		}
		c := byKey[cornerKey{k.BuildingID, k.Ring, k.Vertex}]
		r := residual{
			id: k.ControlID, building: k.BuildingID, at: k.Surveyed, d: [2]float64{k.DeltaE, k.DeltaN}, floor: floor * floor,
			local:  [3]float64{c.SigmaE * c.SigmaE, c.SigmaN * c.SigmaN, c.CovEN},
			survey: [3]float64{k.SurveySigma[0] * k.SurveySigma[0], k.SurveySigma[1] * k.SurveySigma[1], 0},
		}
		r.known = r.local[0] > 0 && r.local[1] > 0 && !math.IsNaN(r.local[2])
		r.surveyed = k.SurveySigma[0] > 0 && k.SurveySigma[1] > 0
		list = append(list, r)
	}
	return list
}

// allKnown reports whether each corner has standard errors.
func allKnown(list []residual) bool {
	for _, r := range list {
		if !r.known {
			return false
		}
	}
	return len(list) > 0
}
