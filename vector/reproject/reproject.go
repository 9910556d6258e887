package reproject

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/crs"
)

// Options govern a reprojection.
type Options struct {
	// AllowBallpark accepts a transformation without knowledge of the datums.
	AllowBallpark bool
}

// ErrHeights says that heights would have to change their datum.
var ErrHeights = errors.New("the heights can't be taken there: name the vertical CRS of the cloud, or leave it out")

// Delivery returns d in another CRS, with the operation that took it there; d
// is not changed. Covariances go by J Σ Jᵀ, J being the derivative of the
// transformation at their place; differences of checks by the same J. Lengths
// without a direction are scaled by its mean factor. Heights keep their datum
// and take the vertical unit of the new CRS where it names one on the same
// datum.
//
// The new CRS must be one in which lengths can be measured. It is an error when
// nothing is known of how the datums lie, unless that is allowed.
func Delivery(d vector.Delivery, to vector.CRS, at orb.Point, o Options) (vector.Delivery, crs.Operation, error) {
	switch {
	case !d.CRS.Known():
		return d, crs.Operation{}, errors.New("reproject: the CRS of the cloud is unknown: name it with --crs")
	case !to.Measurable():
		return d, crs.Operation{}, fmt.Errorf("reproject: %s has coordinates that are no lengths: name a projected CRS (the GeoJSON is in longitude and latitude anyway)", to)
	}
	t, err := crs.NewTransformer(d.CRS, to, at, crs.Options{AllowBallpark: o.AllowBallpark})
	if errors.Is(err, crs.ErrBallpark) {
		return d, crs.Operation{}, fmt.Errorf("reproject: %w; accept that with --accept-ballpark", err)
	}
	if err != nil {
		return d, crs.Operation{}, fmt.Errorf("reproject: %w", err)
	}
	m := &mover{t: t, step: 1 / d.CRS.Horizontal.Metres}
	if to, err = m.heights(d.CRS, to, at); err != nil {
		return d, crs.Operation{}, fmt.Errorf("reproject: %w", err)
	}
	out, err := m.delivery(d)
	if err != nil {
		return d, crs.Operation{}, fmt.Errorf("reproject: %w", err)
	}
	out.CRS = to
	return out, m.operation(), nil
}

// heights settles how heights are taken over, and returns the new CRS with its
// vertical part filled in.
func (m *mover) heights(from, to vector.CRS, at orb.Point) (vector.CRS, error) {
	m.up = 1
	if to.VerticalCode == 0 {
		to.VerticalCode, to.Vertical = from.VerticalCode, from.Vertical
		return to, nil
	}
	if from.Vertical.Known() && to.Vertical.Known() {
		m.up = from.Vertical.Metres / to.Vertical.Metres
	}
	if crs.SameHeights(from, to) {
		return to, nil
	}
	var err error
	if m.datum, err = crs.NewHeights(from, to, at); err != nil {
		return to, fmt.Errorf("%w: %w", ErrHeights, err)
	}
	return to, nil
}

// elevation takes an elevation at a place in the old CRS over; differences of
// elevations and heights above ground go by m.up alone.
func (m *mover) elevation(p orb.Point, z float64) (float64, error) {
	if m.datum == nil {
		return z * m.up, nil
	}
	return m.datum.Forward(p, z)
}

// elevations takes several at one place over, in place.
func (m *mover) elevations(p orb.Point, list ...*float64) error {
	for _, z := range list {
		var err error
		if *z, err = m.elevation(p, *z); err != nil {
			return err
		}
	}
	return nil
}

// operation is that of positions, with that of heights where their datum
// changes.
func (m *mover) operation() crs.Operation {
	o := m.t.Operation()
	if m.datum != nil {
		o.Name += "; heights by " + m.datum.Operation().String() + "; positions by the former"
	}
	return o
}

// mover moves what a delivery holds.
type mover struct {
	t *crs.Transformer
	// step is half the width over which derivatives are taken, a metre: over
	// that the curvature of a projection comes to 10⁻¹³, and rounding of
	// coordinates of ten million to 10⁻⁹.
	step float64
	up   float64
	// datum is nil where the vertical datum stays.
	datum *crs.Heights
}

// A jacobian is the derivative of a transformation at a place: that of the new
// east and north by the old ones.
type jacobian struct{ ee, en, ne, nn float64 }

func (m *mover) jacobian(p orb.Point) (jacobian, error) {
	var columns [2][2]float64
	for axis := range columns {
		before, after := p, p
		before[axis] -= m.step
		after[axis] += m.step
		b, err := m.t.Forward(before)
		if err != nil {
			return jacobian{}, err
		}
		a, err := m.t.Forward(after)
		if err != nil {
			return jacobian{}, err
		}
		columns[axis] = [2]float64{(a[0] - b[0]) / (2 * m.step), (a[1] - b[1]) / (2 * m.step)}
	}
	return jacobian{columns[0][0], columns[1][0], columns[0][1], columns[1][1]}, nil
}

