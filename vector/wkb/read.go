package wkb

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

var errEarly = errors.New("well-known binary ends too early")

// Decode returns the geometry at the front of b: an orb.Point, orb.LineString,
// orb.Polygon or orb.MultiPolygon, with an elevation for each position where b
// has them, else nil. M is left out. Other types, and bytes that are no
// geometry, are an error; counts are compared with the bytes that are left
// before anything is allocated.
func Decode(b []byte) (orb.Geometry, []float64, error) {
	r := &reader{rest: b}
	code, err := r.header()
	if err != nil {
		return nil, nil, err
	}
	var g orb.Geometry
	switch code {
	case codePoint:
		g, err = r.point()
	case codeLine:
		g, err = r.line()
	case codePolygon:
		g, err = r.polygon()
	case codeMultiPolygon:
		g, err = r.multiPolygon()
	default:
		return nil, nil, fmt.Errorf("geometry of type %d, neither point, line nor polygon", code)
	}
	if err != nil {
		return nil, nil, err
	}
	return g, r.z, nil
}

// reader takes values off the front of rest.
type reader struct {
	rest  []byte
	order binary.ByteOrder
	// width is the number of ordinates of a position; solid says that the
	// third is an elevation.
	width int
	solid bool
	z     []float64
}

func (r *reader) header() (code uint32, err error) {
	if len(r.rest) < headerSize {
		return 0, errEarly
	}
	switch r.rest[0] {
	case 0:
		r.order = binary.BigEndian
	case 1:
		r.order = binary.LittleEndian
	default:
		return 0, fmt.Errorf("well-known binary with byte order %d", r.rest[0])
	}
	code = r.order.Uint32(r.rest[1:])
	r.rest = r.rest[headerSize:]
	switch code / 1000 {
	case 0:
		r.width, r.solid = 2, false
	case 1, 2:
		r.width, r.solid = 3, code/1000 == 1
	case 3:
		r.width, r.solid = 4, true
	default:
		return 0, fmt.Errorf("geometry of unknown type %d", code)
	}
	return code % 1000, nil
}

// count reads a number of items of at least size bytes each.
func (r *reader) count(size int) (int, error) {
	if len(r.rest) < 4 {
		return 0, errEarly
	}
	n := int(r.order.Uint32(r.rest))
	r.rest = r.rest[4:]
	if n > len(r.rest)/size {
		return 0, errEarly
	}
	return n, nil
}

func (r *reader) point() (orb.Point, error) {
	if len(r.rest) < 8*r.width {
		return orb.Point{}, errEarly
	}
	at := func(i int) float64 { return math.Float64frombits(r.order.Uint64(r.rest[8*i:])) }
	p := orb.Point{at(0), at(1)}
	if r.solid {
		r.z = append(r.z, at(2))
	}
	r.rest = r.rest[8*r.width:]
	return p, nil
}

func (r *reader) line() (orb.LineString, error) {
	n, err := r.count(8 * r.width)
	if err != nil {
		return nil, err
	}
	l := make(orb.LineString, n)
	for i := range l {
		if l[i], err = r.point(); err != nil {
			return nil, err
		}
	}
	return l, nil
}

func (r *reader) polygon() (orb.Polygon, error) {
	rings, err := r.count(4)
	if err != nil {
		return nil, err
	}
	p := make(orb.Polygon, rings)
	for i := range p {
		ring, err := r.line()
		if err != nil {
			return nil, err
		}
		p[i] = orb.Ring(ring)
	}
	return p, nil
}

func (r *reader) multiPolygon() (orb.MultiPolygon, error) {
	parts, err := r.count(headerSize + 4)
	if err != nil {
		return nil, err
	}
	multi := make(orb.MultiPolygon, parts)
	for i := range multi {
		code, err := r.header()
		if err != nil {
			return nil, err
		}
		if code != codePolygon {
			return nil, fmt.Errorf("part of type %d in a multipolygon", code)
		}
		if multi[i], err = r.polygon(); err != nil {
			return nil, err
		}
	}
	return multi, nil
}
