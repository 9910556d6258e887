package extract

import (
	"context"

	"quoin/extract/cloud"
	"quoin/vector/gdal"
)

// writeTerrain writes the terrain as two rasters of the same cells: elevations
// in the vertical unit of the CRS, NaN where nothing tells them, and 1 where
// these are only interpolated.
func (j *job) writeTerrain(ctx context.Context) error {
	if !j.o.Terrain {
		return nil
	}
	up := make([]float32, j.terrain.Len())
	guessed := make([]uint8, j.filled.Len())
	for i, z := range j.terrain.Values {
		up[i] = float32(float64(z) / j.block.Frame.Vertical)
		if j.filled.Values[i] {
			guessed[i] = 1
		}
	}
	if err := writeRaster(ctx, j, fileTerrain, gdal.Float32, up); err != nil {
		return err
	}
	return writeRaster(ctx, j, fileInterpolated, gdal.Uint8, guessed)
}

// writeRaster writes values of the terrain's cells, from the south in rows, as
// a cloud-optimised GeoTIFF.
func writeRaster[T gdal.Sample](ctx context.Context, j *job, name string, depth gdal.Depth, values []T) error {
	g := j.terrain.Grid
	return gdal.WriteCOG(j.out.path(name), gdal.Creation{
		Size: gdal.Size{Width: g.Cols, Height: g.Rows}, Channels: 1, Depth: depth, GeoTransform: transform(j.block.Frame, g),
		CRS: j.crs, Compression: gdal.Deflate, Overviews: gdal.Nearest,
	}, func(w *gdal.Writer) error {
		for from := 0; from < g.Rows; from += rasterRows {
			if err := ctx.Err(); err != nil {
				return err
			}
			m := gdal.NewImage[T](g.Cols, min(rasterRows, g.Rows-from), 1)
			for r := range m.Height {
				south := g.Rows - 1 - from - r
				copy(m.Pix[r*g.Cols:(r+1)*g.Cols], values[south*g.Cols:(south+1)*g.Cols])
			}
			if err := gdal.Write(w, 0, from, m); err != nil {
				return err
			}
		}
		return nil
	})
}

// rasterRows is the number of rows written at a time: one row of tiles.
const rasterRows = 512

// transform returns where the pixels of a grid lie, the first one in the north
// west.
func transform(f cloud.Frame, g cloud.Grid) gdal.GeoTransform {
	corner := f.ToCRS(float64(g.Col0)*g.Cell, float64(g.Row0+g.Rows)*g.Cell)
	step := g.Cell / f.Horizontal
	return gdal.GeoTransform{corner[0], step, 0, corner[1], 0, -step}
}
