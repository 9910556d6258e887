package crs

/*
#cgo pkg-config: proj
#include <proj.h>
#include <stdlib.h>
*/
import "C"

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unsafe"

	"quoin/vector"
)

// maxText bounds the well-known text that is handed to PROJ.
const maxText = 1 << 18

// epsg is the authority whose codes are looked up where none is named.
const epsg = "EPSG"

// methodPseudoMercator is the EPSG code of the projection method of Web
// Mercator, "Popular Visualisation Pseudo Mercator".
const methodPseudoMercator = "1024"

// A database is one PROJ context, for one goroutine.
type database struct{ context *C.PJ_CONTEXT }

func openDatabase() database {
	c := C.proj_context_create()
	C.proj_log_level(c, C.PJ_LOG_NONE)
	C.proj_context_set_enable_network(c, 0)
	return database{c}
}

func (d database) close() { C.proj_context_destroy(d.context) }

// An object is a definition inside PROJ. The zero object is none.
type object struct {
	database
	pj *C.PJ
}

func (o object) none() bool { return o.pj == nil }

// free may be called on none.
func (o object) free() { C.proj_destroy(o.pj) }

// code returns the CRS with a code.
func (d database) code(authority string, code int) (object, error) {
	name, number := C.CString(authority), C.CString(strconv.Itoa(code))
	defer C.free(unsafe.Pointer(name))
	defer C.free(unsafe.Pointer(number))
	o := object{d, C.proj_create_from_database(d.context, name, number, C.PJ_CATEGORY_CRS, 0, nil)}
	if o.none() {
		return o, fmt.Errorf("%s:%d is no CRS in the EPSG dataset of PROJ", authority, code)
	}
	return o, nil
}

// text returns the CRS that well-known text defines.
func (d database) text(wkt string) (object, error) {
	if len(wkt) > maxText {
		return object{}, fmt.Errorf("well-known text of %d bytes is too long", len(wkt))
	}
	if strings.IndexByte(wkt, 0) >= 0 {
		return object{}, errors.New("well-known text holds a zero byte")
	}
	s := C.CString(wkt)
	defer C.free(unsafe.Pointer(s))
	o := object{d, C.proj_create_from_wkt(d.context, s, nil, nil, nil)}
	if o.none() {
		return o, errors.New("the well-known text is no definition that PROJ can read")
	}
	if C.proj_is_crs(o.pj) == 0 {
		o.free()
		return object{}, errors.New("the well-known text does not define a CRS")
	}
	return o, nil
}

func (o object) kind() C.PJ_TYPE { return C.proj_get_type(o.pj) }

func (o object) name() string { return C.GoString(C.proj_get_name(o.pj)) }

// identifier returns the authority and number the definition has, "" and 0
// when it has none.
func (o object) identifier() (string, int) {
	authority, code := C.proj_get_id_auth_name(o.pj, 0), C.proj_get_id_code(o.pj, 0)
	if authority == nil || code == nil {
		return "", 0
	}
	number, err := strconv.Atoi(C.GoString(code))
	if err != nil || number <= 0 {
		return "", 0
	}
	return C.GoString(authority), number
}

// parts splits a CRS into its horizontal and its vertical one, either of
// which may be none. Both are the caller's to free.
func (o object) parts() (horizontal, vertical object) {
	switch o.kind() {
	case C.PJ_TYPE_COMPOUND_CRS:
		first := object{o.database, C.proj_crs_get_sub_crs(o.context, o.pj, 0)}
		second := object{o.database, C.proj_crs_get_sub_crs(o.context, o.pj, 1)}
		defer first.free()
		defer second.free()
		horizontal, _ = first.parts()
		_, vertical = second.parts()
		return horizontal, vertical
	case C.PJ_TYPE_BOUND_CRS:
		source := object{o.database, C.proj_get_source_crs(o.context, o.pj)}
		defer source.free()
		return source.parts()
	case C.PJ_TYPE_VERTICAL_CRS:
		return object{}, object{o.database, C.proj_clone(o.context, o.pj)}
	case C.PJ_TYPE_UNKNOWN:
		return object{}, object{}
	}
	return object{o.database, C.proj_clone(o.context, o.pj)}, object{}
}

