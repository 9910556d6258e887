package plate

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// An ImageEdge says where an orthophoto has one edge of the footprint.
type ImageEdge struct {
	// From and To are the footprint's edge, the building on its left.
	From, To orb.Point
	// Offset is that of the image edge, outward, in units of the CRS; Residual what
	// is left of it beside the fit of the whole block; Sigma the standard error.
	Offset, Residual, Sigma float64
	// Pixel is the side of the image's pixels in units of the CRS.
	Pixel float64
}

// farthestOut is how far from its edge, in units of the drawing, the image edge is
// drawn at most by exaggeration.
const farthestOut = 22

// outward returns the largest of 1, 2 or 5 times a power of ten by which all
// offsets may be drawn too large; 1 where they need not be.
func outward(edges []ImageEdge, scale float64) float64 {
	most := 0.0
	for _, e := range edges {
		most = max(most, math.Abs(e.Offset))
	}
	const least = 0.05 // units: without it an exact image would be drawn a thousand times too far
	times := farthestOut / max(most*scale, least)
	if times < 2 {
		return 1
	}
	return min(roundLength(times), 100)
}

// imageEdges draws where the image has the edges, so many times too far out, with
// a bar of one standard error either way, and writes offsets and residuals in
// centimetres and pixels beside them.
func (d *drawing) imageEdges(edges []ImageEdge, times float64) {
	for _, e := range edges {
		length := math.Hypot(e.To[0]-e.From[0], e.To[1]-e.From[1])
		if length*d.scale < 8 {
			continue
		}
		ax, ay := d.at(e.From)
		bx, by := d.at(e.To)
		ux, uy := (bx-ax)/(length*d.scale), (by-ay)/(length*d.scale)
		// Outward is to the right seen along the edge, which on paper, with y
		// down, is (-uy, ux).
		x, y := -uy*e.Offset*d.scale*times, ux*e.Offset*d.scale*times
		path := fmt.Sprintf("M%s %sL%s %s", short(ax+x), short(ay+y), short(bx+x), short(by+y))
		fmt.Fprintf(d, `<path class="case" d="%s"/><path class="seen" d="%[1]s"/>`, path)
		mx, my := (ax+bx)/2, (ay+by)/2
		low, high := (e.Offset-e.Sigma)*d.scale*times, (e.Offset+e.Sigma)*d.scale*times
		fmt.Fprintf(d, `<path class="seen" d="M%s %sL%s %s"/>`, short(mx-uy*low), short(my+ux*low), short(mx-uy*high), short(my+ux*high))
		if length*d.scale < shortest {
			continue
		}
		turn := math.Atan2(uy, ux) * 180 / math.Pi
		away := 34.0 // into the roof, clear of the line
		if turn > 90 || turn <= -90 {
			turn -= math.Copysign(180, turn)
			away = 43
		}
		d.text(mx+uy*away, my-ux*away, turn, "halo mid small", e.label(d.sheet.CRS.Horizontal))
	}
}

// label writes offset and residual in centimetres and pixels.
func (e ImageEdge) label(unit vector.Unit) string {
	size, symbol := 1.0, unit.Symbol
	digits := 3
	if unit.Known() {
		size, symbol, digits = 100*unit.Metres, "cm", 1
	}
	return fmt.Sprintf("%+.*f %s, %+.1f px [%+.*f]", digits, e.Offset*size, symbol, e.Offset/e.Pixel, digits, e.Residual*size)
}

// imageLegend says what is drawn of the image; empty where nothing is.
func imageLegend(edges []ImageEdge, times float64) string {
	if len(edges) == 0 {
		return ""
	}
	text := "Green: edges in the image"
	if times > 1 {
		text += fmt.Sprintf(", drawn %g times too far off", times)
	}
	return text + "; + is outward [beside the block]."
}

// imageFact says how far the image's edges are from where the block has them; empty
// where none was seen.
func imageFact(edges []ImageEdge, unit vector.Unit) string {
	if len(edges) == 0 {
		return ""
	}
	sum, pixel := 0.0, edges[0].Pixel
	for _, e := range edges {
		sum += e.Residual * e.Residual
	}
	rms := math.Sqrt(sum / float64(len(edges)))
	return fmt.Sprintf("Image: edges seen %d, %.2f px (%.3f %s) RMS off", len(edges), rms/pixel, rms, unit.Symbol)
}
