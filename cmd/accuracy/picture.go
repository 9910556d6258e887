package main

import (
	"context"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"

	"github.com/paulmach/orb"
	"golang.org/x/image/vector"
)

var (
	inkTruth     = color.RGBA{0, 0, 0, 255}
	inkDelivered = color.RGBA{226, 106, 0, 255}
)

// inkOf returns the colour of a point by its true class.
func inkOf(class uint8) color.RGBA {
	switch {
	case class == classGround:
		return color.RGBA{226, 214, 186, 255}
	case class == classRoof:
		return color.RGBA{126, 148, 176, 255}
	case class >= 3 && class <= 5:
		return color.RGBA{146, 190, 128, 255}
	}
	return color.RGBA{205, 130, 124, 255}
}

// draw makes the picture of a case: its points, the truth, the delivery.
func (o *options) draw(ctx context.Context, w worst, path string) error {
	window := w.bound.Pad(3)
	dir := filepath.Join(o.folder, "blocks", w.result.Case.String())
	points, err := readPoints(ctx, dir, func(p orb.Point, _ uint8) bool { return window.Contains(p) })
	if err != nil {
		return err
	}
	c := newCanvas(window)
	// The highest point over a place is the one that is seen.
	height := make(map[image.Point]float32)
	for _, p := range points {
		at := c.pixel(p.at)
		if z, taken := height[at]; !taken || p.z > z {
			height[at] = p.z
			c.dot(at, w.result.Case.Spacing, inkOf(p.class))
		}
	}
	for _, b := range w.result.Truth {
		c.outline(b.Polygon, 1.2, inkTruth)
	}
	for _, f := range w.result.Footprints {
		c.outline(f.Polygon, 2, inkDelivered)
	}
	c.bar(5)
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	if err := encode(f, c.image); err != nil {
		_ = f.Close()
		return fmt.Errorf("%s: %w", path, err)
	}
	return f.Close()
}

// encode writes the picture with a palette of its own where its colours are
// few enough, which makes it small.
func encode(w io.Writer, m *image.RGBA) error {
	seen := make(map[color.RGBA]bool)
	var palette color.Palette
	b := m.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			// Half-covered pixels of lines come in steps of 16.
			c := m.RGBAAt(x, y)
			c = color.RGBA{c.R &^ 15, c.G &^ 15, c.B &^ 15, 255}
			m.SetRGBA(x, y, c)
			if !seen[c] {
				seen[c] = true
				palette = append(palette, c)
			}
		}
	}
	encoder := png.Encoder{CompressionLevel: png.BestCompression}
	if len(palette) > 256 {
		return encoder.Encode(w, m)
	}
	small := image.NewPaletted(b, palette)
	draw.Draw(small, b, m, b.Min, draw.Src)
	return encoder.Encode(w, small)
}

// A canvas is a picture of a window of the plane, north up.
type canvas struct {
	window orb.Bound
	scale  float64
	image  *image.RGBA
}

func newCanvas(window orb.Bound) *canvas {
	s := scale(window)
	m := image.NewRGBA(image.Rect(0, 0, int(math.Ceil(s*(window.Max[0]-window.Min[0]))), int(math.Ceil(s*(window.Max[1]-window.Min[1])))))
	draw.Draw(m, m.Bounds(), image.White, image.Point{}, draw.Src)
	return &canvas{window, s, m}
}

// place returns the picture's coordinates of a position.
func (c *canvas) place(p orb.Point) (x, y float64) {
	return c.scale * (p[0] - c.window.Min[0]), c.scale * (c.window.Max[1] - p[1])
}

func (c *canvas) pixel(p orb.Point) image.Point {
	x, y := c.place(p)
	return image.Pt(int(x), int(y))
}

// dot draws a point, as large as lets the ground between points show.
func (c *canvas) dot(at image.Point, spacing float64, ink color.RGBA) {
	size := min(max(int(0.35*c.scale*spacing), 1), 4)
	draw.Draw(c.image, image.Rect(at.X, at.Y, at.X+size, at.Y+size), image.NewUniform(ink), image.Point{}, draw.Src)
}

// outline draws all rings with a line of the given width in pixels.
func (c *canvas) outline(polygon orb.Polygon, width float64, ink color.RGBA) {
	for _, ring := range polygon {
		for i := range len(ring) - 1 {
			c.line(ring[i], ring[i+1], width, ink)
		}
	}
}

func (c *canvas) line(p, q orb.Point, width float64, ink color.RGBA) {
	x0, y0 := c.place(p)
	x1, y1 := c.place(q)
	l := math.Hypot(x1-x0, y1-y0)
	if l == 0 {
		return
	}
	// Half a width longer at both ends, so that corners are filled.
	ux, uy := (x1-x0)/l*width/2, (y1-y0)/l*width/2
	x0, y0, x1, y1 = x0-ux, y0-uy, x1+ux, y1+uy
	r := vector.NewRasterizer(c.image.Rect.Dx(), c.image.Rect.Dy())
	r.MoveTo(float32(x0-uy), float32(y0+ux))
	r.LineTo(float32(x1-uy), float32(y1+ux))
	r.LineTo(float32(x1+uy), float32(y1-ux))
	r.LineTo(float32(x0+uy), float32(y0-ux))
	r.ClosePath()
	r.Draw(c.image, c.image.Bounds(), image.NewUniform(ink), image.Point{})
}

// bar draws a bar of the given length in metres.
func (c *canvas) bar(length float64) {
	y := c.window.Min[1] + 8/c.scale
	x := c.window.Min[0] + 8/c.scale
	c.line(orb.Point{x, y}, orb.Point{x + length, y}, 3, inkTruth)
}
