package extract

import (
	"cmp"
	"context"
	"image"
	"image/color"
	"math"

	"quoin/extract/cloud"
)

// nadirSide is the longest side of the nadir image in pixels: as much as a
// page can carry.
const nadirSide = 1800

// A nadirImage is the block seen from straight above, by the highest point in
// each pixel.
type nadirImage struct {
	grid     cloud.Grid // rows from south to north
	height   []float32  // of the highest point, NaN where there is none
	colour   []color.RGBA64
	coloured bool
	peak     uint16 // largest value of a colour: files hold 8 or 16 bits
}

// newNadirImage renders the cloud: by its colour where every file has one,
// else by shaded height. It reads the files again, since packed points carry no
// colour.
func newNadirImage(ctx context.Context, b *cloud.Block, files []file, spacing float64) (*nadirImage, error) {
	bounds := b.Bounds()
	pixel := max(spacing, (bounds.MaxX-bounds.MinX)/nadirSide, (bounds.MaxY-bounds.MinY)/nadirSide)
	n := &nadirImage{grid: cloud.NewGrid(bounds, pixel), coloured: true}
	n.height = make([]float32, n.grid.Len())
	n.colour = make([]color.RGBA64, n.grid.Len())
	for i := range n.height {
		n.height[i] = float32(math.NaN())
	}
	for _, f := range files {
		n.coloured = n.coloured && f.Info().HasColour
	}
	for _, f := range files {
		for batch, err := range f.picture.Batches(ctx) {
			if err != nil {
				return nil, err
			}
			n.add(b.Frame, batch)
		}
	}
	n.fill()
	return n, nil
}

// add takes in a batch. Of two points as high as each other the brighter
// counts, so that the order of points does not matter.
func (n *nadirImage) add(frame cloud.Frame, b *cloud.Batch) {
	for i := range b.X {
		if b.Flags[i]&cloud.Withheld != 0 || b.Class[i] == 7 || b.Class[i] == 18 {
			continue
		}
		x, y := b.X[i]*frame.Horizontal-frame.OriginE, b.Y[i]*frame.Horizontal-frame.OriginN
		k, ok := n.grid.Index(x, y)
		if !ok {
			continue
		}
		z := float32(b.Z[i] * frame.Vertical)
		var c color.RGBA64
		if n.coloured {
			c = color.RGBA64{b.Red[i], b.Green[i], b.Blue[i], 0xffff}
			n.peak = max(n.peak, c.R, c.G, c.B)
		}
		if old := n.height[k]; !(z < old) && (z != old || brighter(c, n.colour[k])) {
			n.height[k], n.colour[k] = z, c
		}
	}
}

func brighter(a, b color.RGBA64) bool {
	return cmp.Or(cmp.Compare(a.R, b.R), cmp.Compare(a.G, b.G), cmp.Compare(a.B, b.B)) > 0
}

// filled is how many pixels away the nearest point may be for an empty pixel
// to take its colour.
const filled = 4

// fill gives empty pixels what the nearest one has.
func (n *nadirImage) fill() {
	source := nearestOccupied(n.grid, func(k int) bool { return n.height[k] == n.height[k] })
	for k, s := range source {
		if s >= 0 && int(s) != k && distanceSq(n.grid, k, int(s)) <= filled*filled {
			n.height[k], n.colour[k] = n.height[s], n.colour[s]
		}
	}
}

// render returns the picture, north up.
func (n *nadirImage) render() image.Image {
	shift := 0
	if n.peak > 255 {
		shift = 8
	}
	img := image.NewRGBA(image.Rect(0, 0, n.grid.Cols, n.grid.Rows))
	for k := range n.height {
		c := color.RGBA{255, 255, 255, 255}
		switch {
		case n.height[k] != n.height[k]: // nothing there
		case n.coloured:
			v := n.colour[k]
			c = color.RGBA{uint8(v.R >> shift), uint8(v.G >> shift), uint8(v.B >> shift), 255}
		default:
			c = n.shade(k)
		}
		img.SetRGBA(k%n.grid.Cols, n.grid.Rows-1-k/n.grid.Cols, c)
	}
	return img
}

// shade lights a height from the north-west at 45 degrees, as relief on maps
// is (common practice, no source).
func (n *nadirImage) shade(k int) color.RGBA {
	row, col := k/n.grid.Cols, k%n.grid.Cols
	at := func(r, c int) float64 {
		z := n.height[min(max(r, 0), n.grid.Rows-1)*n.grid.Cols+min(max(c, 0), n.grid.Cols-1)]
		if z != z {
			z = n.height[k]
		}
		return float64(z)
	}
	gx := (at(row, col+1) - at(row, col-1)) / (2 * n.grid.Cell)
	gy := (at(row+1, col) - at(row-1, col)) / (2 * n.grid.Cell)
	light := (1 + 0.5*gx*math.Sqrt2 - 0.5*gy*math.Sqrt2) / math.Sqrt(2*(1+gx*gx+gy*gy))
	v := uint8(255 * min(max(0.2+0.75*light, 0), 1))
	return color.RGBA{v, v, v, 255}
}
