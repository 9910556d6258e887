package gpkg

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// Parts of the flags byte of the geometry header (OGC 12-128r17, table
// "GeoPackageBinary").
const (
	flagLittleEndian  = 0x01
	flagEnvelopeShift = 1
	flagEnvelopeMask  = 0x07
	flagEmpty         = 0x10
	flagExtended      = 0x20
	envelopeXY        = 1
	headerSize        = 8
)

// envelopeSizes are the lengths in bytes of the envelopes by their indicator:
// none, XY, XYZ, XYM, XYZM.
var envelopeSizes = [...]int{0, 32, 48, 48, 64}

var errGeometry = errors.New("not a GeoPackage geometry")

// encode returns the geometry as a GeoPackage blob: little-endian, with an XY
// envelope for polygons and lines and none for points, which are their own. A nil
// geometry gives nil, which is stored as NULL.
func encode(g orb.Geometry, srsID int) ([]byte, error) {
	switch g := g.(type) {
	case nil:
		return nil, nil
	case orb.Point:
		return appendPoint(header(srsID, 0, headerSize+wkbPointSize), g), nil
	case orb.LineString:
		return appendLine(withEnvelope(g, srsID, wkbHeaderSize+4+16*len(g)), g), nil
	case orb.Polygon:
		return appendPolygon(withEnvelope(g, srsID, wkbPolygonSize(g)), g), nil
	}
	return nil, fmt.Errorf("a %T is in no layer", g)
}

// withEnvelope begins the blob of a geometry of a size in well-known binary.
func withEnvelope(g orb.Geometry, srsID, size int) []byte {
	blob := header(srsID, envelopeXY, headerSize+envelopeSizes[envelopeXY]+size)
	bound := g.Bound()
	for _, v := range [...]float64{bound.Min[0], bound.Max[0], bound.Min[1], bound.Max[1]} {
		blob = binary.LittleEndian.AppendUint64(blob, math.Float64bits(v))
	}
	return blob
}

func header(srsID, envelope, size int) []byte {
	blob := make([]byte, 0, size)
	blob = append(blob, 'G', 'P', 0, byte(flagLittleEndian|envelope<<flagEnvelopeShift))
	return binary.LittleEndian.AppendUint32(blob, uint32(int32(srsID)))
}

// decode returns the geometry of a blob: an orb.Point, orb.LineString,
// orb.Polygon or orb.MultiPolygon, with Z and M left out. It returns nil for an empty
// geometry and an error for any other type and for bytes that are not one.
func decode(blob []byte) (orb.Geometry, error) {
	if len(blob) < headerSize || blob[0] != 'G' || blob[1] != 'P' {
		return nil, errGeometry
	}
	if blob[2] != 0 {
		return nil, fmt.Errorf("geometry of binary version %d, only 0 is defined", blob[2])
	}
	flags := blob[3]
	if flags&flagExtended != 0 {
		return nil, errors.New("geometry of an extended type")
	}
	indicator := int(flags >> flagEnvelopeShift & flagEnvelopeMask)
	if indicator >= len(envelopeSizes) || len(blob) < headerSize+envelopeSizes[indicator] {
		return nil, errGeometry
	}
	if flags&flagEmpty != 0 {
		return nil, nil
	}
	return decodeWKB(blob[headerSize+envelopeSizes[indicator]:])
}
