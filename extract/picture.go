package extract

import (
	"context"
	"fmt"
	"image"
	"image/color"
	"math"
	"path/filepath"
	"slices"

	"github.com/paulmach/orb"

	"quoin/extract/nadir"
	"quoin/vector/gdal"
)

// pictureSide is the longest side of the picture in the report in pixels: as
// much as a page can carry.
const pictureSide = 1800

// A picture is the block seen from above, for people.
type picture struct {
	image  image.Image
	bound  orb.Bound // in the CRS of the cloud
	source string    // what it shows, in a few words
}

// picture returns the best picture of the block: the ortho where it shows
// something, else the points seen from above.
func (j *job) picture(ctx context.Context) (picture, error) {
	grid := nadir.NewGrid(j.bound(), max(j.nadirPixel(), j.coarse()))
	if j.o.Ortho == "" {
		canvas, source, err := j.nadirPicture(ctx, grid)
		return picture{canvas, grid.Bound(), source}, err
	}
	over, finer, err := j.orthoPicture(grid)
	if err != nil {
		return picture{}, err
	}
	p := picture{bound: grid.Bound(), source: "The image " + filepath.Base(j.o.Ortho)}
	canvas := blank(over.Width, over.Height)
	if slices.Contains(over.Mask, 0) {
		under, source, err := j.nadirPicture(ctx, grid)
		if err != nil {
			return p, err
		}
		canvas = enlarge(under, finer)
		if slices.Max(over.Mask) == 0 {
			j.record.warn(j.o, fmt.Sprintf("%s shows nothing of the block: the report shows the cloud", j.o.Ortho))
			p.source = source
		} else {
			p.source += ", where it shows nothing the cloud"
		}
	}
	lay(canvas, 0, 0, over)
	p.image = canvas
	return p, nil
}

// coarse is the pixel size, in CRS units, at which the block fills the page.
func (j *job) coarse() float64 {
	b := j.bound()
	return max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]) / pictureSide
}

// nadirPicture draws the cloud, and says what it shows of it.
func (j *job) nadirPicture(ctx context.Context, grid nadir.Grid) (*image.RGBA, string, error) {
	m, err := j.drawNadir(ctx, grid)
	if err != nil {
		return nil, "", err
	}
	defer m.Close()
	source := "The cloud seen from above: the highest points in the light"
	switch m.Kind() {
	case nadir.Colour:
		source = "The cloud seen from above: the colour of the highest points"
	case nadir.Intensity:
		source = "The cloud seen from above: the strength of the highest echoes, in the light"
	}
	canvas := blank(grid.Columns, grid.Rows)
	return canvas, source, m.Draw(ctx, func(column, row int, tile *gdal.Image[uint8]) error {
		lay(canvas, column, row, tile)
		return nil
	})
}

// orthoPicture reads the grid from the ortho, with each pixel divided into finer by
// finer as long as the ortho has them and the page can carry them.
func (j *job) orthoPicture(grid nadir.Grid) (m *gdal.Image[uint8], finer int, err error) {
	r, err := gdal.OpenRaster(j.o.Ortho)
	if err != nil {
		return nil, 0, err
	}
	defer r.Close()
	own, err := r.Warped(gdal.View{CRS: j.crs, Assumed: j.crs})
	if err != nil {
		return nil, 0, err
	}
	finest := max(own.Info().GeoTransform[1], j.coarse())
	own.Close()
	finer = max(int(grid.Pixel/finest), 1)
	view, err := r.Warped(gdal.View{
		CRS: j.crs, Assumed: j.crs, Resampling: gdal.Average,
		Bound: grid.Bound(), Pixel: grid.Pixel / float64(finer),
	})
	if err != nil {
		return nil, 0, err
	}
	defer view.Close()
	m = gdal.NewImage[uint8](grid.Columns*finer, grid.Rows*finer, view.Info().Channels)
	all := gdal.Window{Width: float64(view.Info().Width), Height: float64(view.Info().Height)}
	return m, finer, gdal.Read(view, all, gdal.Nearest, m)
}

// enlarge draws each pixel as several.
func enlarge(m *image.RGBA, times int) *image.RGBA {
	out := blank(m.Rect.Dx()*times, m.Rect.Dy()*times)
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			out.SetRGBA(x, y, m.RGBAAt(x/times, y/times))
		}
	}
	return out
}

// blank returns white paper.
func blank(width, height int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, width, height))
	for i := range m.Pix {
		m.Pix[i] = math.MaxUint8
	}
	return m
}

// lay puts pixels on paper where there are any.
func lay(on *image.RGBA, column, row int, m *gdal.Image[uint8]) {
	for i, opaque := range m.Mask {
		if opaque == 0 {
			continue
		}
		p := m.Pix[i*m.Channels:][:m.Channels]
		c := color.RGBA{p[0], p[0], p[0], math.MaxUint8}
		if m.Channels == 3 {
			c.G, c.B = p[1], p[2]
		}
		on.SetRGBA(column+i%m.Width, row+i/m.Width, c)
	}
}
