package assess

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/control"
)

// A Method says how a delivery is adjusted to control points.
type Method string

// The methods.
const (
	NoAdjustment    Method = ""
	ShiftOnly       Method = "shift"
	WholeSimilarity Method = "similarity"
)

// ParseMethod returns the method of a name; an empty one is none.
func ParseMethod(name string) (Method, error) {
	switch m := Method(name); m {
	case NoAdjustment, ShiftOnly, WholeSimilarity:
		return m, nil
	}
	return "", fmt.Errorf("%q is no adjustment: write shift or similarity", name)
}

// Least numbers of matched control points: one more than the method needs, so
// that the fit can be seen.
const (
	leastForShift      = 2
	leastForSimilarity = 3
)

// ErrNoControl says that no point may adjust.
var ErrNoControl = errors.New("there is nothing to adjust to: give surveyed points the role control, by a column named role")

// An Adjustment takes delivered positions to surveyed ones.
type Adjustment struct {
	Method Method `json:"method"`
	// Points are the control points it was estimated from.
	Points []string `json:"control_points"`
	// LeftOut are control points whose difference is a blunder among those of
	// the control points: nothing is adjusted to them.
	LeftOut []control.Finding `json:"left_out"`
	// ShiftE and ShiftN are added in the middle of the points, with standard
	// error SigmaShift.
	ShiftE     control.Value `json:"shift_e"`
	ShiftN     control.Value `json:"shift_n"`
	SigmaShift control.Value `json:"sigma_shift"`
	// ScalePPM and RotationSec are in parts in a million and in seconds of
	// arc, anticlockwise, with their standard errors; 0 for a shift.
	ScalePPM      control.Value `json:"scale_ppm"`
	SigmaPPM      control.Value `json:"sigma_ppm"`
	RotationSec   control.Value `json:"rotation_seconds"`
	SigmaRotation control.Value `json:"sigma_rotation_seconds"`
	// S0 is the standard error of a coordinate after the fit.
	S0 control.Value `json:"s0"`
	// P is the chance of such a scale and rotation where there are none.
	P control.Value `json:"p"`
	// Before and After are the figures of the points held out: the checks.
	Before *control.Statistics `json:"before,omitempty"`
	After  *control.Statistics `json:"after,omitempty"`

	fit Similarity
}

// NewAdjustment estimates the adjustment from the matched control points.
// Blunders among them, found as control.FlagBlundersInPlace does, are left out
// and named: one of a metre would pull the whole block.
func NewAdjustment(m Method, checks []vector.CornerCheck) (*Adjustment, error) {
	var from, to []orb.Point
	var ids []string
	leftOut := []control.Finding{}
	for _, k := range controlPoints(checks) {
		if !k.Used {
			leftOut = append(leftOut, control.Finding{ControlID: k.ControlID, Reason: k.Reason})
			continue
		}
		to = append(to, k.Surveyed)
		from = append(from, orb.Point{k.Surveyed[0] + k.DeltaE, k.Surveyed[1] + k.DeltaN})
		ids = append(ids, k.ControlID)
	}
	least := leastForShift
	if m == WholeSimilarity {
		least = leastForSimilarity
	}
	switch {
	case len(from) == 0:
		return nil, fmt.Errorf("adjust: %w", ErrNoControl)
	case len(from) < least:
		return nil, fmt.Errorf("adjust: %d control points are matched, and a %s needs %d", len(from), m, least)
	}
	fit, err := fitTo(m, from, to)
	if err != nil {
		return nil, fmt.Errorf("adjust: %w", err)
	}
	a := adjustmentOf(fit)
	a.Method, a.Points, a.LeftOut = m, ids, leftOut
	return a, nil
}

// controlPoints returns the matched control points, with Used set but for
// blunders.
func controlPoints(checks []vector.CornerCheck) []vector.CornerCheck {
	var list []vector.CornerCheck
	for _, k := range checks {
		wall := control.Feature(k.Feature) == control.WallCorner // known less well than a roof's
		if k.Role == vector.RoleControl && !wall && !math.IsNaN(k.DeltaE+k.DeltaN) {
			k.Used, k.Reason = true, ""
			list = append(list, k)
		}
	}
	control.FlagBlundersInPlace(list)
	return list
}

// Worse reports whether the adjustment made the held-out points worse.
func (a *Adjustment) Worse() bool {
	return a.Before != nil && a.After != nil && a.After.RMSEH > a.Before.RMSEH
}

