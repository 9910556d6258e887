package crs

/*
#include <proj.h>
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

func newHeights(from, to vector.CRS, at orb.Point) (*Heights, error) {
	if from.VerticalCode == 0 || to.VerticalCode == 0 {
		return nil, fmt.Errorf("%w: a vertical CRS is not named", ErrHeights)
	}
	source, err := wholeText(from)
	if err != nil {
		return nil, err
	}
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
		return nil, errors.Join(lackingHeights(from, to, at), err)
	}
	h := &Heights{}
	if h.pj, err = candidates.GetLastUsedOperation(); err != nil {
		return nil, err
	}
	if h.pj.HasBallparkTransformation() {
		return nil, lackingHeights(from, to, at)
	}
	info := h.pj.Info()
	h.operation = Operation{Name: info.Description, Accuracy: info.Accuracy}
	if info.Accuracy < 0 {
		h.operation.Accuracy = math.NaN()
	}
	d := openDatabase()
	defer d.close()
	h.operation.From, h.operation.To = d.verticalDatum(from.VerticalCode), d.verticalDatum(to.VerticalCode)
	return h, nil
}

// lackingHeights is ErrHeights with what is missing.
func lackingHeights(from, to vector.CRS, at orb.Point) error {
	t, err := NewTransformer(from, WGS84(), at, Options{AllowBallpark: true})
	if err != nil {
		return ErrHeights
	}
	place, err := t.Forward(at)
	if err != nil {
		return ErrHeights
	}
	d := openDatabase()
	defer d.close()
	source, err := d.whole(from)
	if err != nil {
		return ErrHeights
	}
	defer source.free()
	target, err := d.whole(to)
	if err != nil {
		return ErrHeights
	}
	defer target.free()
	if text := d.lacking(source, target, place, Operation{Accuracy: math.NaN()}); text != "" {
		return fmt.Errorf("%w: %s", ErrHeights, text)
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
