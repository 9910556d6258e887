package georef

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strings"

	"quoin/vector"
)

// GeoTIFF keys and values (OGC GeoTIFF 1.1, section 7).
const (
	keyModel         = 1024
	keyCitation      = 1026
	keyGeodetic      = 2048
	keyProjected     = 3072
	keyProjCitation  = 3073
	keyLinearUnits   = 3076
	keyLinearSize    = 3077
	keyVertical      = 4096
	keyVerticalUnits = 4099
	modelProjected   = 1
	modelGeographic  = 2
	modelGeocentric  = 3
	userDefined      = 32767
	webMercator      = 3857
)

// The first edition of GeoTIFF (1995) named the vertical CRS of NAVD 88 by
// what is the code of its datum; EPSG has one code for each unit.
const (
	oldNAVD88          = 5103
	navd88Metre        = 5703
	navd88USSurveyFoot = 6360
	navd88Foot         = 8228
)

// Keys are the three records that hold GeoTIFF keys.
type Keys struct {
	Directory, Doubles, ASCII []byte
}

// CRS returns the CRS that the keys name: codes, kind and units as far as
// they give them. A projection that is spelled out in keys and has no code
// gives its definition as text where its method is transverse Mercator, Lambert
// conic or Albers on a well-known datum, else only name and units, and a
// warning. A directory that cannot be read is an error.
func (k Keys) CRS() (c vector.CRS, warnings []string, err error) {
	d, err := k.parse()
	if err != nil {
		return c, nil, err
	}
	switch d.short(keyModel) {
	case modelGeographic:
		c.Kind = vector.GeographicCRS
	case modelGeocentric:
		c.Kind = vector.GeocentricCRS
	case modelProjected:
		c.Kind = vector.ProjectedCRS
	default:
		if d.short(keyProjected) != 0 {
			c.Kind = vector.ProjectedCRS
		}
	}
	code := d.short(keyProjected)
	c.Name = d.text(keyProjCitation)
	if c.Kind == vector.GeographicCRS || c.Kind == vector.GeocentricCRS {
		code, c.Name = d.short(keyGeodetic), ""
	}
	if c.Name == "" {
		c.Name = d.text(keyCitation)
	}
	if c.Kind != vector.GeographicCRS {
		c.Horizontal = d.unit(keyLinearUnits, keyLinearSize)
	}
	c.Vertical = d.unit(keyVerticalUnits, 0)
	switch {
	case isWebMercatorCode(code):
		c.Authority, c.Code, c.Kind = "EPSG", webMercator, vector.WebMercatorCRS
	case code == userDefined:
		if c.WKT = d.definition(c.Name); c.WKT == "" {
			warnings = append(warnings, fmt.Sprintf("the GeoTIFF keys spell out a projection (%q) that cannot be put together from them: give its EPSG code", c.Name))
		}
	case code > 0:
		c.Authority, c.Code = "EPSG", code
	}
	old := false
	c.VerticalCode, old = verticalCode(d.short(keyVertical), c.Vertical)
	if old {
		warnings = append(warnings, fmt.Sprintf("vertical code %d is that of a datum: taken for EPSG:%d", oldNAVD88, c.VerticalCode))
	}
	return c, warnings, nil
}

func verticalCode(code int, unit vector.Unit) (epsg int, old bool) {
	if code == oldNAVD88 {
		switch unit {
		case vector.USSurveyFoot:
			return navd88USSurveyFoot, true
		case vector.Foot:
			return navd88Foot, true
		}
		return navd88Metre, true
	}
	if code == userDefined {
		return 0, false
	}
	return code, false
}

// directory is a key directory with the records that it points into.
type directory struct {
	keys map[int][3]uint16 // location, count, value
	Keys
}

