package imagecheck

import (
	"math"

	"github.com/paulmach/orb"
)

// An Image is an orthophoto that is read by window.
type Image interface {
	// Channels is 1 for grey, 3 for red, green and blue.
	Channels() int
	// Place returns where a position in the CRS of the edges lies in the image,
	// in pixels from the outer corner of its first pixel: columns, then rows
	// downward.
	Place(p orb.Point) (col, row float64, err error)
	// Window returns the pixels from a column and row on. Pixels beyond the
	// image are not valid.
	Window(col, row, width, height int) (Window, error)
}

// A Window holds pixels row by row from the top.
type Window struct {
	Width, Height, Channels int
	// Values has Channels numbers a pixel, side by side.
	Values []float32
	// Valid has an entry a pixel: false where the image shows nothing.
	Valid []bool
}

// at interpolates between the four pixels around a place given in pixels of the
// window; false when one of them is not valid.
func (w *Window) at(col, row float64, into []float64) bool {
	col, row = col-0.5, row-0.5 // from corners to centres of pixels
	i, k := int(math.Floor(col)), int(math.Floor(row))
	if i < 0 || k < 0 || i+1 >= w.Width || k+1 >= w.Height {
		return false
	}
	u, v := float32(col-float64(i)), float32(row-float64(k))
	n := k*w.Width + i
	if !w.Valid[n] || !w.Valid[n+1] || !w.Valid[n+w.Width] || !w.Valid[n+w.Width+1] {
		return false
	}
	a, b := w.Values[n*w.Channels:], w.Values[(n+w.Width)*w.Channels:]
	for c := range w.Channels {
		upper := a[c] + u*(a[c+w.Channels]-a[c])
		lower := b[c] + u*(b[c+w.Channels]-b[c])
		into[c] = float64(upper + v*(lower-upper))
	}
	return true
}

// vec is a position or a direction in metres, east and north.
type vec struct{ x, y float64 }

func (a vec) add(b vec) vec       { return vec{a.x + b.x, a.y + b.y} }
func (a vec) sub(b vec) vec       { return vec{a.x - b.x, a.y - b.y} }
func (a vec) mul(f float64) vec   { return vec{a.x * f, a.y * f} }
func (a vec) dot(b vec) float64   { return a.x*b.x + a.y*b.y }
func (a vec) cross(b vec) float64 { return a.x*b.y - a.y*b.x }
func (a vec) length() float64     { return math.Hypot(a.x, a.y) }

// A local frame of an edge in the image: the middle of the edge in pixels, and
// the steps in pixels per metre along and across it.
type local struct {
	col, row      float64
	along, across vec
	pixel         float64 // the side of a pixel in metres
}

// localAt works out the frame of an edge by differences over its length, or a
// metre.
func localAt(img Image, e *Edge, unit float64) (local, error) {
	dx, dy := e.To[0]-e.From[0], e.To[1]-e.From[1]
	length := math.Hypot(dx, dy)
	step := 1 / unit // a metre in CRS units
	m := orb.Point{(e.From[0] + e.To[0]) / 2, (e.From[1] + e.To[1]) / 2}
	d := vec{dx / length, dy / length}
	n := vec{d.y, -d.x} // to the right: outward, for an outline that runs counter-clockwise
	var l local
	var err error
	if l.col, l.row, err = img.Place(m); err != nil {
		return l, err
	}
	difference := func(v vec) (vec, error) {
		c1, r1, err := img.Place(orb.Point{m[0] + step*v.x, m[1] + step*v.y})
		if err != nil {
			return vec{}, err
		}
		c0, r0, err := img.Place(orb.Point{m[0] - step*v.x, m[1] - step*v.y})
		return vec{(c1 - c0) / 2, (r1 - r0) / 2}, err
	}
	if l.along, err = difference(d); err != nil {
		return l, err
	}
	if l.across, err = difference(n); err != nil {
		return l, err
	}
	l.pixel = 1 / math.Sqrt(math.Abs(l.along.cross(l.across)))
	return l, nil
}