// covariance returns J Σ Jᵀ as standard errors and covariance.
func (j jacobian) covariance(sigmaE, sigmaN, cov float64) (e, n, en float64) {
	ee, nn := sigmaE*sigmaE, sigmaN*sigmaN
	return math.Sqrt(j.ee*j.ee*ee + 2*j.ee*j.en*cov + j.en*j.en*nn),
		math.Sqrt(j.ne*j.ne*ee + 2*j.ne*j.nn*cov + j.nn*j.nn*nn),
		j.ee*j.ne*ee + (j.ee*j.nn+j.en*j.ne)*cov + j.en*j.nn*nn
}

// vector turns and scales a difference.
func (j jacobian) vector(e, n float64) (float64, float64) {
	return j.ee*e + j.en*n, j.ne*e + j.nn*n
}

// scale is the mean factor of lengths, the root of that of areas.
func (j jacobian) scale() float64 { return math.Sqrt(math.Abs(j.ee*j.nn - j.en*j.ne)) }

func (m *mover) delivery(d vector.Delivery) (vector.Delivery, error) {
	footprints := make([]vector.Footprint, len(d.Footprints))
	for i, f := range d.Footprints {
		var err error
		if footprints[i], err = m.footprint(f); err != nil {
			return d, fmt.Errorf("building %s: %w", f.ID, err)
		}
	}
	held := make([]vector.HeldBack, len(d.HeldBack))
	for i, h := range d.HeldBack {
		var err error
		if held[i], err = m.heldBack(h); err != nil {
			return d, err
		}
	}
	checks := make([]vector.CornerCheck, len(d.Checks))
	for i, k := range d.Checks {
		var err error
		if checks[i], err = m.check(k); err != nil {
			return d, fmt.Errorf("surveyed point %s: %w", k.ControlID, err)
		}
	}
	images := make([]vector.ImageCheck, len(d.ImageChecks))
	for i, k := range d.ImageChecks {
		var err error
		if images[i], err = m.imageCheck(k); err != nil {
			return d, fmt.Errorf("building %s: %w", k.BuildingID, err)
		}
	}
	d.Footprints, d.HeldBack, d.Checks, d.ImageChecks = footprints, held, checks, images
	return d, nil
}