func (k Keys) parse() (directory, error) {
	d := directory{Keys: k, keys: map[int][3]uint16{}}
	if len(k.Directory) < 8 {
		return d, errors.New("georef: the GeoTIFF key directory is shorter than its header")
	}
	le := binary.LittleEndian
	if version := le.Uint16(k.Directory); version != 1 {
		return d, fmt.Errorf("georef: GeoTIFF key directory version %d is not known", version)
	}
	count := int(le.Uint16(k.Directory[6:]))
	if 8+8*count > len(k.Directory) {
		return d, fmt.Errorf("georef: the GeoTIFF key directory says %d keys and has room for %d", count, len(k.Directory)/8-1)
	}
	for i := count; i > 0; i-- { // backwards, so that the first of a repeated key stays
		b := k.Directory[8*i:]
		d.keys[int(le.Uint16(b))] = [3]uint16{le.Uint16(b[2:]), le.Uint16(b[4:]), le.Uint16(b[6:])}
	}
	return d, nil
}

// short returns a key's value, 0 when it is not given in the directory.
func (d directory) short(key int) int {
	if v := d.keys[key]; v[0] == 0 {
		return int(v[2])
	}
	return 0
}

// number returns a key's value in the doubles, and false when there is none
// or it is not finite.
func (d directory) number(key int) (float64, bool) {
	v := d.keys[key]
	at := 8 * int(v[2])
	if v[0] != RecordDoubles || at+8 > len(d.Doubles) {
		return 0, false
	}
	value := math.Float64frombits(binary.LittleEndian.Uint64(d.Doubles[at:]))
	return value, !math.IsNaN(value) && !math.IsInf(value, 0)
}

// text returns a key's text, without the bar that ends it.
func (d directory) text(key int) string {
	v := d.keys[key]
	from, to := int(v[2]), int(v[2])+int(v[1])
	if v[0] != RecordASCII || from >= len(d.ASCII) {
		return ""
	}
	s := string(d.ASCII[from:min(to, len(d.ASCII))])
	return strings.ToValidUTF8(strings.TrimSpace(strings.TrimRight(s, "|\x00")), "?")
}

func (d directory) unit(key, sizeKey int) vector.Unit {
	code := d.short(key)
	if code == userDefined && sizeKey != 0 {
		size, _ := d.number(sizeKey)
		return UnitOfLength("unit of its own", size)
	}
	return unitOfCode(code)
}

// HasKeys reports whether GeoTIFF keys can name a CRS: by an EPSG code that a
// key has room for.
func HasKeys(c vector.CRS) bool {
	return c.Authority == "EPSG" && c.Code > 0 && c.Code < userDefined && c.VerticalCode < userDefined
}

// KeysOf returns the key directory and its text for a CRS that keys can name.
func KeysOf(c vector.CRS) Keys {
	var keys [][4]uint16
	var k Keys
	add := func(key, value uint16) { keys = append(keys, [4]uint16{key, 0, 1, value}) }
	key := uint16(keyProjected)
	switch c.Kind {
	case vector.GeographicCRS:
		key = keyGeodetic
		add(keyModel, modelGeographic)
	case vector.GeocentricCRS:
		key = keyGeodetic
		add(keyModel, modelGeocentric)
	default:
		add(keyModel, modelProjected)
	}
	if c.Name != "" && len(c.Name) < 1<<15 {
		k.ASCII = append([]byte(c.Name), '|', 0)
		keys = append(keys, [4]uint16{keyCitation, RecordASCII, uint16(len(c.Name) + 1), 0})
	}
	add(key, uint16(c.Code))
	if code := codeOfUnit(c.Horizontal); code != 0 {
		add(keyLinearUnits, code)
	}
	if c.VerticalCode != 0 {
		add(keyVertical, uint16(c.VerticalCode))
	}
	if code := codeOfUnit(c.Vertical); code != 0 {
		add(keyVerticalUnits, code)
	}
	le := binary.LittleEndian
	for _, v := range []uint16{1, 1, 0, uint16(len(keys))} {
		k.Directory = le.AppendUint16(k.Directory, v)
	}
	for _, key := range keys {
		for _, v := range key {
			k.Directory = le.AppendUint16(k.Directory, v)
		}
	}
	return k
}
