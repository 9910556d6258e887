package assess

import (
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/control"
)

// leastForNetwork is the number of used points from which on the error of the
// cloud in the CRS is estimated.
const leastForNetwork = 3

// reachOfChecks is how far beyond the box of the used points corners count as
// checked, as a share of the box's diagonal.
const reachOfChecks = 0.25

// A Network is the error of corners in the CRS, as far as surveyed points tell:
// local² + georeferencing² + floor².
type Network struct {
	// GeoreferencingE and GeoreferencingN are the standard errors of the
	// cloud's own position: what the differences hold beyond the local errors,
	// those of the survey and the floor, shift of the whole block included. 0
	// where they hold nothing beyond.
	GeoreferencingE control.Value `json:"georeferencing_e"`
	GeoreferencingN control.Value `json:"georeferencing_n"`
	// Floor is the standard error of what an edge is, on each axis.
	Floor control.Value `json:"edge_floor"`
	// Corners counts those that have a network error.
	Corners int `json:"corners"`
	box     orb.Bound
	known   bool
}

// network estimates the error of the cloud's position: the mean square of the
// differences less what is expected of them, for each axis (method of moments,
// which is unbiased as long as it is not cut at zero).
func network(list []residual, floor float64) Network {
	nan := control.Value(math.NaN())
	n := Network{GeoreferencingE: nan, GeoreferencingN: nan, Floor: control.Value(floor)}
	if len(list) < leastForNetwork || !allKnown(list) {
		return n
	}
	var beyond [2]float64
	n.box = orb.Bound{Min: list[0].at, Max: list[0].at}
	for _, r := range list {
		n.box = n.box.Extend(r.at)
		for axis := range beyond {
			beyond[axis] += (r.d[axis]*r.d[axis] - r.variance(axis)) / float64(len(list))
		}
	}
	n.box = n.box.Pad(reachOfChecks * math.Hypot(n.box.Max[0]-n.box.Min[0], n.box.Max[1]-n.box.Min[1]))
	n.GeoreferencingE, n.GeoreferencingN = control.Value(math.Sqrt(max(beyond[0], 0))), control.Value(math.Sqrt(max(beyond[1], 0)))
	n.known = true
	return n
}

// error returns that of a corner; nil where no surveyed points are near, or the
// corner has no standard errors.
func (n Network) error(c vector.Corner) *vector.NetworkError {
	if !n.known || !n.box.Contains(c.Point) || math.IsNaN(c.SigmaE+c.SigmaN+c.CovEN) {
		return nil
	}
	root := func(local float64, georeferencing control.Value) float64 {
		return math.Sqrt(local*local + float64(georeferencing*georeferencing+n.Floor*n.Floor))
	}
	return &vector.NetworkError{SigmaE: root(c.SigmaE, n.GeoreferencingE), SigmaN: root(c.SigmaN, n.GeoreferencingN), CovEN: c.CovEN}
}

// SetNetwork returns the footprints with the network errors of their corners,
// and counts them. The footprints given are not changed.
func (a *Assessment) SetNetwork(footprints []vector.Footprint) []vector.Footprint {
	a.Network.Corners = 0
	out := make([]vector.Footprint, len(footprints))
	for i, f := range footprints {
		f.Corners = append([]vector.Corner(nil), f.Corners...)
		for k := range f.Corners {
			if f.Corners[k].Network = a.Network.error(f.Corners[k]); f.Corners[k].Network != nil {
				a.Network.Corners++
			}
		}
		out[i] = f
	}
	return out
}
