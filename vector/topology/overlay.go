package topology

import (
	"fmt"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
)

// Intersection returns the area that a and b have in common, as none, one or
// several polygons, each oriented. Where they only touch there is none.
//
// Both must be valid. It returns an error where rounding defeats the
// operation, which no input is known to bring about.
func Intersection(a, b orb.Polygon) (orb.MultiPolygon, error) {
	return overlay("intersection", geom.Intersection, a, b)
}

// Difference returns the area of a that is not in b. See Intersection.
func Difference(a, b orb.Polygon) (orb.MultiPolygon, error) {
	return overlay("difference", geom.Difference, a, b)
}

// Union returns the area of a and b together: one polygon where they overlap
// or share an edge, else two. See Intersection.
func Union(a, b orb.Polygon) (orb.MultiPolygon, error) {
	return overlay("union", geom.Union, a, b)
}

type operation func(a, b geom.Geometry) (geom.Geometry, error)

// overlay runs the operation about a local origin. Should it fail on the
// coordinates as they are, it is run again on ones that are snapped to a grid
// far below any accuracy in play, which takes away the near coincidences that
// rounding stumbles over.
func overlay(name string, do operation, a, b orb.Polygon) (orb.MultiPolygon, error) {
	o := origin(a, b)
	g, err := do(toGeom(a, o).AsGeometry(), toGeom(b, o).AsGeometry())
	if err == nil {
		return fromGeom(g, o), nil
	}
	snapped, _, snapErr := Snap([]orb.Polygon{a, b}, retryGrid(a, b))
	if snapErr != nil {
		return nil, fmt.Errorf("topology: %s: %w", name, err)
	}
	g, err = do(toGeom(snapped[0], o).AsGeometry(), toGeom(snapped[1], o).AsGeometry())
	if err != nil {
		return nil, fmt.Errorf("topology: %s: %w", name, err)
	}
	return fromGeom(g, o), nil
}

// retryShare is the grid of a second attempt as a share of the extent of the
// polygons: a building of 100 m is snapped to 10 µm.
const retryShare = 1e-7

func retryGrid(a, b orb.Polygon) float64 {
	bound := a.Bound().Union(b.Bound())
	return max(bound.Right()-bound.Left(), bound.Top()-bound.Bottom()) * retryShare
}
