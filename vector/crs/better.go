package crs

/*
#include <proj.h>
*/
import "C"

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// worthwhile is the factor by which another operation must be more accurate
// to be worth a word.
const worthwhile = 0.75

// around makes an area out of a place, in degrees: PROJ finds nothing in an
// area without extent.
const around = 0.001

// better tells of an operation that would be clearly more accurate than the
// chosen one at a place in longitude and latitude, and of the grid file that is
// not installed for it; empty when there is none.
func better(from, to vector.CRS, place orb.Point, chosen Operation) string {
	d := openDatabase()
	defer d.close()
	source, err := d.plane(from)
	if err != nil {
		return ""
	}
	defer source.free()
	target, err := d.plane(to)
	if err != nil {
		return ""
	}
	defer target.free()
	return d.lacking(source, target, place, chosen)
}

// lacking tells of an operation between two CRSs that would be more accurate
// than the chosen one at a place, and of the grid that it lacks.
func (d database) lacking(source, target object, place orb.Point, chosen Operation) string {
	factory := C.proj_create_operation_factory_context(d.context, nil)
	defer C.proj_operation_factory_context_destroy(factory)
	lon, lat := C.double(place[0]), C.double(place[1])
	C.proj_operation_factory_context_set_area_of_interest(d.context, factory, lon-around, lat-around, lon+around, lat+around)
	C.proj_operation_factory_context_set_spatial_criterion(d.context, factory, C.PROJ_SPATIAL_CRITERION_PARTIAL_INTERSECTION)
	C.proj_operation_factory_context_set_grid_availability_use(d.context, factory, C.PROJ_GRID_AVAILABILITY_IGNORED)
	list := C.proj_create_operations(d.context, source.pj, target.pj, factory)
	if list == nil {
		return ""
	}
	defer C.proj_list_destroy(list)
	for i := range C.proj_list_get_count(list) {
		o := object{d, C.proj_list_get(d.context, list, i)}
		text := o.missing(chosen)
		o.free()
		if text != "" {
			return text
		}
	}
	return ""
}

// missing describes an operation that is more accurate than the chosen one and
// lacks a grid; empty when it is not.
func (o object) missing(chosen Operation) string {
	accuracy := float64(C.proj_coordoperation_get_accuracy(o.context, o.pj))
	if accuracy < 0 || !math.IsNaN(chosen.Accuracy) && accuracy > worthwhile*chosen.Accuracy {
		return ""
	}
	for i := range C.proj_coordoperation_get_grid_used_count(o.context, o.pj) {
		var name *C.char
		var available C.int
		found := C.proj_coordoperation_get_grid_used(o.context, o.pj, i, &name, nil, nil, nil, nil, nil, &available)
		if found != 0 && available == 0 {
			return fmt.Sprintf("%s would be good to %g m, but its grid %s is not installed", o.name(), accuracy, C.GoString(name))
		}
	}
	return ""
}
