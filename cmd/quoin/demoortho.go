package main

import (
	"errors"
	"fmt"

	"github.com/spf13/pflag"

	"quoin/extract/scene"
	"quoin/vector/crs"
)

// orthoFlags hold what the user says of the demo's image.
type orthoFlags struct {
	pixel, height, base length
	shift               []float64
	crs                 string
}

func (f *orthoFlags) define(flags *pflag.FlagSet) {
	d := scene.DefaultOrtho()
	f.pixel = length(d.Pixel)
	flags.Var(&f.pixel, "ortho-pixel", "side of a pixel of the image; 0 for no image")
	flags.Float64SliceVar(&f.shift, "ortho-shift", []float64{d.East, d.North}, "metres `east,north` by which the image is off")
	flags.Var(&f.height, "ortho-lean", "height of a camera whose image is rectified onto the terrain only, so that roofs lean outward; 0 for a true-ortho")
	flags.Var(&f.base, "ortho-base", "distance of such a camera's exposures, put together to one image; 0 for a single one")
	flags.StringVar(&f.crs, "ortho-crs", "", "CRS of the image, as EPSG:25832; none for that of the cloud")
	group(flags, "Image", "ortho-pixel", "ortho-shift", "ortho-lean", "ortho-base", "ortho-crs")
}

func (f *orthoFlags) spec() (*scene.OrthoSpec, error) {
	if f.pixel == 0 {
		return nil, nil
	}
	if len(f.shift) != 2 {
		return nil, &usageError{errors.New("--ortho-shift takes two numbers, metres east and north: 0.07,-0.04")}
	}
	o := &scene.OrthoSpec{
		Pixel: float64(f.pixel), East: f.shift[0], North: f.shift[1],
		Height: float64(f.height), Base: float64(f.base),
	}
	if f.crs != "" {
		c, err := crs.Parse(f.crs)
		if err != nil {
			return nil, &usageError{fmt.Errorf("--ortho-crs: %w", err)}
		}
		o.EPSG = c.Code
	}
	return o, nil
}
