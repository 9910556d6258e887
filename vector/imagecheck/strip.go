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
	centre                    float64 // metres outward
	pixel                     float64 // metres
	rows                      int     // sampled along the edge
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

// strip samples beside an edge. ok is false where the edge is too short or not
// on the image.
func (s sampler) strip(e *Edge, centre float64, reachMetres float64, reachPixels int) (st strip, ok bool, err error) {
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
		reach: reach, centre: centre, pixel: l.pixel, rows: rows,
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

// piece adds up the rows of a part of the edge, from one window.
func (s sampler) piece(st *strip, l local, counts []int, rows [2]int) error {
	at := func(row, place int) (col, line float64) {
		a := (float64(row) + 0.5 - float64(st.rows)/2) * st.pixel
		u := st.centre + float64(place-st.reach)*st.pixel
		return l.col + a*l.along.x + u*l.across.x, l.row + a*l.along.y + u*l.across.y
	}
	box := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for _, row := range []int{rows[0], rows[1] - 1} {
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
