package survey

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/control"
	"quoin/vector/crs"
)

func asOutside(err error, target **control.OutsideError) bool { return errors.As(err, target) }

// A bridge takes points from their CRS and units to those of the block.
type bridge struct {
	from, to vector.CRS
	// unit is the factor from the numbers of the file to the unit of their
	// CRS, up that from its elevations to the vertical unit of the block.
	unit, up float64
	// transformer is nil where the two CRSs are the same.
	transformer *crs.Transformer
	centre      orb.Point
	given       vector.Unit
	ellipsoidal bool
	// datum takes elevations to the vertical datum of the block; nil where that
	// is theirs, or is not known to be another. noHeights says why elevations
	// are left out.
	datum     *crs.Heights
	noHeights error
	// assumed is the unit that elevations are taken to be in where nothing
	// says so; unknown where something does.
	assumed vector.Unit
}

// newBridge returns the bridge from the CRS that the user names, else the
// file's, else the block's.
func newBridge(file vector.CRS, o Options) (*bridge, error) {
	b := &bridge{from: o.ControlCRS, to: o.CRS, unit: 1, up: 1, centre: o.Block.Center(), given: o.Unit, ellipsoidal: o.Ellipsoidal}
	if !b.from.Known() {
		b.from = file
	}
	if !b.from.Known() {
		b.from = o.CRS
	}
	vertical := b.from.Vertical
	if !vertical.Known() && !crs.Same(b.from, o.CRS) {
		vertical, b.assumed = b.from.Horizontal, b.from.Horizontal
	}
	if o.Unit.Known() {
		b.assumed = vector.Unit{}
		vertical = o.Unit
		if b.from.Horizontal.Known() {
			b.unit = o.Unit.Metres / b.from.Horizontal.Metres
		}
	}
	if vertical.Known() && o.CRS.Vertical.Known() {
		b.up = vertical.Metres / o.CRS.Vertical.Metres
	}
	b.heights()
	if !b.from.Known() || !b.to.Known() || crs.Same(b.from, b.to) {
		if b.from.Known() && !b.to.Known() {
			return nil, errors.New("the points are in a known CRS and the cloud is not: name its CRS with --crs")
		}
		return b, nil
	}
	// PROJ chooses at a place that is given in the CRS it comes from.
	back, err := crs.NewTransformer(b.to, b.from, b.centre, crs.Options{AllowBallpark: true})
	if err != nil {
		return nil, err
	}
	at, err := back.Forward(b.centre)
	if err != nil {
		return nil, err
	}
	b.transformer, err = crs.NewTransformer(b.from, b.to, at, crs.Options{AllowBallpark: o.AllowBallpark})
	if errors.Is(err, crs.ErrBallpark) {
		return nil, fmt.Errorf("%w; accept that with --accept-ballpark, or bring the points over yourself", err)
	}
	return b, err
}

// heights finds how elevations are taken over where both vertical datums are
// named and differ, or where they are heights above the ellipsoid.
func (b *bridge) heights() {
	if !b.ellipsoidal && (b.from.VerticalCode == 0 || b.to.VerticalCode == 0 || crs.SameHeights(b.from, b.to)) {
		return
	}
	at := b.centre
	if !crs.Same(b.from, b.to) {
		back, err := crs.NewTransformer(b.to, b.from, b.centre, crs.Options{AllowBallpark: true})
		if err == nil {
			at, err = back.Forward(b.centre)
		}
		if err != nil {
			b.noHeights = err
			return
		}
	}
	between := crs.NewHeights
	if b.ellipsoidal {
		between = crs.NewEllipsoidalHeights
	}
	b.datum, b.noHeights = between(b.from, b.to, at)
}

// elevation takes one over: of the file, at a place in the CRS of the points.
func (b *bridge) elevation(p orb.Point, z float64) (float64, error) {
	switch {
	case b.noHeights != nil:
		return math.NaN(), nil
	case b.datum == nil:
		return z * b.up, nil
	}
	metres := z * b.up * b.to.Vertical.Metres
	if b.ellipsoidal {
		return b.datum.Forward(p, metres)
	}
	// The operation takes the unit of the vertical CRS of the points.
	return b.datum.Forward(p, metres/b.from.Vertical.Metres)
}

// describe notes what is done to coordinates.
func (b *bridge) describe(s *Survey) {
	if b.unit != 1 {
		s.Notes = append(s.Notes, fmt.Sprintf("surveyed coordinates are taken from %s to %s", b.given.Name, b.from.Horizontal.Name))
	}
	if b.datum != nil {
		s.Notes = append(s.Notes, "elevations of surveyed points are taken over by "+b.datum.Operation().String())
	}
	if b.noHeights != nil {
		s.Warnings = append(s.Warnings, "elevations of surveyed points are not compared: "+b.noHeights.Error())
	}
	if b.transformer == nil {
		return
	}
	if b.assumed.Known() {
		s.Notes = append(s.Notes, fmt.Sprintf("elevations of surveyed points are taken to be in %s, as their easting and northing are", b.assumed.Name))
	}
	o := b.transformer.Operation()
	s.Notes = append(s.Notes, "surveyed points are taken over by "+o.String())
	switch {
	case o.Ballpark:
		s.Warnings = append(s.Warnings, "surveyed points are taken over without knowledge of how the datums lie: differences may be off by hundreds of metres")
	case o.Null:
		s.Warnings = append(s.Warnings, fmt.Sprintf("surveyed points are taken from %s to %s unchanged, as if the realisations were the same: differences may be off by a metre or two", o.From, o.To))
	}
	if !b.ellipsoidal && (b.from.VerticalCode == 0) != (b.to.VerticalCode == 0) {
		s.Warnings = append(s.Warnings, "elevations of surveyed points are taken as they are: the two vertical datums are not known to be the same")
	}
}

// bring takes one point over, its standard errors with it.
func (b *bridge) bring(p control.Point) (control.Point, error) {
	p.East, p.North = p.East*b.unit, p.North*b.unit
	var err error
	if p.Elevation, err = b.elevation(p.XY(), p.Elevation); err != nil {
		return p, fmt.Errorf("point %q: %w", p.ID, err)
	}
	scale := b.unit
	if b.transformer != nil {
		q, err := b.transformer.Forward(p.XY())
		if err != nil {
			return p, fmt.Errorf("point %q: %w", p.ID, err)
		}
		p.East, p.North = q[0], q[1]
		// Standard errors of degrees are given as lengths on the ground, in the
		// unit of the points, or metres.
		from := b.from.Horizontal
		if b.given.Known() {
			from = b.given
		}
		if !from.Known() {
			from = vector.Metre
		}
		scale = from.Metres / b.to.Horizontal.Metres
	}
	p.Sigma[0], p.Sigma[1], p.Sigma[2] = p.Sigma[0]*scale, p.Sigma[1]*scale, p.Sigma[2]*b.up
	return p, nil
}

// back returns the bound of the block in the numbers of the points' file.
func (b *bridge) back(block orb.Bound) (orb.Bound, error) {
	out := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	const steps = 4
	for i := range steps + 1 {
		for k := range steps + 1 {
			q := orb.Point{
				block.Min[0] + (block.Max[0]-block.Min[0])*float64(i)/steps,
				block.Min[1] + (block.Max[1]-block.Min[1])*float64(k)/steps,
			}
			if b.transformer != nil {
				var err error
				if q, err = b.transformer.Inverse(q); err != nil {
					return out, err
				}
			}
			out = out.Extend(orb.Point{q[0] / b.unit, q[1] / b.unit})
		}
	}
	return out, nil
}
