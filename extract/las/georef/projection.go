package georef

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Keys and values of a projection that is spelled out (OGC GeoTIFF 1.1,
// section 7.5 and annex C).
const (
	keyGeodeticCitation = 2049
	keyMethod           = 3075
	keyParallel1        = 3078
	keyParallel2        = 3079
	keyNaturalLongitude = 3080
	keyNaturalLatitude  = 3081
	keyNaturalEasting   = 3082
	keyNaturalNorthing  = 3083
	keyFalseLongitude   = 3084
	keyFalseLatitude    = 3085
	keyFalseEasting     = 3086
	keyFalseNorthing    = 3087
	keyCentreLongitude  = 3088
	keyCentreLatitude   = 3089
	keyScale            = 3092
	methodTransverse    = 1
	methodLambert2      = 8
	methodLambert1      = 9
	methodAlbers        = 11
	degreesInRadians    = 0.0174532925199433
	keyAngularUnits     = 2054
	unitDegree          = 9102
)

// A geodetic is a geographic CRS as well-known text needs it spelled out.
type geodetic struct {
	name, datum, ellipsoid string
	axis, flattening       float64 // semi-major axis in metres, 1/f
}

// geodeticOf returns the geographic CRSs that spelled-out projections stand
// on in practice, by EPSG code.
func geodeticOf(code int) (geodetic, bool) {
	const axis80, flattening80, grs80 = 6378137, 298.257222101, "GRS 1980"
	switch code {
	case 4269:
		return geodetic{"NAD83", "North_American_Datum_1983", grs80, axis80, flattening80}, true
	case 4152:
		return geodetic{"NAD83(HARN)", "NAD83_High_Accuracy_Reference_Network", grs80, axis80, flattening80}, true
	case 4759:
		return geodetic{"NAD83(NSRS2007)", "NAD83_National_Spatial_Reference_System_2007", grs80, axis80, flattening80}, true
	case 6318:
		return geodetic{"NAD83(2011)", "NAD83_National_Spatial_Reference_System_2011", grs80, axis80, flattening80}, true
	case 4617:
		return geodetic{"NAD83(CSRS)", "NAD83_Canadian_Spatial_Reference_System", grs80, axis80, flattening80}, true
	case 4258:
		return geodetic{"ETRS89", "European_Terrestrial_Reference_System_1989", grs80, axis80, flattening80}, true
	case 4283:
		return geodetic{"GDA94", "Geocentric_Datum_of_Australia_1994", grs80, axis80, flattening80}, true
	case 7844:
		return geodetic{"GDA2020", "Geocentric_Datum_of_Australia_2020", grs80, axis80, flattening80}, true
	case 4326:
		return geodetic{"WGS 84", "WGS_1984", "WGS 84", axis80, 298.257223563}, true
	case 4267:
		return geodetic{"NAD27", "North_American_Datum_1927", "Clarke 1866", 6378206.4, 294.978698213898}, true
	}
	return geodetic{}, false
}

// definition returns the well-known text (version 1) of a projection that is
// spelled out in keys, empty where a piece is missing or not known here.
func (d directory) definition(name string) string {
	base, ok := geodeticOf(d.short(keyGeodetic))
	unit := d.unit(keyLinearUnits, keyLinearSize)
	if angle := d.short(keyAngularUnits); !ok || !unit.Known() || angle != 0 && angle != unitDegree {
		return ""
	}
	method, parameters := d.method()
	if method == "" {
		return ""
	}
	var b strings.Builder
	fmt.Fprintf(&b, `PROJCS[%s,GEOGCS["%s",DATUM["%s",SPHEROID["%s",%.12g,%.15g]],PRIMEM["Greenwich",0],UNIT["degree",%.15g],AUTHORITY["EPSG","%d"]],PROJECTION["%s"]`,
		quote(name), base.name, base.datum, base.ellipsoid, base.axis, base.flattening, degreesInRadians, d.short(keyGeodetic), method)
	for _, p := range parameters {
		v, ok := d.first(p.keys)
		if !ok {
			return ""
		}
		fmt.Fprintf(&b, `,PARAMETER["%s",%s]`, p.name, strconv.FormatFloat(v, 'g', -1, 64))
	}
	fmt.Fprintf(&b, `,UNIT["%s",%.15g],AXIS["Easting",EAST],AXIS["Northing",NORTH]]`, unit.Name, unit.Metres)
	return b.String()
}

// A parameter is one of a projection's, and the keys it may stand in: writers
// do not agree on which of the origins is the right one.
type parameter struct {
	name string
	keys []int
}

// method returns the projection method and its parameters in the names of
// OGC 01-009, empty for a method that is not known here.
func (d directory) method() (string, []parameter) {
	longitude := []int{keyNaturalLongitude, keyFalseLongitude, keyCentreLongitude}
	latitude := []int{keyNaturalLatitude, keyFalseLatitude, keyCentreLatitude}
	easting, northing := []int{keyNaturalEasting, keyFalseEasting}, []int{keyNaturalNorthing, keyFalseNorthing}
	if d.short(keyMethod) == methodLambert2 {
		slices.Reverse(longitude[:2])
		slices.Reverse(latitude[:2])
		slices.Reverse(easting)
		slices.Reverse(northing)
	}
	origin := []parameter{{"false_easting", easting}, {"false_northing", northing}}
	meridian := []parameter{{"latitude_of_origin", latitude}, {"central_meridian", longitude}}
	scale := parameter{"scale_factor", []int{keyScale}}
	parallels := []parameter{{"standard_parallel_1", []int{keyParallel1}}, {"standard_parallel_2", []int{keyParallel2}}}
	switch d.short(keyMethod) {
	case methodTransverse:
		return "Transverse_Mercator", append(append(meridian, scale), origin...)
	case methodLambert1:
		return "Lambert_Conformal_Conic_1SP", append(append(meridian, scale), origin...)
	case methodLambert2:
		return "Lambert_Conformal_Conic_2SP", append(append(parallels, meridian...), origin...)
	case methodAlbers:
		centre := []parameter{{"latitude_of_center", latitude}, {"longitude_of_center", longitude}}
		return "Albers_Conic_Equal_Area", append(append(parallels, centre...), origin...)
	}
	return "", nil
}

// first returns the value of the first key that has a number in the doubles.
func (d directory) first(keys []int) (float64, bool) {
	for _, k := range keys {
		if v, ok := d.number(k); ok {
			return v, true
		}
	}
	return 0, false
}

// quote puts a text in quotes as well-known text has them.
func quote(s string) string { return `"` + strings.ReplaceAll(s, `"`, `""`) + `"` }
