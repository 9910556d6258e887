package georef

import (
	"encoding/binary"

	"quoin/vector"
)

// GeoTIFF keys and values (OGC GeoTIFF 1.1, tables of section 7).
const (
	keyModel          = 1024
	keyCitation       = 1026
	keyGeodetic       = 2048
	keyProjected      = 3072
	keyProjCitation   = 3073
	keyLinearUnits    = 3076
	keyLinearSize     = 3077
	keyVertical       = 4096
	keyVertCitation   = 4097
	keyVerticalUnits  = 4099
	modelProjected    = 1
	modelGeographic   = 2
	modelGeocentric   = 3
	userDefined       = 32767
	unitMetre         = 9001
	unitFoot          = 9002
	unitUSSurveyFoot  = 9003
	webMercator       = 3857
	worldGeodetic     = 4326
	keysMajor         = 1
	keysRevisionMajor = 1
)

// HasKeys reports whether GeoTIFF keys can name a CRS: by an EPSG code that a
// key has room for.
func HasKeys(c vector.CRS) bool {
	return c.Authority == "EPSG" && c.Code > 0 && c.Code < userDefined && c.VerticalCode < userDefined
}

// Keys returns the GeoTIFF key directory of a CRS that has
// keys,
// and the text it points into (nil for a CRS without a name).
func Keys(c vector.CRS) (directory, ascii []byte) {
	var keys [][4]uint16
	add := func(key, value uint16) { keys = append(keys, [4]uint16{key, 0, 1, value}) }
	geographic := c.Kind == vector.GeographicCRS
	if geographic {
		add(keyModel, modelGeographic)
	} else {
		add(keyModel, modelProjected)
	}
	if c.Name != "" && len(c.Name) < 1<<15 {
		ascii = append([]byte(c.Name), '|', 0)
		keys = append(keys, [4]uint16{keyCitation, RecordASCII, uint16(len(c.Name) + 1), 0})
	}
	if geographic {
		add(keyGeodetic, uint16(c.Code))
	} else {
		add(keyProjected, uint16(c.Code))
		if code := unitCode(c.Horizontal); code != 0 {
			add(keyLinearUnits, code)
		}
	}
	if c.VerticalCode != 0 {
		add(keyVertical, uint16(c.VerticalCode))
	}
	if code := unitCode(c.Vertical); code != 0 {
		add(keyVerticalUnits, code)
	}
	le := binary.LittleEndian
	for _, v := range []uint16{keysMajor, keysRevisionMajor, 0, uint16(len(keys))} {
		directory = le.AppendUint16(directory, v)
	}
	for _, key := range keys {
		for _, v := range key {
			directory = le.AppendUint16(directory, v)
		}
	}
	return directory, ascii
}

// unitCode returns the EPSG code of a unit, 0 when it has none here.
func unitCode(u vector.Unit) uint16 {
	switch u {
	case vector.Metre:
		return unitMetre
	case vector.Foot:
		return unitFoot
	case vector.USSurveyFoot:
		return unitUSSurveyFoot
	}
	return 0
}
