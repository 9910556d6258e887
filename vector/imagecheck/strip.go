package imagecheck

import (
	"math"

	"github.com/paulmach/orb"
)

// Sampling along an edge, in pixels. Corners are left out, where the neighbour's
// step is within reach of the profile.
const (
	corner      = 4
	section     = 12 // rows of a section, whose mean profile is one observation
	maxSections = 40
	least       = 10 // rows; shorter edges are not measured
	pieceRows   = 512
)

// A strip is the image beside one edge: mean profiles of sections along it, from
// −reach to reach pixels outward in steps of one about an offset.
type strip struct {
	sections, width, channels int
	reach                     int
	centre                    float64 // metres outward, in the mean of the rows
	pixel                     float64 // metres
	rows                      int     // sampled along the edge
	edge                      *Edge
	where                     course
	values                    []float64
	ok                        []bool // by section and place
}

func (s *strip) value(section, place, channel int) float64 {
	return s.values[(section*s.width+place)*s.channels+channel]
}

// A sampler cuts strips out of an image. It is not safe for concurrent use.
type sampler struct {
	image Image
	unit  float64 // metres of a CRS unit
}

// A course is where the image of an edge is looked for: beside the edge by a shift,
// and by a lean in metres per metre for what is higher than some height.
type course struct {
	shift, lean vec
	height      float64
}

// by returns by how much the image of an edge is expected to lie off at a part of
// the way along it. A verge that leans is no straight line in the image.
func (c course) by(e *Edge, part float64) vec {
	if c.lean == (vec{}) {
		return c.shift
	}
	h := e.heightAt(part) - c.height
	if math.IsNaN(h) {
		return c.shift
	}
	return c.shift.add(c.lean.mul(h))
}

// strip samples beside an edge. ok is false where the edge is too short or not
// on the image.
func (s sampler) strip(e *Edge, where course, reachMetres float64, reachPixels int) (st strip, ok bool, err error) {
	l, err := localAt(s.image, e, s.unit)
	if err != nil || !(l.pixel > 0) || math.IsInf(l.pixel, 0) {
		return st, false, err
	}
	length := math.Hypot(e.To[0]-e.From[0], e.To[1]-e.From[1]) * s.unit
	rows := int(length/l.pixel) - 2*corner
	if rows < least {
		return st, false, nil
	}
	reach := max(reachPixels, int(math.Ceil(reachMetres/l.pixel)))
	st = strip{
		sections: min(max(rows/section, 1), maxSections), width: 2*reach + 1, channels: s.image.Channels(),
		reach: reach, pixel: l.pixel, rows: rows, edge: e, where: where,
	}
	for row := range rows {
		_, across := st.at(row)
		st.centre += across / float64(rows)
	}
	st.values = make([]float64, st.sections*st.width*st.channels)
	st.ok = make([]bool, st.sections*st.width)
	counts := make([]int, st.sections*st.width)
	for from := 0; from < rows; from += pieceRows {
		if err := s.piece(&st, l, counts, [2]int{from, min(from+pieceRows, rows)}); err != nil {
			return st, false, err
		}
	}
	for i, n := range counts {
		if share := float64(rows) / float64(st.sections); float64(n) < share/2 {
			continue
		}
		st.ok[i], ok = true, true
		for c := range st.channels {
			st.values[i*st.channels+c] /= float64(n)
		}
	}
	return st, ok, nil
}

// at returns where a row is looked for: metres along the edge from its middle, and
// outward.
func (s *strip) at(row int) (along, across float64) {
	part := (float64(row) + 0.5 + corner) / (float64(s.rows) + 2*corner)
	by, n := s.where.by(s.edge, part), normalOf(s.edge)
	return (float64(row)+0.5-float64(s.rows)/2)*s.pixel + by.dot(vec{-n.y, n.x}), by.dot(n)
}

// piece adds up the rows of a part of the edge, from one window.
func (s sampler) piece(st *strip, l local, counts []int, rows [2]int) error {
	at := func(row, place int) (col, line float64) {
		a, u := st.at(row)
		u += float64(place-st.reach) * st.pixel
		return l.col + a*l.along.x + u*l.across.x, l.row + a*l.along.y + u*l.across.y
	}
	box := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for row := rows[0]; row < rows[1]; row++ { // no straight line where heights differ
		for _, place := range []int{0, st.width - 1} {
			c, r := at(row, place)
			box = box.Extend(orb.Point{c, r})
		}
	}
	if !(math.Abs(box.Min[0]) < 1e9 && math.Abs(box.Min[1]) < 1e9) {
		return nil // nowhere near the image
	}
	left, top := int(math.Floor(box.Min[0]))-1, int(math.Floor(box.Min[1]))-1
	w, err := s.image.Window(left, top, int(box.Max[0])-left+3, int(box.Max[1])-top+3)
	if err != nil {
		return err
	}
	pixel := make([]float64, st.channels)
	for row := rows[0]; row < rows[1]; row++ {
		j := min(row*st.sections/st.rows, st.sections-1)
		for place := range st.width {
			c, r := at(row, place)
			if !w.at(c-float64(left), r-float64(top), pixel) {
				continue
			}
			i := j*st.width + place
			counts[i]++
			for k, v := range pixel {
				st.values[i*st.channels+k] += v
			}
		}
	}
	return nil
}
