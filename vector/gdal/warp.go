package gdal

import (
	"errors"
	"fmt"
	"strconv"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// A View says how a raster is seen in a CRS.
type View struct {
	// CRS is the one to see it in.
	CRS vector.CRS
	// Assumed is the raster's own where its file says none.
	Assumed vector.CRS
	// Resampling is how pixels are taken from the raster.
	Resampling Resampling
	// Bound and Pixel are extent and pixel size in CRS units; an empty bound and
	// 0 let them follow from the raster.
	Bound orb.Bound
	Pixel float64
}

// accurate is how far a pixel may be taken from beside its place, in pixels of
// the raster, for the sake of speed: far below what edges are measured to.
const accurate = 0.005

// Warped returns the raster seen in another CRS, north up. Nothing is computed
// before windows are read. Where the raster holds nothing the view is masked.
//
// The raster must stay open as long as the view, and must not be used at the same
// time.
func (r *Raster) Warped(v View) (*Raster, error) {
	if !r.info.Placed {
		return nil, fmt.Errorf("gdal: warp %s: it does not say where it lies: put a world file beside it", r.info.Path)
	}
	definition, err := flat(v.CRS)
	if err != nil {
		return nil, err
	}
	if definition == "" {
		return nil, errors.New("gdal: warp: the CRS to see the image in is not known")
	}
	args := []string{
		"-of", "VRT", "-t_srs", definition, "-r", v.Resampling.String(), "-dstalpha",
		"-et", number(accurate), "-novshift",
	}
	if r.info.CRS == "" {
		own, err := flat(v.Assumed)
		if err != nil {
			return nil, err
		}
		if own == "" {
			return nil, fmt.Errorf("gdal: warp %s: it names no CRS: say which one it is in", r.info.Path)
		}
		args = append(args, "-s_srs", own)
	}
	if v.Bound.Max[0] > v.Bound.Min[0] && v.Bound.Max[1] > v.Bound.Min[1] {
		args = append(args, "-te", number(v.Bound.Min[0]), number(v.Bound.Min[1]), number(v.Bound.Max[0]), number(v.Bound.Max[1]))
	}
	if v.Pixel > 0 {
		args = append(args, "-tr", number(v.Pixel), number(v.Pixel))
	}
	data, err := r.data.warped(args)
	if err != nil {
		return nil, named(err, "warp", r.info.Path)
	}
	view := &Raster{data: data}
	if err := view.describe(r.info.Path); err != nil {
		view.Close()
		return nil, err
	}
	view.info.Format, view.info.Compression = r.info.Format, r.info.Compression
	return view, nil
}

func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
