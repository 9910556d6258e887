package orthophoto

import (
	"context"
	"fmt"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/crs"
	"quoin/vector/imagecheck"
)

// A Layer is edges in a CRS in which lengths can be measured.
type Layer struct {
	Edges []imagecheck.Edge
	CRS   vector.CRS
}

// Check opens an image, puts it under a layer and measures how they lie to each
// other; with the operation that brought one to the CRS of the other.
//
// Errors are those of Open, On and imagecheck.Check.
func Check(ctx context.Context, path string, l Layer, o Options, c imagecheck.Options) (*imagecheck.Result, crs.Operation, error) {
	img, err := Open(path, o)
	if err != nil {
		return nil, crs.Operation{}, err
	}
	defer img.Close()
	var operation crs.Operation
	if len(l.Edges) > 0 {
		bound := orb.MultiPoint{l.Edges[0].From}.Bound()
		for _, e := range l.Edges {
			bound = bound.Extend(e.From)
		}
		if operation, err = img.On(l.CRS, bound.Center(), o); err != nil {
			return nil, operation, err
		}
	}
	c.Unit = l.CRS.Horizontal.Metres
	r, err := imagecheck.Check(ctx, img, l.Edges, c)
	if err != nil {
		return nil, operation, fmt.Errorf("%s: %w", path, err)
	}
	return r, operation, nil
}
