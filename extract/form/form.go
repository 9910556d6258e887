package form

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"quoin/extract/cloud"
	"quoin/vector"
	"quoin/vector/topology"
)

// A Point is a roof return in local metres, with the number of the smooth
// surface that it was found on; negative when on none.
type Point struct {
	X, Y, Z float64
	Surface int32
}

// A Part is one patch of a roof.
type Part struct {
	// Polygon is what it covers, closed rings in local metres.
	Polygon orb.Polygon
	// Form is what kind of surface it has.
	Form vector.PartForm
	// Plane is its plane, that of the least squares where it is curved.
	Plane Plane
	// Eave and Ridge are the lowest and the highest elevation of its surface.
	Eave, Ridge float64
	// RMS is the root mean square distance of its points from its surface,
	// along the vertical, and Points their number. RMS is NaN without points.
	RMS    float64
	Points int

	mean    float64 // elevation over its area
	surface int32   // −1 for none
}

// A Plane is z = Z + GX·(x−X) + GY·(y−Y).
type Plane struct{ X, Y, Z, GX, GY float64 }

// At returns the elevation of the plane at a place.
func (p Plane) At(x, y float64) float64 { return p.Z + p.GX*(x-p.X) + p.GY*(y-p.Y) }

// Pitch returns the plane's angle with the horizontal in degrees.
func (p Plane) Pitch() float64 { return math.Atan(math.Hypot(p.GX, p.GY)) * 180 / math.Pi }

// Aspect returns the direction in which the plane falls, in degrees clockwise
// from grid north, from 0 to 360; NaN where it is level: below FlatPitch.
func (p Plane) Aspect() float64 {
	if p.Pitch() < FlatPitch {
		return math.NaN()
	}
	a := math.Atan2(-p.GX, -p.GY) * 180 / math.Pi
	if a < 0 {
		a += 360
	}
	return a
}

// FlatPitch is the pitch in degrees below which a roof is flat: 5 (DIN 18531
// speaks of flat roofs to 5 degrees of pitch, from memory).
const FlatPitch = 5

// A Roof is the form of one building's roof.
type Roof struct {
	Type vector.RoofType
	// Pitch is the mean pitch of its sloping parts by area, or of all where it
	// is flat, and Aspect the aspect of its largest sloping part, NaN of a flat
	// roof; both in degrees.
	Pitch, Aspect float64
	// Eave is the elevation of its general eave: the median along those sides
	// of the outline that the roof falls to, or along level ones where most of it is level.
	// NaN where no such side is known or most of them are curved.
	Eave float64
	// Ridge is the highest elevation of any part but the smallest, NaN of none.
	Ridge float64
	// Mean is the mean elevation over its area, of the parts of known form.
	Mean float64
	// Parts are the largest first. Their polygons tile the outline.
	Parts []Part
}

// grid is what the vertices of parts are snapped to, in metres.
const grid = 1e-4

// Describe returns the form of the roof inside an outline, a valid polygon in
// local metres. Without points on smooth surfaces the whole outline is one part
// of unknown form. Points must be in canonical order for the result to be
// the same again; they are not changed.
//
// It returns an error when the outline can't be cut. Time is O(n) for n points,
// and the cost of the tree is bounded by the number of its cells, some
// thousands.
func Describe(outline orb.Polygon, points []Point, m cloud.Measures) (Roof, error) {
	w := &work{outline: outline, measures: m}
	w.findSurfaces(points)
	tiles, err := w.tile()
	if err != nil {
		return Roof{}, fmt.Errorf("form: describe: %w", err)
	}
	var parts []Part
	for _, t := range tiles {
		parts = append(parts, w.part(t))
	}
	slices.SortStableFunc(parts, func(a, b Part) int {
		return cmp.Compare(topology.Area(b.Polygon), topology.Area(a.Polygon))
	})
	w.measure(parts)
	r := Roof{Parts: parts}
	r.judge()
	return r, nil
}

// work is the state of a Describe.
type work struct {
	outline  orb.Polygon
	measures cloud.Measures
	surfaces []surface
	points   []Point // those on surfaces, numbered as these are
	first    []int   // of each surface the place of its first point in points
}

// on returns the points of a surface.
func (w *work) on(surface int32) []Point {
	end := len(w.points)
	if int(surface)+1 < len(w.first) {
		end = w.first[surface+1]
	}
	return w.points[w.first[surface]:end]
}

// tolerance is how far from a plane of the given gradient a return on it may
// lie, along the vertical: 5 cm across it for tiles and seams, or three
// standard deviations.
func (w *work) tolerance(gx, gy float64) float64 {
	g := math.Hypot(gx, gy)
	return max(0.05*math.Hypot(1, g), 3*math.Hypot(w.measures.SigmaZ, w.measures.Sigma*g))
}

// part starts a part from its tile.
func (w *work) part(t tile) Part {
	part := Part{Polygon: t.polygon, Form: vector.FormUnknown, Plane: Plane{Z: math.NaN()}, Eave: math.NaN(), Ridge: math.NaN(), RMS: math.NaN(), mean: math.NaN(), surface: t.label}
	if t.label >= 0 {
		s := &w.surfaces[t.label]
		part.Form, part.Plane = s.form, s.plane
	}
	return part
}
