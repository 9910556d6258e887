package plate

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"quoin/vector"
	"quoin/vector/topology"
)

// A Mark is a place at which the cloud shows on which side of the roof edge it is.
type Mark struct {
	Point  orb.Point
	Inside bool // a pulse met the roof there, else it passed the roof's height
}

// A Building is what a building's plate shows.
type Building struct {
	vector.Footprint
	// Number is that of the building on the block map.
	Number int
	// Marks are the places that tell where the edges are; nil for none.
	Marks []Mark
	// Others are the footprints around it.
	Others []vector.Footprint
	// Checks are the surveyed points.
	Checks []vector.CornerCheck
	// Seen are the edges that an orthophoto shows; nil where none was checked.
	Seen  []ImageEdge
	Under Underlay
}

// BuildingBound returns the place that a building's plate shows: a square with an
// eighth of its size around it, at least 2 m.
func (s Sheet) BuildingBound(f vector.Footprint) orb.Bound {
	b := f.Polygon.Bound()
	size := max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1])
	half := size/2 + max(size/8, 2/s.metres())
	return around(b.Center(), half)
}

func around(p orb.Point, half float64) orb.Bound {
	return orb.Bound{Min: orb.Point{p[0] - half, p[1] - half}, Max: orb.Point{p[0] + half, p[1] + half}}
}

// metres is the length of the CRS's unit; 1 where it is unknown.
func (s Sheet) metres() float64 {
	if !s.CRS.Horizontal.Known() {
		return 1
	}
	return s.CRS.Horizontal.Metres
}

// Building returns a building's plate.
func (s Sheet) Building(b Building) string {
	d := s.draw(s.BuildingBound(b.Footprint), b.Under, fmt.Sprintf("Building %d over the image, with its dimensions", b.Number))
	for _, o := range b.Others {
		if o.ID != b.ID && o.Polygon.Bound().Intersects(d.bound) {
			fmt.Fprintf(d, `<path class="other" d="%s"/>`, d.path(o.Polygon))
		}
	}
	wrong := d.marks(b.Polygon, b.Marks)
	d.outline(b.Footprint)
	if b.Walls != nil {
		fmt.Fprintf(d, `<path class="wall" d="%s"/>`, d.path(b.Walls))
	}
	d.imageEdges(b.Seen, outward(b.Seen, d.scale))
	times := exaggeration(b.Corners, d.scale)
	d.corners(b.Corners, times)
	for _, side := range b.Sides {
		d.dimension(b.Polygon, side)
	}
	for _, c := range b.Checks {
		if c.BuildingID == b.ID {
			d.difference(c, 1)
		}
	}
	return d.close(fmt.Sprintf("Building %d · %s", b.Number, b.ID), b.facts(s), d.legend(b, times, wrong))
}

// small is the size of a metre, in units of the drawing, below which dots are
// drawn smaller, so that they don't cover the picture.
const small = 35

// marks draws the places that tell where the edges are, those on the wrong side
// last and larger, and returns how many these are.
func (d *drawing) marks(p orb.Polygon, marks []Mark) int {
	var paths [3]strings.Builder
	wrong := 0
	for _, m := range marks {
		k := 1
		if m.Inside {
			k = 0
		}
		if planar.PolygonContains(p, m.Point) != m.Inside {
			wrong++
			x, y := d.at(m.Point)
			fmt.Fprintf(&paths[2], "M%s %sh0", short(x), short(y))
		}
		x, y := d.at(m.Point)
		fmt.Fprintf(&paths[k], "M%.1f %.1fh0", x, y)
	}
	size := "coarse"
	if d.scale/d.sheet.metres() < small {
		size = "fine"
	}
	fmt.Fprintf(d, `<g class="%s">`, size)
	for _, k := range []int{2, 0, 1} { // the ring of those on the wrong side shows around them
		if paths[k].Len() > 0 {
			fmt.Fprintf(d, `<path class="%s" d="%s"/>`, [...]string{"in", "out", "wrong"}[k], paths[k].String())
		}
	}
	d.WriteString("</g>")
	return wrong
}

// shortest is how long a side must be drawn to carry its length.
const shortest = 60

