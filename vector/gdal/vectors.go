//go:build !nogdal

package gdal

/*
#include "bridge.h"
#include <cpl_vsi.h>
#include <stdlib.h>
*/
import "C"

import (
	"math"
	"unsafe"

	"github.com/paulmach/orb/encoding/wkb"
)

func openVectors(path string) (dataset, error) {
	return openWith(path, C.GDAL_OF_VECTOR)
}

// translate writes the layers of a file into another format.
func (d dataset) translate(path string, args []string) error {
	name, l := C.CString(path), list(args)
	defer C.free(unsafe.Pointer(name))
	defer C.CSLDestroy(l)
	var r C.report
	C.quoin_translate(name, d.handle, l, &r)
	return failure(&r)
}

func (d dataset) layers() ([]Layer, error) {
	var out []Layer
	for i := range int(C.GDALDatasetGetLayerCount(d.handle)) {
		l, err := readLayer(C.GDALDatasetGetLayer(d.handle, C.int(i)))
		if err != nil {
			return nil, err
		}
		out = append(out, l)
	}
	return out, nil
}

func readLayer(l C.OGRLayerH) (Layer, error) {
	out := Layer{Name: C.GoString(C.OGR_L_GetName(l))}
	var wkt *C.char
	if C.quoin_crs(l, &wkt) != 0 {
		out.CRS = C.GoString(wkt)
	}
	C.VSIFree(unsafe.Pointer(wkt))
	definition := C.OGR_L_GetLayerDefn(l)
	kinds := make([]C.OGRFieldType, int(C.OGR_FD_GetFieldCount(definition)))
	for k := range kinds {
		f := C.OGR_FD_GetFieldDefn(definition, C.int(k))
		kinds[k] = C.OGR_Fld_GetType(f)
		out.Fields = append(out.Fields, C.GoString(C.OGR_Fld_GetNameRef(f)))
	}
	for {
		var r C.report
		f := C.quoin_next(l, &r)
		if r.failed != 0 {
			if f != nil {
				C.OGR_F_Destroy(f)
			}
			return out, failure(&r)
		}
		if f == nil {
			return out, nil
		}
		feature, err := readFeature(f, kinds)
		C.OGR_F_Destroy(f)
		if err != nil {
			return out, err
		}
		out.Features = append(out.Features, feature)
	}
}

func readFeature(f C.OGRFeatureH, kinds []C.OGRFieldType) (Feature, error) {
	out := Feature{ID: int64(C.OGR_F_GetFID(f)), Z: math.NaN(), Values: make([]any, len(kinds))}
	for k, kind := range kinds {
		i := C.int(k)
		switch {
		case C.OGR_F_IsFieldSetAndNotNull(f, i) == 0:
		case kind == C.OFTInteger || kind == C.OFTInteger64:
			out.Values[k] = int64(C.OGR_F_GetFieldAsInteger64(f, i))
		case kind == C.OFTReal:
			out.Values[k] = float64(C.OGR_F_GetFieldAsDouble(f, i))
		default:
			out.Values[k] = C.GoString(C.OGR_F_GetFieldAsString(f, i))
		}
	}
	var size C.int
	var r C.report
	z := C.double(math.NaN())
	data := C.quoin_geometry(f, &size, &z, &r)
	if data == nil {
		return out, failure(&r)
	}
	defer C.VSIFree(unsafe.Pointer(data))
	var err error
	out.Z = float64(z)
	if out.Geometry, err = wkb.Unmarshal(C.GoBytes(unsafe.Pointer(data), size)); err != nil {
		return out, &Error{Text: err.Error()}
	}
	return out, nil
}
