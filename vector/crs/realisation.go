package crs

/*
#include <proj.h>
*/
import "C"

import (
	"fmt"
	"strings"

	"quoin/vector"
)

// datums returns the names of the datums of two CRSs.
func datums(from, to vector.CRS) (string, string) {
	d := openDatabase()
	defer d.close()
	return d.datum(from), d.datum(to)
}

// datum names the geodetic datum of a CRS, with the realisation that the name
// holds, and the epoch that a dynamic one refers to.
func (d database) datum(c vector.CRS) string {
	const unknown = "an unknown datum"
	o, err := d.plane(c)
	if err != nil {
		return unknown
	}
	defer o.free()
	base := object{d, C.proj_crs_get_geodetic_crs(d.context, o.pj)}
	defer base.free()
	if base.none() {
		return unknown
	}
	datum := object{d, C.proj_crs_get_datum(d.context, base.pj)}
	defer datum.free()
	if !datum.none() {
		if epoch := float64(C.proj_dynamic_datum_get_frame_reference_epoch(d.context, datum.pj)); epoch > 0 {
			return fmt.Sprintf("%s (epoch %g)", datum.name(), epoch)
		}
		return datum.name()
	}
	ensemble := object{d, C.proj_crs_get_datum_ensemble(d.context, base.pj)}
	defer ensemble.free()
	if ensemble.none() {
		return unknown
	}
	return fmt.Sprintf("%s (any realisation)", strings.TrimSuffix(ensemble.name(), " ensemble"))
}

// moves reports whether a PROJ pipeline has a step between datums.
func moves(pipeline string) bool {
	for _, method := range []string{"helmert", "shift", "molodensky", "molobadekas", "deformation", "defmodel", "horner", "affine", "geogoffset"} {
		if strings.Contains(pipeline, method) {
			return true
		}
	}
	return false
}

// SameHeights reports whether two CRSs have the same datum of heights, so that
// heights differ by their unit at most; it is false where either has none on
// record.
func SameHeights(a, b vector.CRS) bool {
	if a.VerticalCode == 0 || b.VerticalCode == 0 {
		return false
	}
	if a.VerticalCode == b.VerticalCode {
		return true
	}
	d := openDatabase()
	defer d.close()
	return d.verticalDatum(a.VerticalCode) == d.verticalDatum(b.VerticalCode)
}

// verticalDatum names the datum of a CRS of heights; one that cannot be read
// gets a name of its own.
func (d database) verticalDatum(code int) string {
	o, err := d.code(epsg, code)
	if err != nil {
		return fmt.Sprintf("EPSG:%d", code)
	}
	defer o.free()
	datum := object{d, C.proj_crs_get_datum_forced(d.context, o.pj)}
	defer datum.free()
	if datum.none() {
		return fmt.Sprintf("EPSG:%d", code)
	}
	return datum.name()
}
