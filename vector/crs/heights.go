package crs

/*
#include <proj.h>
#include <proj_experimental.h>
*/
import "C"

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-proj/v11"

	"quoin/vector"
)

// ErrHeights says that heights can't be taken from one vertical datum to the
// other here: no relation is on record, or its grid is not installed.
var ErrHeights = errors.New("no transformation of heights between the vertical datums can be made here")

// Heights takes elevations from the vertical datum and unit of one CRS to those
// of another. It is not safe for concurrent use.
type Heights struct {
	pj        *proj.PJ
	operation Operation
}

// NewHeights returns the transformation of heights between two CRSs, both with a
// vertical code, that is best at a place in from. There is no ballpark for
// heights: what is not known is ErrHeights, wrapped, with the grid that is
// missing where that is known.
func NewHeights(from, to vector.CRS, at orb.Point) (*Heights, error) {
	h, err := newHeights(from, to, at)
	if err != nil {
		return nil, fmt.Errorf("crs: heights from EPSG:%d to EPSG:%d: %w", from.VerticalCode, to.VerticalCode, err)
	}
	return h, nil
}

// NewEllipsoidalHeights returns the transformation of heights above the
// ellipsoid of a CRS's datum, in metres, as satellite receivers give them, to
// the elevations of another CRS with a vertical code, that is best at a place in
// from. It takes a geoid model: where none is installed that is ErrHeights,
// wrapped.
func NewEllipsoidalHeights(from, to vector.CRS, at orb.Point) (*Heights, error) {
	if to.VerticalCode == 0 {
		return nil, fmt.Errorf("crs: heights above the ellipsoid: %w: the vertical CRS they are to go to is not named, as the second code of EPSG:25832+5783", ErrHeights)
	}
	source, err := ellipsoidalText(from)
	if err != nil {
		return nil, fmt.Errorf("crs: heights above the ellipsoid: %w", err)
	}
	h, err := heightsOf(source, to, at)
	if err != nil {
		return nil, fmt.Errorf("crs: heights above the ellipsoid to EPSG:%d: %w", to.VerticalCode, err)
	}
	h.operation.From = "the ellipsoid"
	return h, nil
}

func newHeights(from, to vector.CRS, at orb.Point) (*Heights, error) {
	if from.VerticalCode == 0 || to.VerticalCode == 0 {
		return nil, fmt.Errorf("%w: a vertical CRS is not named", ErrHeights)
	}
	source, err := wholeText(from)
	if err != nil {
		return nil, err
	}
	h, err := heightsOf(source, to, at)
	if err != nil {
		return nil, err
	}
	d := openDatabase()
	defer d.close()
	h.operation.From = d.verticalDatum(from.VerticalCode)
	return h, nil
}

// heightsOf returns the transformation from the CRS that a text defines, but
// for the name of the datum that heights come from.
func heightsOf(source string, to vector.CRS, at orb.Point) (*Heights, error) {
	target, err := wholeText(to)
	if err != nil {
		return nil, err
	}
	context := proj.NewContext()
	candidates, err := context.NewCRSToCRS(source, target, nil)
	if err != nil {
		return nil, err
	}
	if candidates, err = candidates.NormalizeForVisualization(); err != nil {
		return nil, err
	}
	if _, err := candidates.Forward(proj.Coord{at[0], at[1], 0}); err != nil {
		return nil, errors.Join(lackingHeights(source, to, at), err)
	}
	h := &Heights{}
	if h.pj, err = candidates.GetLastUsedOperation(); err != nil {
		return nil, err
	}
	if h.pj.HasBallparkTransformation() {
		return nil, lackingHeights(source, to, at)
	}
	info := h.pj.Info()
	h.operation = Operation{Name: info.Description, Accuracy: info.Accuracy}
	if info.Accuracy < 0 {
		h.operation.Accuracy = math.NaN()
	}
	d := openDatabase()
	defer d.close()
	h.operation.To = d.verticalDatum(to.VerticalCode)
	return h, nil
}

// lackingHeights is ErrHeights with what is missing on the way from the CRS
// that a text defines.
func lackingHeights(text string, to vector.CRS, at orb.Point) error {
	d := openDatabase()
	defer d.close()
	source, err := d.text(text)
	if err != nil {
		return ErrHeights
	}
	defer source.free()
	t, err := NewTransformer(vector.CRS{WKT: text}, WGS84(), at, Options{AllowBallpark: true})
	if err != nil {
		return ErrHeights
	}
	place, err := t.Forward(at)
	if err != nil {
		return ErrHeights
	}
	target, err := d.whole(to)
	if err != nil {
		return ErrHeights
	}
	defer target.free()
	if missing := d.lacking(source, target, place, Operation{Accuracy: math.NaN()}); missing != "" {
		return fmt.Errorf("%w: %s", ErrHeights, missing)
	}
	return ErrHeights
}

// wholeText returns the definition of a CRS with its heights.
func wholeText(c vector.CRS) (string, error) {
	d := openDatabase()
	defer d.close()
	o, err := d.whole(c)
	if err != nil {
		return "", err
	}
	defer o.free()
	return o.wkt(C.PJ_WKT2_2019), nil
}

// ellipsoidalText returns the definition of the horizontal part of a CRS with
// heights above its ellipsoid, in metres.
func ellipsoidalText(c vector.CRS) (string, error) {
	d := openDatabase()
	defer d.close()
	flat, err := d.plane(c)
	if err != nil {
		return "", err
	}
	defer flat.free()
	o := object{d, C.proj_crs_promote_to_3D(d.context, nil, flat.pj)}
	if o.none() {
		return "", fmt.Errorf("%s cannot be taken with heights above an ellipsoid", c)
	}
	defer o.free()
	return o.wkt(C.PJ_WKT2_2019), nil
}

// Operation returns what is done to heights, and how accurate that is.
func (h *Heights) Operation() Operation { return h.operation }

// Forward returns the elevation at a place in the CRS that it comes from. NaN
// stays NaN.
func (h *Heights) Forward(p orb.Point, z float64) (float64, error) {
	if math.IsNaN(z) {
		return z, nil
	}
	c, err := h.pj.Forward(proj.Coord{p[0], p[1], z})
	if err == nil && (math.IsInf(c[2], 0) || math.IsNaN(c[2])) {
		err = errOutside
	}
	if err != nil {
		return math.NaN(), fmt.Errorf("crs: height %g at %g, %g: %w", z, p[0], p[1], err)
	}
	return c[2], nil
}
