package gpkg

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// Codes of ISO 13249-3 well-known binary. The thousands say which of Z (1), M
// (2) or both (3) follow X and Y.
const (
	wkbPoint        = 1
	wkbLine         = 2
	wkbPolygon      = 3
	wkbMultiPolygon = 6

	wkbHeaderSize = 5 // byte order, code
	wkbPointSize  = wkbHeaderSize + 16
)

var errWKB = errors.New("well-known binary ends too early")

func wkbPolygonSize(p orb.Polygon) int {
	size := wkbHeaderSize + 4
	for _, ring := range p {
		size += 4 + 16*len(ring)
	}
	return size
}

func appendHeader(b []byte, code uint32) []byte {
	return binary.LittleEndian.AppendUint32(append(b, 1), code)
}

func appendXY(b []byte, p orb.Point) []byte {
	b = binary.LittleEndian.AppendUint64(b, math.Float64bits(p[0]))
	return binary.LittleEndian.AppendUint64(b, math.Float64bits(p[1]))
}

func appendPoint(b []byte, p orb.Point) []byte {
	return appendXY(appendHeader(b, wkbPoint), p)
}

func appendLine(b []byte, l orb.LineString) []byte {
	b = binary.LittleEndian.AppendUint32(appendHeader(b, wkbLine), uint32(len(l)))
	for _, p := range l {
		b = appendXY(b, p)
	}
	return b
}

func appendPolygon(b []byte, p orb.Polygon) []byte {
	b = appendHeader(b, wkbPolygon)
	b = binary.LittleEndian.AppendUint32(b, uint32(len(p)))
	for _, ring := range p {
		b = binary.LittleEndian.AppendUint32(b, uint32(len(ring)))
		for _, q := range ring {
			b = appendXY(b, q)
		}
	}
	return b
}

// wkbReader takes values off the front of a text in well-known binary. Counts
// are compared with the bytes that are left before anything is allocated.
type wkbReader struct {
	rest  []byte
	order binary.ByteOrder
	// width is the number of ordinates of a position.
	width int
}

func decodeWKB(b []byte) (orb.Geometry, error) {
	r := &wkbReader{rest: b}
	code, err := r.header()
	if err != nil {
		return nil, err
	}
	var g orb.Geometry
	switch code {
	case wkbPoint:
		g, err = r.point()
	case wkbLine:
		g, err = r.line()
	case wkbPolygon:
		g, err = r.polygon()
	case wkbMultiPolygon:
		g, err = r.multiPolygon()
	default:
		return nil, fmt.Errorf("geometry of type %d, neither point, line nor polygon", code)
	}
	if err != nil {
		return nil, err
	}
	return g, nil
}

func (r *wkbReader) header() (code uint32, err error) {
	if len(r.rest) < wkbHeaderSize {
		return 0, errWKB
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
	r.rest = r.rest[wkbHeaderSize:]
	switch code / 1000 {
	case 0:
		r.width = 2
	case 1, 2:
		r.width = 3
	case 3:
		r.width = 4
	default:
		return 0, fmt.Errorf("geometry of unknown type %d", code)
	}
	return code % 1000, nil
}

// count reads a number of items of at least size bytes each.
func (r *wkbReader) count(size int) (int, error) {
	if len(r.rest) < 4 {
		return 0, errWKB
	}
	n := int(r.order.Uint32(r.rest))
	r.rest = r.rest[4:]
	if n > len(r.rest)/size {
		return 0, errWKB
	}
	return n, nil
}

func (r *wkbReader) point() (orb.Point, error) {
	if len(r.rest) < 8*r.width {
		return orb.Point{}, errWKB
	}
	p := orb.Point{
		math.Float64frombits(r.order.Uint64(r.rest)),
		math.Float64frombits(r.order.Uint64(r.rest[8:])),
	}
	r.rest = r.rest[8*r.width:]
	return p, nil
}

func (r *wkbReader) line() (orb.LineString, error) {
	n, err := r.count(8 * r.width)
	if err != nil {
		return nil, err
	}
	line := make(orb.LineString, n)
	for i := range line {
		if line[i], err = r.point(); err != nil {
			return nil, err
		}
	}
	return line, nil
}

func (r *wkbReader) polygon() (orb.Polygon, error) {
	rings, err := r.count(4)
	if err != nil {
		return nil, err
	}
	polygon := make(orb.Polygon, rings)
	for i := range polygon {
		line, err := r.line()
		if err != nil {
			return nil, err
		}
		polygon[i] = orb.Ring(line)
	}
	return polygon, nil
}

func (r *wkbReader) multiPolygon() (orb.MultiPolygon, error) {
	parts, err := r.count(wkbHeaderSize + 4)
	if err != nil {
		return nil, err
	}
	multi := make(orb.MultiPolygon, parts)
	for i := range multi {
		code, err := r.header()
		if err != nil {
			return nil, err
		}
		if code != wkbPolygon {
			return nil, fmt.Errorf("part of type %d in a multipolygon", code)
		}
		if multi[i], err = r.polygon(); err != nil {
			return nil, err
		}
	}
	return multi, nil
}