func fitTo(m Method, from, to []orb.Point) (Similarity, error) {
	if m == WholeSimilarity {
		return FitSimilarity(from, to)
	}
	s := Similarity{A: 1, From: middle(from), To: middle(to), DoF: 2*len(from) - 2, P: math.NaN()}
	var sum float64
	for i := range from {
		q := s.Apply(from[i])
		sum += (q[0]-to[i][0])*(q[0]-to[i][0]) + (q[1]-to[i][1])*(q[1]-to[i][1])
	}
	s.S0 = math.Sqrt(sum / float64(s.DoF))
	s.SigmaShift = s.S0 / math.Sqrt(float64(len(from)))
	return s, nil
}

const arcSeconds = 180 * 3600 / math.Pi

// adjustmentOf puts a fit into figures.
func adjustmentOf(s Similarity) *Adjustment {
	return &Adjustment{
		ShiftE: control.Value(s.To[0] - s.From[0]), ShiftN: control.Value(s.To[1] - s.From[1]), SigmaShift: control.Value(s.SigmaShift),
		ScalePPM: control.Value((s.Scale() - 1) * 1e6), SigmaPPM: control.Value(s.SigmaAB * 1e6),
		RotationSec: control.Value(s.Rotation() * arcSeconds), SigmaRotation: control.Value(s.SigmaAB * arcSeconds),
		S0: control.Value(s.S0), P: control.Value(s.P), fit: s,
	}
}

// Apply moves one position. A shift is rounded to a tenth of a millimetre in
// metres, the grid that outlines are snapped to, so that it keeps them valid.
func (a *Adjustment) Apply(p orb.Point) orb.Point {
	if a.Method == ShiftOnly {
		const grid = 1e4
		return orb.Point{
			p[0] + math.Round(float64(a.ShiftE)*grid)/grid,
			p[1] + math.Round(float64(a.ShiftN)*grid)/grid,
		}
	}
	return a.fit.Apply(p)
}

// Delivery returns the delivery with all positions moved; d is not changed.
// Checks are left as they are, to be matched anew.
func (a *Adjustment) Delivery(d vector.Delivery) vector.Delivery {
	moved := func(p orb.Polygon) orb.Polygon {
		out := make(orb.Polygon, len(p))
		for i, ring := range p {
			for _, q := range ring {
				out[i] = append(out[i], a.Apply(q))
			}
		}
		return out
	}
	footprints := make([]vector.Footprint, len(d.Footprints))
	for i, f := range d.Footprints {
		f.Polygon = moved(f.Polygon)
		f.Corners = append([]vector.Corner(nil), f.Corners...)
		for k := range f.Corners {
			f.Corners[k].Point = a.Apply(f.Corners[k].Point)
		}
		a.sides(&f)
		if f.Walls != nil {
			f.Walls = moved(f.Walls)
		}
		f.Arcs = append([]vector.Arc(nil), f.Arcs...)
		for k := range f.Arcs {
			f.Arcs[k].Centre = a.Apply(f.Arcs[k].Centre)
		}
		f.Parts = append([]vector.RoofPart(nil), f.Parts...)
		for k := range f.Parts {
			f.Parts[k].Polygon, f.Parts[k].Origin = moved(f.Parts[k].Polygon), a.Apply(f.Parts[k].Origin)
		}
		footprints[i] = f
	}
	held := append([]vector.HeldBack(nil), d.HeldBack...)
	for i := range held {
		held[i].Polygon = moved(held[i].Polygon)
	}
	d.Footprints, d.HeldBack = footprints, held
	return d
}

// sides moves the sides of a footprint and its fit; lengths go with the scale.
func (a *Adjustment) sides(f *vector.Footprint) {
	scale, turn := a.fit.Scale(), a.fit.Rotation()
	f.Sides = append([]vector.Side(nil), f.Sides...)
	for i := range f.Sides {
		s := &f.Sides[i]
		s.From, s.To = a.Apply(s.From), a.Apply(s.To)
		s.Overhang *= scale
	}
	if f.Adjustment == nil {
		return
	}
	fit := *f.Adjustment
	fit.Origin = a.Apply(fit.Origin)
	fit.Directions, fit.Offsets = append([]float64(nil), fit.Directions...), append([]float64(nil), fit.Offsets...)
	for i := range fit.Directions {
		fit.Directions[i] += turn
	}
	for i := range fit.Offsets {
		fit.Offsets[i] *= scale
	}
	f.Adjustment = &fit
}

// trend is the similarity from surveyed to delivered positions that the used
// differences show, as a finding; nil with too few points.
func trend(list []residual) *Adjustment {
	if len(list) < leastForSimilarity {
		return nil
	}
	var from, to []orb.Point
	for _, r := range list {
		from = append(from, r.at)
		to = append(to, orb.Point{r.at[0] + r.d[0], r.at[1] + r.d[1]})
	}
	s, err := FitSimilarity(from, to)
	if err != nil {
		return nil
	}
	a := adjustmentOf(s)
	a.Method = WholeSimilarity
	return a
}
