package extract

import (
	"context"
	"fmt"
	"os"

	"quoin/extract/cloud"
	"quoin/extract/nadir"
	"quoin/vector/gdal"
)

// mostPixels is the largest image that is made: GDAL would look for an hour at
// the empty tiles of a larger one.
const mostPixels = 1 << 36

// drawNadir reads the files again, since packed points carry no colour. The
// caller closes the image.
func (j *job) drawNadir(ctx context.Context, grid nadir.Grid) (*nadir.Image, error) {
	sources := make([]cloud.Source, len(j.files))
	for i, f := range j.files {
		sources[i] = f.picture
	}
	return nadir.Read(ctx, sources, nadir.Options{
		Grid: grid, Horizontal: j.crs.Horizontal.Metres, Vertical: j.crs.Vertical.Metres,
		Memory: nadir.DefaultMemory, Folder: j.out.unfinished,
	})
}

// nadirPixel is the pixel size of the nadir image: the spacing, rounded down, in
// CRS units.
func (j *job) nadirPixel() float64 {
	return nadir.RoundPixel(j.cloud.Measures.Spacing / j.crs.Horizontal.Metres)
}

// nadirImage writes the block as it is seen from straight above.
func (j *job) nadirImage(ctx context.Context) error {
	if j.o.NadirImage == "" {
		return nil
	}
	j.o.Progress.Start("nadir image", 0)
	grid := j.album.grid
	if float64(grid.Columns)*float64(grid.Rows) > mostPixels {
		return fmt.Errorf("--nadir-image: the block spans %d × %d pixels: make the image for parts of it", grid.Columns, grid.Rows)
	}
	m, err := j.album.points(ctx)
	if err != nil {
		return err
	}
	b := grid.Bound()
	return gdal.WriteCOG(j.o.NadirImage, gdal.Creation{
		Size: gdal.Size{Width: grid.Columns, Height: grid.Rows}, Channels: m.Kind().Channels(), Alpha: true, Depth: gdal.Uint8,
		GeoTransform: gdal.GeoTransform{b.Min[0], grid.Pixel, 0, b.Max[1], 0, -grid.Pixel},
		CRS:          j.crs, Compression: gdal.Deflate, Overviews: gdal.Average,
	}, func(w *gdal.Writer) error {
		return m.Draw(ctx, func(column, row int, tile *gdal.Image[uint8]) error {
			return gdal.Write(w, column, row, tile)
		})
	})
}

// checkImages refuses what can't be done with images.
func (o Options) checkImages() error {
	switch {
	case o.NadirImage == "" && o.Ortho == "":
		return nil
	case !gdal.Built:
		return fmt.Errorf("--nadir-image and --ortho: %w", gdal.ErrNotBuilt)
	case o.NadirImage == "":
		return nil
	}
	there, err := os.Stat(o.NadirImage)
	if err != nil {
		return nil // nothing to write over
	}
	if there.IsDir() {
		return fmt.Errorf("--nadir-image names the folder %s: give a file", o.NadirImage)
	}
	for _, input := range append([]string{o.Ortho, o.Control}, o.Inputs...) {
		if info, err := os.Stat(input); err == nil && os.SameFile(there, info) {
			return fmt.Errorf("--nadir-image names the input %s: give another file", input)
		}
	}
	return nil
}
