package dxf

import (
	"math"
	"strconv"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"quoin/vector"
	"quoin/vector/layer"
)

// Options say what is drawn beside outlines and corners.
type Options struct {
	// Dimensions are the lengths of sides as text, outside of them.
	Dimensions bool
	// Elevations are those of corners as text, and of eave and ridge within the
	// outline.
	Elevations bool
	// Identifiers are those of buildings as text.
	Identifiers bool
	// SharedOnce draws a wall that two outlines share in the first of them only,
	// so that outlines with neighbours are open lines.
	SharedOnce bool
	// Spatial outlines and corners have their elevations; else all is at 0.
	Spatial bool
}

// Draft draws the layers of a delivery in the unit of its CRS. Layers that are
// not given are not drawn.
func Draft(tables []layer.Table, unit vector.Unit, o Options) *Drawing {
	d := &drafter{Drawing: &Drawing{Unit: unit}, o: o, drawn: map[[2]orb.Point]bool{}}
	t := map[string]layer.Table{}
	for _, table := range tables {
		t[table.Layer.Name] = table
	}
	d.corners(t["corners"])
	d.outlines(t["footprints"], RoofEdge)
	d.outlines(t["wall_outlines"], WallLine)
	d.outlines(t["roof_parts"], RoofPart)
	d.outlines(t["held_back"], NotShown)
	d.checks(t["corner_checks"])
	d.lengths(t["sides"])
	d.labels(t["footprints"])
	return d.Drawing
}

type drafter struct {
	*Drawing
	o Options
	// elevation is that of each corner of a footprint, by its place.
	elevation map[orb.Point]float64
	// drawn are the edges that were drawn, by their ends in a fixed order.
	drawn map[[2]orb.Point]bool
}

// value returns a number of a row; NaN where it is unknown or there is no such
// column.
func value(l layer.Layer, r layer.Row, column string) float64 {
	if i := l.Column(column); i >= 0 {
		if v, ok := r.Values[i].(float64); ok {
			return v
		}
	}
	return math.NaN()
}

func words(l layer.Layer, r layer.Row, column string) string {
	if i := l.Column(column); i >= 0 {
		s, _ := r.Values[i].(string)
		return s
	}
	return ""
}

func (d *drafter) corners(t layer.Table) {
	d.elevation = map[orb.Point]float64{}
	for _, r := range t.Rows {
		p, ok := r.Geometry.(orb.Point)
		if !ok {
			continue
		}
		z := value(t.Layer, r, "elevation")
		d.elevation[p] = z
		at := d.position(p, z)
		d.Mark(Corner, at)
		if d.o.Elevations && !math.IsNaN(z) {
			at.X += d.TextHeight() * 2
			at.Y += d.TextHeight()
			d.Text(Heights, rounded(z, value(t.Layer, r, "sigma_u")), at, 0)
		}
	}
}

func (d *drafter) position(p orb.Point, z float64) Position {
	if !d.o.Spatial || math.IsNaN(z) {
		z = 0
	}
	return Position{p[0], p[1], z}
}

func (d *drafter) outlines(t layer.Table, on string) {
	for _, r := range t.Rows {
		polygon, _ := r.Geometry.(orb.Polygon)
		for _, ring := range polygon {
			at, elevated := d.raised(ring)
			if d.o.SharedOnce && on == RoofEdge {
				d.once(on, ring, at, elevated)
				continue
			}
			d.Ring(on, at, elevated)
		}
	}
}

// raised gives the positions of a ring their elevations; it stays flat where
// one of them is not known.
func (d *drafter) raised(ring orb.Ring) (at []Position, elevated bool) {
	elevated = d.o.Spatial
	for _, p := range ring {
		z, ok := d.elevation[p]
		if !ok || math.IsNaN(z) {
			elevated = false
		}
		at = append(at, d.position(p, z))
	}
	if !elevated {
		for i := range at {
			at[i].Z = 0
		}
	}
	return at, elevated
}

// once draws those edges of a ring that no other outline has drawn.
func (d *drafter) once(on string, ring orb.Ring, at []Position, elevated bool) {
	var run []Position
	whole := true
	for i := 1; i < len(ring); i++ {
		edge := [2]orb.Point{ring[i-1], ring[i]}
		if before(edge[1], edge[0]) {
			edge[0], edge[1] = edge[1], edge[0]
		}
		if d.drawn[edge] {
			whole = false
			if run != nil {
				d.Line(on, run, elevated)
				run = nil
			}
			continue
		}
		d.drawn[edge] = true
		if run == nil {
			run = []Position{at[i-1]}
		}
		run = append(run, at[i])
	}
	switch {
	case run == nil:
	case whole:
		d.Ring(on, run, elevated)
	default:
		d.Line(on, run, elevated)
	}
}

func before(a, b orb.Point) bool {
	if a[0] != b[0] {
		return a[0] < b[0]
	}
	return a[1] < b[1]
}

func (d *drafter) checks(t layer.Table) {
	for _, r := range t.Rows {
		if p, ok := r.Geometry.(orb.Point); ok {
			d.Mark(Surveyed, d.position(p, math.NaN()))
		}
	}
}

func (d *drafter) lengths(t layer.Table) {
	if !d.o.Dimensions {
		return
	}
	for _, r := range t.Rows {
		l, ok := r.Geometry.(orb.LineString)
		if !ok || len(l) != 2 {
			continue
		}
		length := value(t.Layer, r, "length")
		if math.IsNaN(length) || length < 2*d.TextHeight() {
			continue // no room for it
		}
		direction := math.Atan2(l[1][1]-l[0][1], l[1][0]-l[0][0])
		// Rings have the building on their left, so that outside is right.
		sin, cos := math.Sincos(direction)
		off := d.TextHeight()
		at := Position{X: (l[0][0]+l[1][0])/2 + sin*off, Y: (l[0][1]+l[1][1])/2 - cos*off}
		d.Text(Dimensions, rounded(length, value(t.Layer, r, "sigma_length")), at, direction)
	}
}

func (d *drafter) labels(t layer.Table) {
	for _, r := range t.Rows {
		polygon, ok := r.Geometry.(orb.Polygon)
		if !ok {
			continue
		}
		centre, _ := planar.CentroidArea(polygon)
		line := 0
		write := func(on, text string) {
			d.Text(on, text, Position{X: centre[0], Y: centre[1] - 1.6*d.TextHeight()*float64(line)}, 0)
			line++
		}
		if d.o.Identifiers {
			write(Identifiers, words(t.Layer, r, "building_id"))
		}
		if !d.o.Elevations {
			continue
		}
		ground := value(t.Layer, r, "ground_elevation")
		for _, h := range []struct{ name, column string }{{"eave", "eave_height"}, {"ridge", "ridge_height"}} {
			if z := ground + value(t.Layer, r, h.column); !math.IsNaN(z) {
				write(Heights, h.name+" "+strconv.FormatFloat(z, 'f', 2, 64))
			}
		}
	}
}

// rounded returns a number as it may be read off a drawing: its last digit is
// of the size of its standard error's first one, and no smaller than a
// thousandth. Of an unknown standard error, two decimals.
func rounded(v, sigma float64) string {
	decimals := 2
	if sigma > 0 {
		decimals = int(math.Ceil(-math.Log10(sigma)))
	}
	return strconv.FormatFloat(v, 'f', min(max(decimals, 0), 3), 64)
}