// dimension writes the length of a side along it, on the side without roof.
func (d *drawing) dimension(p orb.Polygon, s vector.Side) {
	length := math.Hypot(s.To[0]-s.From[0], s.To[1]-s.From[1])
	if length*d.scale < shortest {
		return
	}
	ax, ay := d.at(s.From)
	bx, by := d.at(s.To)
	ux, uy := (bx-ax)/(length*d.scale), (by-ay)/(length*d.scale)
	turn := math.Atan2(uy, ux) * 180 / math.Pi
	// The roof is on the left of a side seen along it, which on paper, with y
	// down, is up: text goes below, or above when it is turned over.
	away := 24.0
	if turn > 90 || turn <= -90 {
		turn -= math.Copysign(180, turn)
		away = 15
	}
	x, y := (ax+bx)/2-uy*away, (ay+by)/2+ux*away
	d.text(x, y, turn, "halo mid", measured(length, s.SigmaLength, d.sheet.CRS.Horizontal.Symbol))
}

// measured writes a length with its standard error, to the digit that the error
// leaves.
func measured(length, sigma float64, unit string) string {
	if !(sigma > 0) || math.IsInf(sigma, 0) {
		return fmt.Sprintf("%.2f %s", length, unit)
	}
	digits := min(max(int(math.Ceil(-math.Log10(2*sigma))), 0), 3)
	return fmt.Sprintf("%.*f ± %.*f %s", digits, length, digits, sigma, unit)
}

// facts are what is known of the building.
func (b Building) facts(s Sheet) []string {
	m := s.metres()
	area := topology.Area(b.Polygon) * m * m
	v := s.CRS.Vertical.Symbol
	extended := 0
	for _, c := range b.Corners {
		if c.Kind == vector.Extended {
			extended++
		}
	}
	lines := []string{
		"Area " + measured(area, b.AreaSigma*m*m, "m²"),
		fmt.Sprintf("%d corners, %d carried on", len(b.Corners), extended),
	}
	if sigma := b.CornerSigmaMax(); sigma > 0 {
		lines[1] += fmt.Sprintf("; standard error to %.3f %s", sigma, s.CRS.Horizontal.Symbol)
	}
	if b.EaveHeight == b.EaveHeight {
		lines = append(lines, fmt.Sprintf("Eave %.2f %s, ridge %.2f %[2]s above ground", b.EaveHeight, v, b.RidgeHeight))
	}
	if seen := imageFact(b.Seen, s.CRS.Horizontal); seen != "" {
		lines = append(lines, seen)
	}
	if len(b.Review) > 0 {
		lines = append(lines, "To look at: "+strings.ReplaceAll(b.ReviewText(), ",", ", "))
	}
	return lines
}

// legend says what the drawing shows.
func (d *drawing) legend(b Building, times float64, wrong int) []string {
	lines := []string{"Ellipses hold 95 % of a corner's error, to scale."}
	if times > 1 {
		lines[0] = fmt.Sprintf("Ellipses hold 95 %% of a corner's error, drawn %g times too large.", times)
	}
	if len(b.Marks) > 0 {
		lines = append(lines, fmt.Sprintf("Amber: a pulse met the roof; blue: it passed. Ringed: %d of %d on the wrong side.", wrong, len(b.Marks)))
	}
	if b.Walls != nil {
		lines = append(lines, "Dotted: the walls beneath, as far as the cloud shows them.")
	}
	if seen := imageLegend(b.Seen, outward(b.Seen, d.scale)); seen != "" {
		lines = append(lines, seen)
	}
	return append(lines, "Lengths on the grid, with standard errors relative to the cloud.")
}

// difference draws a surveyed point and what it differs by, so many times too long.
func (d *drawing) difference(c vector.CornerCheck, times float64) {
	x, y := d.at(c.Surveyed)
	class := "arrow"
	if !c.Used {
		class += " left"
	}
	if c.DeltaE == c.DeltaE {
		fmt.Fprintf(d, `<path class="%s" d="M%s %sl%s %s"/>`, class, short(x), short(y), short(c.DeltaE*d.scale*times), short(-c.DeltaN*d.scale*times))
	}
	fmt.Fprintf(d, `<path class="cross" d="M%s %sh18m-9 -9v18"/>`, short(x-9), short(y))
	d.text(x, y-14, 0, "halo mid small", cmp.Or(c.ControlID, "?"))
}