func (m *mover) polygon(p orb.Polygon) (orb.Polygon, error) {
	out := make(orb.Polygon, len(p))
	for i, ring := range p {
		out[i] = make(orb.Ring, len(ring))
		for k, q := range ring {
			var err error
			if out[i][k], err = m.t.Forward(q); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

func (m *mover) footprint(f vector.Footprint) (vector.Footprint, error) {
	if len(f.Polygon) == 0 || len(f.Polygon[0]) == 0 {
		return f, nil
	}
	j, err := m.jacobian(f.Polygon.Bound().Center())
	if err != nil {
		return f, err
	}
	f.EdgeRMS *= j.scale()
	f.EaveHeight, f.RidgeHeight = f.EaveHeight*m.up, f.RidgeHeight*m.up
	if err := m.elevations(f.Polygon.Bound().Center(), &f.GroundElevation, &f.LowestGround, &f.HighestGround, &f.HighestPoint, &f.GeneralRoof); err != nil {
		return f, err
	}
	if f.Polygon, err = m.polygon(f.Polygon); err != nil {
		return f, err
	}
	corners := make([]vector.Corner, len(f.Corners))
	for i, c := range f.Corners {
		if corners[i], err = m.corner(c); err != nil {
			return f, err
		}
	}
	f.Corners = corners
	if f, err = m.roof(f, j); err != nil {
		return f, err
	}
	return m.fit(f, j)
}

// fit moves sides, walls and the adjustment of a footprint. Lengths take the
// mean factor at its middle; directions turn as a line to the east does there.
func (m *mover) fit(f vector.Footprint, j jacobian) (vector.Footprint, error) {
	var err error
	sides := append([]vector.Side(nil), f.Sides...)
	for i := range sides {
		s := &sides[i]
		if s.From, err = m.t.Forward(s.From); err != nil {
			return f, err
		}
		if s.To, err = m.t.Forward(s.To); err != nil {
			return f, err
		}
		s.SigmaLength, s.Overhang, s.SigmaOverhang = s.SigmaLength*j.scale(), s.Overhang*j.scale(), s.SigmaOverhang*j.scale()
		s.Low, s.High = s.Low*m.up, s.High*m.up
	}
	f.Sides = sides
	f.AreaSigma *= j.scale() * j.scale()
	arcs := append([]vector.Arc(nil), f.Arcs...)
	for i := range arcs {
		a := &arcs[i]
		if a.Centre, err = m.t.Forward(a.Centre); err != nil {
			return f, err
		}
		a.SigmaE, a.SigmaN, a.CovEN = j.covariance(a.SigmaE, a.SigmaN, a.CovEN)
		a.Radius, a.SigmaRadius, a.ChordError = a.Radius*j.scale(), a.SigmaRadius*j.scale(), a.ChordError*j.scale()
	}
	f.Arcs = arcs
	if f.Walls != nil {
		if f.Walls, err = m.polygon(f.Walls); err != nil {
			return f, err
		}
	}
	if f.Adjustment != nil {
		f.Adjustment, err = m.adjustment(*f.Adjustment, j)
	}
	return f, err
}

func (m *mover) adjustment(a vector.Adjustment, j jacobian) (*vector.Adjustment, error) {
	var err error
	if a.Origin, err = m.t.Forward(a.Origin); err != nil {
		return nil, err
	}
	turn, scale := math.Atan2(j.ne-j.en, j.ee+j.nn), j.scale()
	directions, offsets := make([]float64, len(a.Directions)), make([]float64, len(a.Offsets))
	for i, v := range a.Directions {
		directions[i] = v + turn
	}
	for i, v := range a.Offsets {
		offsets[i] = v * scale
	}
	covariance := append([]float64(nil), a.Covariance...)
	at := 0
	for i := range a.Parameters() {
		for k := i; k < a.Parameters(); k++ {
			if i >= len(directions) {
				covariance[at] *= scale
			}
			if k >= len(directions) {
				covariance[at] *= scale
			}
			at++
		}
	}
	a.Directions, a.Offsets, a.Covariance = directions, offsets, covariance
	return &a, nil
}

func (m *mover) corner(c vector.Corner) (vector.Corner, error) {
	j, err := m.jacobian(c.Point)
	if err != nil {
		return c, err
	}
	if err := m.elevations(c.Point, &c.Elevation); err != nil {
		return c, err
	}
	if c.Point, err = m.t.Forward(c.Point); err != nil {
		return c, err
	}
	c.SigmaE, c.SigmaN, c.CovEN = j.covariance(c.SigmaE, c.SigmaN, c.CovEN)
	c.SigmaU *= m.up
	if n := c.Network; n != nil {
		moved := vector.NetworkError{}
		moved.SigmaE, moved.SigmaN, moved.CovEN = j.covariance(n.SigmaE, n.SigmaN, n.CovEN)
		c.Network = &moved
	}
	return c, nil
}

func (m *mover) heldBack(h vector.HeldBack) (vector.HeldBack, error) {
	if len(h.Polygon) == 0 || len(h.Polygon[0]) == 0 {
		return h, nil
	}
	j, err := m.jacobian(h.Polygon.Bound().Center())
	if err != nil {
		return h, err
	}
	h.Area *= j.scale() * j.scale()
	h.Height *= m.up
	h.Polygon, err = m.polygon(h.Polygon)
	return h, err
}

func (m *mover) check(k vector.CornerCheck) (vector.CornerCheck, error) {
	j, err := m.jacobian(k.Surveyed)
	if err != nil {
		return k, err
	}
	if err := m.elevations(k.Surveyed, &k.SurveyedU); err != nil {
		return k, err
	}
	if k.Surveyed, err = m.t.Forward(k.Surveyed); err != nil {
		return k, err
	}
	k.DeltaE, k.DeltaN = j.vector(k.DeltaE, k.DeltaN)
	// A survey without standard errors is still without.
	if k.SurveySigma[0] > 0 || k.SurveySigma[1] > 0 {
		k.SurveySigma[0], k.SurveySigma[1], _ = j.covariance(k.SurveySigma[0], k.SurveySigma[1], 0)
	}
	k.DeltaU, k.SurveySigma[2] = k.DeltaU*m.up, k.SurveySigma[2]*m.up
	return k, nil
}

func (m *mover) imageCheck(k vector.ImageCheck) (vector.ImageCheck, error) {
	j, err := m.jacobian(k.At)
	if err != nil {
		return k, err
	}
	if k.At, err = m.t.Forward(k.At); err != nil {
		return k, err
	}
	k.DeltaE, k.DeltaN = j.vector(k.DeltaE, k.DeltaN)
	k.BesideE, k.BesideN = j.vector(k.BesideE, k.BesideN)
	k.SigmaE, k.SigmaN, _ = j.covariance(k.SigmaE, k.SigmaN, 0)
	k.SizeBias, k.SigmaSize, k.Residual = k.SizeBias*j.scale(), k.SigmaSize*j.scale(), k.Residual*j.scale()
	return k, nil
}

// Point takes one position over, by the operation that is best there.
func Point(from, to vector.CRS, p orb.Point) (orb.Point, error) {
	t, err := crs.NewTransformer(from, to, p, crs.Options{AllowBallpark: true})
	if err != nil {
		return p, fmt.Errorf("reproject: %w", err)
	}
	return t.Forward(p)
}
