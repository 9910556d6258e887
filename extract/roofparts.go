package extract

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"quoin/extract/cloud"
	"quoin/extract/form"
	"quoin/extract/roof"
	"quoin/vector"
)

// formPoints returns the building's roof points, each with the surface that
// the roof stage found it on. Both lists are in canonical order; what was
// given to the roof later is on none.
func (d *drawing) formPoints(b roof.Building) []form.Point {
	list := make([]form.Point, len(d.shape.points))
	k := 0
	for i, id := range d.shape.points {
		p := &d.shape.block.Points[id]
		list[i] = form.Point{X: p.East(), Y: p.North(), Z: p.Up(), Surface: -1}
		for k < len(b.Roof) && b.Roof[k] < id {
			k++
		}
		if k < len(b.Roof) && b.Roof[k] == id {
			list[i].Surface = b.Surface[k]
		}
	}
	return list
}

// describe finds the form of a building's roof inside its delivered outline.
func (d *drawing) describe(b roof.Building, frame cloud.Frame, m cloud.Measures) error {
	f := &d.footprint
	points := d.formPoints(b)
	r, err := form.Describe(local(frame, f.Polygon), points, m)
	if err != nil {
		return err
	}
	d.form = r
	f.Roof = vector.RoofForm{Type: r.Type, Pitch: r.Pitch, Aspect: r.Aspect}
	corners := slices.Concat(f.Polygon...)
	f.Parts = make([]vector.RoofPart, len(r.Parts))
	for i, p := range r.Parts {
		scale := frame.Horizontal / frame.Vertical
		f.Parts[i] = vector.RoofPart{
			Part: i + 1, Form: p.Form, Polygon: delivered(frame, p.Polygon, corners),
			Origin: frame.ToCRS(p.Plane.X, p.Plane.Y), Elevation: p.Plane.Z / frame.Vertical,
			Gradient: orb.Point{p.Plane.GX * scale, p.Plane.GY * scale},
			Pitch:    p.Plane.Pitch(), Aspect: p.Plane.Aspect(),
			Eave: p.Eave / frame.Vertical, Ridge: p.Ridge / frame.Vertical,
			RMS: p.RMS / frame.Vertical, PointCount: p.Points,
		}
		if p.Form == vector.FormUnknown {
			f.Parts[i].Gradient = orb.Point{math.NaN(), math.NaN()}
			f.Parts[i].Origin = f.Parts[i].Gradient
			f.Parts[i].Pitch = math.NaN()
		}
	}
	return nil
}

// local returns a polygon in local metres.
func local(frame cloud.Frame, p orb.Polygon) orb.Polygon {
	out := make(orb.Polygon, len(p))
	for r, ring := range p {
		for _, q := range ring {
			x, y := frame.FromCRS(q)
			out[r] = append(out[r], orb.Point{x, y})
		}
	}
	return out
}

// delivered returns a part in CRS units. Vertices at the footprint's corners
// take their bits.
func delivered(frame cloud.Frame, p orb.Polygon, corners []orb.Point) orb.Polygon {
	near := 2 * snapGrid / frame.Horizontal
	out := make(orb.Polygon, len(p))
	for r, ring := range p {
		for _, q := range ring {
			v := frame.ToCRS(q[0], q[1])
			for _, c := range corners {
				if math.Abs(c[0]-v[0]) <= near && math.Abs(c[1]-v[1]) <= near {
					v = c
				}
			}
			out[r] = append(out[r], v)
		}
	}
	return out
}
