package gpkg

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"quoin/vector/wkb"
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
// envelope for polygons and lines and none for points, which are their own. z has
// an elevation for each position, or is nil for a flat geometry. A nil geometry
// gives nil, which is stored as NULL.
func encode(g orb.Geometry, z []float64, srsID int) ([]byte, error) {
	if g == nil {
		return nil, nil
	}
	if _, ok := g.(orb.Point); ok {
		return wkb.Append(header(srsID, 0, wkb.Size(g, z)), g, z)
	}
	blob := header(srsID, envelopeXY, wkb.Size(g, z))
	bound := g.Bound()
	for _, v := range [...]float64{bound.Min[0], bound.Max[0], bound.Min[1], bound.Max[1]} {
		blob = binary.LittleEndian.AppendUint64(blob, math.Float64bits(v))
	}
	return wkb.Append(blob, g, z)
}

func header(srsID, envelope, size int) []byte {
	blob := make([]byte, 0, headerSize+envelopeSizes[envelope]+size)
	blob = append(blob, 'G', 'P', 0, byte(flagLittleEndian|envelope<<flagEnvelopeShift))
	return binary.LittleEndian.AppendUint32(blob, uint32(int32(srsID)))
}

// decode returns the geometry of a blob: an orb.Point, orb.LineString,
// orb.Polygon or orb.MultiPolygon, with Z and M left out. It returns nil for an empty
// geometry and an error for any other type and for bytes that are not one.
func decode(blob []byte) (orb.Geometry, error) {
	g, _, err := decodeZ(blob)
	return g, err
}

// decodeZ is decode with the elevations of the positions, nil for none.
func decodeZ(blob []byte) (orb.Geometry, []float64, error) {
	if len(blob) < headerSize || blob[0] != 'G' || blob[1] != 'P' {
		return nil, nil, errGeometry
	}
	if blob[2] != 0 {
		return nil, nil, fmt.Errorf("geometry of binary version %d, only 0 is defined", blob[2])
	}
	flags := blob[3]
	if flags&flagExtended != 0 {
		return nil, nil, errors.New("geometry of an extended type")
	}
	indicator := int(flags >> flagEnvelopeShift & flagEnvelopeMask)
	if indicator >= len(envelopeSizes) || len(blob) < headerSize+envelopeSizes[indicator] {
		return nil, nil, errGeometry
	}
	if flags&flagEmpty != 0 {
		return nil, nil, nil
	}
	return wkb.Decode(blob[headerSize+envelopeSizes[indicator]:])
}
