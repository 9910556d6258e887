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

// pictureSide is the longest side of the picture in the report in pixels, and
// plateSide that of the picture on a plate: as much as a page can carry.
const pictureSide, plateSide = 1800, 900

// A picture is a place seen from above, for people.
type picture struct {
	image  *image.RGBA
	bound  orb.Bound // in the CRS of the cloud
	source string    // what it shows, in a few words
}

// An album makes pictures of places: from the ortho where that shows
// something, elsewhere from the points seen from above. It is not for use by
// several goroutines at once.
type album struct {
	job   *job
	ortho *gdal.Raster // nil where none was given
	pixel float64      // of the ortho, in the CRS of the cloud
	seen  *nadir.Image // the points, at their spacing; nil until needed
	grid  nadir.Grid
}

// openAlbum opens the ortho.
func (j *job) openAlbum() error {
	j.album = &album{job: j, grid: nadir.NewGrid(j.bound(), j.nadirPixel())}
	if j.o.Ortho == "" {
		return nil
	}
	var err error
	if j.album.ortho, err = gdal.OpenRaster(j.o.Ortho); err != nil {
		return err
	}
	own, err := j.album.ortho.Warped(gdal.View{CRS: j.crs, Assumed: j.crs})
	if err != nil {
		return err
	}
	j.album.pixel = own.Info().GeoTransform[1]
	return own.Close()
}

func (a *album) close() {
	if a == nil {
		return
	}
	if a.seen != nil {
		a.seen.Close()
	}
	if a.ortho != nil {
		a.ortho.Close()
	}
}

// points returns the points seen from above, at their spacing.
func (a *album) points(ctx context.Context) (*nadir.Image, error) {
	var err error
	if a.seen == nil {
		a.seen, err = a.job.drawNadir(ctx, a.grid)
	}
	return a.seen, err
}

// block returns the picture of the whole block.
func (a *album) block(ctx context.Context) (picture, error) {
	b := a.job.bound()
	finest := max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]) / pictureSide
	grid := nadir.NewGrid(b, max(a.grid.Pixel, finest))
	p, shown, err := a.picture(ctx, grid, finest)
	if err == nil && a.ortho != nil && !shown {
		a.job.record.warn(a.job.o, fmt.Sprintf("%s shows nothing of the block: the report shows the cloud", a.job.o.Ortho))
	}
	return p, err
}

// plate returns the picture of a place for a plate.
func (a *album) plate(ctx context.Context, b orb.Bound) (picture, error) {
	p, _, err := a.picture(ctx, nadir.NewGrid(b, a.grid.Pixel), max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1])/plateSide)
	return p, err
}

// picture draws the pixels of a grid: those of the points, or, divided as far as
// the ortho has it and not below the finest, those of the ortho. It reports
// whether the ortho shows any of it.
func (a *album) picture(ctx context.Context, grid nadir.Grid, finest float64) (p picture, shown bool, err error) {
	p.bound = grid.Bound()
	if a.ortho == nil {
		p.image, p.source, err = a.nadir(ctx, grid)
		return p, false, err
	}
	over, finer, err := a.fromOrtho(grid, finest)
	if err != nil {
		return p, false, err
	}
	p.source = "The image " + filepath.Base(a.job.o.Ortho)
	p.image = blank(over.Width, over.Height)
	if slices.Contains(over.Mask, 0) {
		under, source, err := a.nadir(ctx, grid)
		if err != nil {
			return p, false, err
		}
		p.image = enlarge(under, finer)
		if slices.Max(over.Mask) == 0 {
			p.source = source
			return p, false, nil
		}
		if holes(over.Mask) > len(over.Mask)/200 {
			p.source += ", and the cloud where that shows nothing"
		}
	}
	lay(p.image, 0, 0, over)
	return p, true, nil
}

// holes counts the pixels that show nothing.
func holes(mask []uint8) int {
	n := 0
	for _, v := range mask {
		if v == 0 {
			n++
		}
	}
	return n
}

// nadir draws the points, and says what it shows of them.
func (a *album) nadir(ctx context.Context, grid nadir.Grid) (canvas *image.RGBA, source string, err error) {
	var m *nadir.Image
	if grid.Pixel == a.grid.Pixel {
		m, err = a.points(ctx)
	} else if m, err = a.job.drawNadir(ctx, grid); err == nil {
		defer m.Close()
	}
	if err != nil {
		return nil, "", err
	}
	source = "The cloud seen from above: the highest points in the light"
	switch m.Kind() {
	case nadir.Colour:
		source = "The cloud seen from above: the colour of the highest points"
	case nadir.Intensity:
		source = "The cloud seen from above: the strength of the highest echoes, in the light"
	}
	canvas = blank(grid.Columns, grid.Rows)
	from := grid
	if grid.Pixel == a.grid.Pixel {
		from = a.grid
	}
	tile, err := m.Window(grid.Column0-from.Column0, grid.Row0-from.Row0, grid.Columns, grid.Rows)
	if err != nil {
		return nil, "", err
	}
	lay(canvas, 0, 0, tile)
	return canvas, source, nil
}

// fromOrtho reads the grid from the ortho, each pixel divided into finer by finer.
func (a *album) fromOrtho(grid nadir.Grid, finest float64) (m *gdal.Image[uint8], finer int, err error) {
	finer = max(int(grid.Pixel/max(a.pixel, finest)), 1)
	view, err := a.ortho.Warped(gdal.View{
		CRS: a.job.crs, Assumed: a.job.crs, Resampling: gdal.Average,
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
