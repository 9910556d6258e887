package dxf

import (
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// The layers of a drawing.
const (
	RoofEdge    = "BUILDING_ROOF_EDGE"
	WallLine    = "BUILDING_WALL_LINE"
	RoofPart    = "BUILDING_ROOF_PART"
	Corner      = "BUILDING_CORNER"
	Surveyed    = "SURVEYED_POINT"
	NotShown    = "HELD_BACK"
	Dimensions  = "TEXT_LENGTH"
	Heights     = "TEXT_ELEVATION"
	Identifiers = "TEXT_IDENTIFIER"
)

// layers are all of them with their colours. The colours are those of the
// palette of Okabe and Ito (2008), which people with any colour vision tell
// apart, as near as the 255 indexed colours of the format come.
func layers() []layerStyle {
	return []layerStyle{
		{RoofEdge, 30},
		{WallLine, 150},
		{RoofPart, 8},
		{Corner, 30},
		{Surveyed, 104},
		{NotShown, 9},
		{Dimensions, 7},
		{Heights, 7},
		{Identifiers, 7},
	}
}

type layerStyle struct {
	name   string
	colour int
}

// A Position has a height; 0 in a flat drawing.
type Position struct{ X, Y, Z float64 }

// A Drawing is what a file shows.
type Drawing struct {
	// Unit is that of the coordinates; unknown is written as "unitless".
	Unit  vector.Unit
	lines []polyline
	marks []mark
	texts []text
}

type polyline struct {
	layer    string
	at       []Position // without the closing one
	closed   bool
	elevated bool
}

type mark struct {
	layer string
	at    Position
}

type text struct {
	layer, words string
	at           Position
	// angle is in degrees from the x axis, from −90 to 90, so that the text is upright.
	angle float64
}

// Ring adds a closed ring of positions, the closing one given or not.
func (d *Drawing) Ring(layer string, at []Position, elevated bool) {
	d.lines = append(d.lines, polyline{layer, open(at), true, elevated})
}

// Line adds an open line.
func (d *Drawing) Line(layer string, at []Position, elevated bool) {
	d.lines = append(d.lines, polyline{layer, at, false, elevated})
}

// Mark adds a point.
func (d *Drawing) Mark(layer string, at Position) { d.marks = append(d.marks, mark{layer, at}) }

// Text adds a line of text centred at a place, along a direction in radians.
func (d *Drawing) Text(layer, words string, at Position, direction float64) {
	angle := math.Remainder(direction*180/math.Pi, 180) // reads from below or from the right
	d.texts = append(d.texts, text{layer, words, at, angle})
}

func open(at []Position) []Position {
	if n := len(at); n > 1 && at[0] == at[n-1] {
		return at[:n-1]
	}
	return at
}

// bound returns the extent of everything drawn; a unit square for nothing.
func (d *Drawing) bound() orb.Bound {
	b := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for _, l := range d.lines {
		for _, p := range l.at {
			b = b.Extend(orb.Point{p.X, p.Y})
		}
	}
	for _, m := range d.marks {
		b = b.Extend(orb.Point{m.at.X, m.at.Y})
	}
	if b.IsEmpty() {
		return orb.Bound{Max: orb.Point{1, 1}}
	}
	return b
}

// textHeight is that of texts in metres on the ground: 2 mm on a plan at 1:200,
// the scale of a site plan (common practice, no source).
const textHeight = 0.4

// TextHeight returns the height of texts in the drawing's unit.
func (d *Drawing) TextHeight() float64 {
	if d.Unit.Known() {
		return textHeight / d.Unit.Metres
	}
	return textHeight
}
