package nadir

import (
	"context"
	"math"

	"quoin/extract/cloud"
	"quoin/vector/gdal"
)

// Options say what image to make.
type Options struct {
	Grid
	// Horizontal and Vertical are metres per CRS unit.
	Horizontal, Vertical float64
	// Memory is how many bytes the tiles may take; at least 24 MB are taken. Those
	// that don't fit go to Folder, in a file that nobody sees.
	Memory int64
	Folder string
}

// DefaultMemory is what the tiles of an image may take.
const DefaultMemory = 128 << 20

// A Kind says what the pixels of an image show.
type Kind string

// Colour is that of the points; Intensity is the strength of their echoes, lit
// like relief; Height is relief in light alone.
const (
	Colour    Kind = "colour"
	Intensity Kind = "intensity"
	Height    Kind = "height"
)

// Channels returns the channels of such an image.
func (k Kind) Channels() int {
	if k == Colour {
		return 3
	}
	return 1
}

// An Image is a cloud that was read, ready to be drawn.
type Image struct {
	o     Options
	kind  Kind
	tiles *tiles
	// shift takes colours of 16 bits to 8.
	shift int
	// scene and drawn are what windows are drawn in.
	scene *scene
	drawn []drawnTile
	// low and high are the intensities that are drawn black and white.
	low, high float64
}

// Read takes in the points of all sources but withheld ones and noise. The image
// shows colour where every source with points has one that is not black
// throughout. Close frees the image.
//
// Errors are those of the sources and of the disk.
func Read(ctx context.Context, sources []cloud.Source, o Options) (*Image, error) {
	m := &Image{o: o, kind: Colour, tiles: newTiles(o.Memory, o.Folder)}
	r := reader{Image: m, levels: make([]uint64, 1<<16)}
	for _, s := range sources {
		if err := r.source(ctx, s); err != nil {
			m.Close()
			return nil, err
		}
	}
	r.finish()
	return m, nil
}

// Close frees what the image holds.
func (m *Image) Close() { m.tiles.close() }

// Kind returns what the image shows.
func (m *Image) Kind() Kind { return m.kind }

// A reader takes in points.
type reader struct {
	*Image
	peak   uint16   // the largest value of a colour
	levels []uint64 // how many points have which intensity
	last   *tile
	where  place // of the last tile
}

// ASPRS classes of noise, low and high (LAS 1.4 R15, table 17).
const lowNoise, highNoise = 7, 18

// source takes in a file.
func (r *reader) source(ctx context.Context, s cloud.Source) error {
	before := r.peak
	r.peak = 0
	points := false
	for batch, err := range s.Batches(ctx) {
		if err != nil {
			return err
		}
		points = points || batch.Len() > 0
		if err := r.add(batch); err != nil {
			return err
		}
	}
	if points && r.peak == 0 {
		r.kind = Intensity
	}
	r.peak = max(r.peak, before)
	return nil
}

func (r *reader) add(b *cloud.Batch) error {
	for i := range b.X {
		if b.Flags[i]&cloud.Withheld != 0 || b.Class[i] == lowNoise || b.Class[i] == highNoise {
			continue
		}
		column, row, ok := r.o.pixel(b.X[i], b.Y[i])
		z := float32(b.Z[i])
		if !ok || z != z || math.IsInf(float64(z), 0) {
			continue
		}
		t, err := r.tile(place{column / side, row / side})
		if err != nil {
			return err
		}
		t.add(row%side*side+column%side, z, r.value(b, i))
	}
	return nil
}

// value returns what a point shows. Columns that a file does not have are nil.
func (r *reader) value(b *cloud.Batch, i int) value {
	var v value
	if b.Red != nil {
		v[0], v[1], v[2] = b.Red[i], b.Green[i], b.Blue[i]
		r.peak = max(r.peak, v[0], v[1], v[2])
	}
	if b.Intensity != nil {
		v[3] = b.Intensity[i]
	}
	r.levels[v[3]]++
	return v
}

// tile returns the tile at a place; points that follow each other mostly lie
// in the same.
func (r *reader) tile(p place) (*tile, error) {
	if r.last != nil && p == r.where {
		return r.last, nil
	}
	t, err := r.tiles.make(p)
	r.last, r.where = t, p
	return t, err
}

// finish settles how values become shades.
func (r *reader) finish() {
	if r.peak > math.MaxUint8 {
		r.shift = 8 // LAS 1.4 asks for 16 bits; many files hold 8
	}
	if r.kind == Colour && r.peak > 0 {
		return
	}
	r.kind = Intensity
	r.low, r.high = r.quantile(0.01), r.quantile(0.99)
	if r.low >= r.high {
		r.kind = Height
	}
}

// quantile returns the intensity that a share of the points is not above.
func (r *reader) quantile(share float64) float64 {
	var total, sum uint64
	for _, n := range r.levels {
		total += n
	}
	for level, n := range r.levels {
		if sum += n; float64(sum) >= share*float64(total) {
			return float64(level)
		}
	}
	return 0
}

// Draw gives the image to put, tile by tile from the north-west, each with its
// first column and row. The tile is used again for the next. Tiles without a point are
// left out.
func (m *Image) Draw(ctx context.Context, put func(column, row int, tile *gdal.Image[uint8]) error) error {
	s := newScene()
	out := &gdal.Image[uint8]{}
	for _, p := range m.tiles.places() {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := s.gather(m.tiles, p); err != nil {
			return err
		}
		s.fill()
		left, top := p.column*side, p.row*side
		if w, h := min(side, m.o.Columns-left), min(side, m.o.Rows-top); out.Width != w || out.Height != h {
			out = gdal.NewImage[uint8](w, h, m.kind.Channels())
		}
		m.paint(s, out)
		if err := put(left, top, out); err != nil {
			return err
		}
	}
	return nil
}

// paint draws the inner part of a scene.
func (m *Image) paint(s *scene, out *gdal.Image[uint8]) {
	for i := range out.Mask {
		k := (halo+i/out.Width)*padded + halo + i%out.Width
		if s.height[k] == nothing {
			out.Mask[i] = 0
			clear(out.Pix[i*out.Channels : (i+1)*out.Channels])
			continue
		}
		out.Mask[i] = 255
		v := s.value[k]
		switch m.kind {
		case Colour:
			for c := range 3 {
				out.Pix[3*i+c] = uint8(v[c] >> m.shift)
			}
		case Intensity:
			echo := min(max((float64(v[3])-m.low)/(m.high-m.low), 0), 1)
			out.Pix[i] = uint8(255 * m.light(s, k) * (darkest + (1-darkest)*math.Sqrt(echo)))
		case Height:
			out.Pix[i] = uint8(255 * m.light(s, k))
		}
	}
}

// darkest is how bright the weakest echo is drawn, so that relief is still seen.
const darkest = 0.25

// light returns the light on a pixel from the north-west at 45 degrees, as
// relief on maps is lit (common practice, no source), from 0 to 1.
func (m *Image) light(s *scene, k int) float64 {
	at := func(n int) float64 {
		if z := s.height[n]; z != nothing {
			return float64(z)
		}
		return float64(s.height[k])
	}
	slope := m.o.Vertical / (2 * m.o.Pixel * m.o.Horizontal)
	gx := (at(k+1) - at(k-1)) * slope
	gy := (at(k-padded) - at(k+padded)) * slope
	lit := (1 + 0.5*gx*math.Sqrt2 - 0.5*gy*math.Sqrt2) / math.Sqrt(2*(1+gx*gx+gy*gy))
	return min(max(0.2+0.75*lit, 0), 1)
}
