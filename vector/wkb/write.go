// Package wkb writes and reads geometries as ISO 13249-3 well-known binary,
// with an elevation for each position where there is one.
package wkb

import (
	"encoding/binary"
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// Codes of the types. The thousands say which of Z (1), M (2) or both (3)
// follow X and Y.
const (
	codePoint        = 1
	codeLine         = 2
	codePolygon      = 3
	codeMultiPolygon = 6
	withZ            = 1000

	headerSize = 5 // byte order, code
)

// Append adds a point, a line or a polygon to b, little-endian. z has an
// elevation for each position, in the order of layer.Feature.Z; nil writes the
// geometry flat. Other types, and elevations that do not match the positions,
// are an error.
func Append(b []byte, g orb.Geometry, z []float64) ([]byte, error) {
	w := writer{b: b, z: z, solid: z != nil}
	switch g := g.(type) {
	case orb.Point:
		w.header(codePoint)
		w.position(g)
	case orb.LineString:
		w.header(codeLine)
		w.positions(g)
	case orb.Polygon:
		w.header(codePolygon)
		w.count(len(g))
		for _, ring := range g {
			w.positions(orb.LineString(ring))
		}
	default:
		return b, fmt.Errorf("a %T is in no layer", g)
	}
	if w.short || len(w.z) > 0 {
		return b, fmt.Errorf("%d elevations do not match the positions of a %T", len(z), g)
	}
	return w.b, nil
}

// Size is the number of bytes that Append adds.
func Size(g orb.Geometry, z []float64) int {
	size := headerSize + 8*len(z)
	switch g := g.(type) {
	case orb.Point:
		size += 16
	case orb.LineString:
		size += 4 + 16*len(g)
	case orb.Polygon:
		size += 4
		for _, ring := range g {
			size += 4 + 16*len(ring)
		}
	}
	return size
}

// writer adds values to b, and takes elevations off the front of z.
type writer struct {
	b            []byte
	z            []float64
	solid, short bool
}

func (w *writer) header(code uint32) {
	if w.solid {
		code += withZ
	}
	w.b = binary.LittleEndian.AppendUint32(append(w.b, 1), code)
}

func (w *writer) count(n int) { w.b = binary.LittleEndian.AppendUint32(w.b, uint32(n)) }

func (w *writer) number(v float64) {
	w.b = binary.LittleEndian.AppendUint64(w.b, math.Float64bits(v))
}

func (w *writer) positions(l orb.LineString) {
	w.count(len(l))
	for _, p := range l {
		w.position(p)
	}
}

func (w *writer) position(p orb.Point) {
	w.number(p[0])
	w.number(p[1])
	if !w.solid {
		return
	}
	if len(w.z) == 0 {
		w.short = true
		return
	}
	w.number(w.z[0])
	w.z = w.z[1:]
}