// kindOf returns what sort of CRS a horizontal part is.
func (o object) crsKind() vector.CRSKind {
	switch o.kind() {
	case C.PJ_TYPE_PROJECTED_CRS:
		if o.pseudoMercator() {
			return vector.WebMercatorCRS
		}
		return vector.ProjectedCRS
	case C.PJ_TYPE_GEOGRAPHIC_2D_CRS, C.PJ_TYPE_GEOGRAPHIC_3D_CRS, C.PJ_TYPE_GEODETIC_CRS:
		return vector.GeographicCRS
	case C.PJ_TYPE_GEOCENTRIC_CRS:
		return vector.GeocentricCRS
	case C.PJ_TYPE_ENGINEERING_CRS:
		return vector.LocalCRS
	}
	return vector.UnknownCRS
}

func (o object) pseudoMercator() bool {
	conversion := object{o.database, C.proj_crs_get_coordoperation(o.context, o.pj)}
	defer conversion.free()
	var name, authority, code *C.char
	if conversion.none() || C.proj_coordoperation_get_method_info(o.context, conversion.pj, &name, &authority, &code) == 0 {
		return false
	}
	return C.GoString(authority) == epsg && C.GoString(code) == methodPseudoMercator ||
		strings.Contains(C.GoString(name), "Auxiliary Sphere")
}

// unit returns the unit of an axis of length; unknown for an axis that is not
// there or an angle.
func (o object) unit(axis int) vector.Unit {
	system := object{o.database, C.proj_crs_get_coordinate_system(o.context, o.pj)}
	defer system.free()
	if system.none() || axis >= int(C.proj_cs_get_axis_count(o.context, system.pj)) {
		return vector.Unit{}
	}
	var direction, name *C.char
	var factor C.double
	if C.proj_cs_get_axis_info(o.context, system.pj, C.int(axis), nil, nil, &direction, &factor, &name, nil, nil) == 0 {
		return vector.Unit{}
	}
	angle := axis < 2 && o.crsKind() == vector.GeographicCRS
	if metres := float64(factor); !angle && metres > 0 {
		return unitOf(C.GoString(name), metres)
	}
	return vector.Unit{}
}

// unitOf returns the known unit of a length in metres, or one of the given
// name. Definitions print lengths with ten digits and more.
func unitOf(name string, metres float64) vector.Unit {
	for _, u := range []vector.Unit{vector.Metre, vector.Foot, vector.USSurveyFoot} {
		if d := metres/u.Metres - 1; d > -1e-8 && d < 1e-8 {
			return u
		}
	}
	return vector.Unit{Name: name, Symbol: name, Metres: metres}
}

// wkt returns the definition in a dialect of well-known text, empty when the
// dialect cannot say it.
func (o object) wkt(dialect C.PJ_WKT_TYPE) string {
	option := C.CString("MULTILINE=NO")
	defer C.free(unsafe.Pointer(option))
	options := (*[2]*C.char)(C.calloc(2, C.size_t(unsafe.Sizeof(option))))
	defer C.free(unsafe.Pointer(options))
	options[0] = option
	return C.GoString(C.proj_as_wkt(o.context, o.pj, dialect, &options[0]))
}

// projJSON returns the definition as PROJJSON, empty when that cannot say it.
func (o object) projJSON() string {
	return C.GoString(C.proj_as_projjson(o.context, o.pj, nil))
}

// same reports whether two definitions describe the same CRS, axis order
// left aside.
func (o object) same(other object) bool {
	return C.proj_is_equivalent_to_with_ctx(o.context, o.pj, other.pj, C.PJ_COMP_EQUIVALENT_EXCEPT_AXIS_ORDER_GEOGCRS) != 0
}

// Confidence in percent at which PROJ holds a definition to be that of a
// code: it is the same under an equivalent name, or the same under another.
const (
	sameAndNamed = 90
	sameUnnamed  = 70
)

// identify returns the EPSG code of a definition that carries none; 0 when
// no code, or more than one, is sure.
func (o object) identify() int {
	authority := C.CString(epsg)
	defer C.free(unsafe.Pointer(authority))
	var first *C.int
	list := C.proj_identify(o.context, o.pj, authority, nil, &first)
	if list == nil {
		return 0
	}
	defer C.proj_list_destroy(list)
	defer C.proj_int_list_destroy(first)
	count := int(C.proj_list_get_count(list))
	if count == 0 {
		return 0
	}
	confidence := unsafe.Slice(first, count)
	alone := count == 1 || confidence[1] < confidence[0]
	if confidence[0] < sameUnnamed || confidence[0] < sameAndNamed && !alone {
		return 0
	}
	best := object{o.database, C.proj_list_get(o.context, list, 0)}
	defer best.free()
	if !o.same(best) {
		return 0
	}
	_, code := best.identifier()
	return code
}
