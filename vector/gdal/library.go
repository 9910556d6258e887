//go:build !nogdal

package gdal

/*
#cgo pkg-config: gdal
#include "bridge.h"
#include <cpl_conv.h>
#include <stdlib.h>
*/
import "C"

import (
	"math"
	"strings"
	"unsafe"
)

// Built reports whether the program has GDAL.
const Built = true

// failure returns what a call reported.
func failure(r *C.report) error {
	if r.failed == 0 {
		return nil
	}
	return &Error{Text: strings.Join(strings.Fields(C.GoString(&r.text[0])), " ")}
}

// A dataset is GDAL's handle of an open file.
type dataset struct{ handle C.GDALDatasetH }

func openRaster(path string) (dataset, error) {
	return openWith(path, C.GDAL_OF_RASTER)
}

func openWith(path string, flags C.uint) (dataset, error) {
	name := C.CString(path)
	defer C.free(unsafe.Pointer(name))
	var r C.report
	d := dataset{C.quoin_open(name, flags, &r)}
	if d.handle == nil {
		return d, failure(&r)
	}
	return d, nil
}

func (d dataset) close() error {
	var r C.report
	C.quoin_close(d.handle, &r)
	return failure(&r)
}

// list copies words for C; the caller destroys it.
func list(words []string) **C.char {
	var l **C.char
	for _, w := range words {
		c := C.CString(w)
		l = C.CSLAddString(l, c)
		C.free(unsafe.Pointer(c))
	}
	return l
}

func (d dataset) translated(args []string) (dataset, error) {
	l := list(args)
	defer C.CSLDestroy(l)
	var r C.report
	v := dataset{C.quoin_view(d.handle, l, &r)}
	if v.handle == nil {
		return v, failure(&r)
	}
	return v, nil
}

func (d dataset) warped(args []string) (dataset, error) {
	l := list(args)
	defer C.CSLDestroy(l)
	var r C.report
	v := dataset{C.quoin_warp(d.handle, l, &r)}
	if v.handle == nil {
		return v, failure(&r)
	}
	return v, nil
}

func (d dataset) band(i int) C.GDALRasterBandH { return C.GDALGetRasterBand(d.handle, C.int(i+1)) }

// paletted reports whether the first band is numbers of colours.
func (d dataset) paletted() bool {
	return C.GDALGetRasterCount(d.handle) > 0 &&
		C.GDALGetRasterColorInterpretation(d.band(0)) == C.GCI_PaletteIndex &&
		C.GDALGetRasterColorTable(d.band(0)) != nil
}

func (d dataset) info() Info {
	i := Info{
		Format: C.GoString(C.GDALGetDriverShortName(C.GDALGetDatasetDriver(d.handle))),
		Size:   Size{int(C.GDALGetRasterXSize(d.handle)), int(C.GDALGetRasterYSize(d.handle))},
		Bands:  int(C.GDALGetRasterCount(d.handle)),
		CRS:    C.GoString(C.GDALGetProjectionRef(d.handle)),
		NoData: math.NaN(), GeoTransform: GeoTransform{0, 1, 0, 0, 0, 1},
	}
	i.Compression = d.metadata("COMPRESSION", "IMAGE_STRUCTURE")
	i.Placed = C.GDALGetGeoTransform(d.handle, (*C.double)(&i.GeoTransform[0])) == C.CE_None
	for b := range i.Bands {
		i.Alpha = i.Alpha || C.GDALGetRasterColorInterpretation(d.band(b)) == C.GCI_AlphaBand
	}
	if i.Bands == 0 {
		return i
	}
	first := d.band(0)
	i.Depth = depths(C.GDALGetRasterDataType(first))
	var width, height, has C.int
	C.GDALGetBlockSize(first, &width, &height)
	i.Block = Size{int(width), int(height)}
	if v := C.GDALGetRasterNoDataValue(first, &has); has != 0 {
		i.NoData, i.HasNoData = float64(v), true
	}
	for k := range int(C.GDALGetOverviewCount(first)) {
		o := C.GDALGetOverview(first, C.int(k))
		i.Overviews = append(i.Overviews, Size{int(C.GDALGetRasterBandXSize(o)), int(C.GDALGetRasterBandYSize(o))})
	}
	return i
}

func (d dataset) metadata(name, domain string) string {
	n, s := C.CString(name), C.CString(domain)
	defer C.free(unsafe.Pointer(n))
	defer C.free(unsafe.Pointer(s))
	return C.GoString(C.GDALGetMetadataItem(C.GDALMajorObjectH(d.handle), n, s))
}

func depths(t C.GDALDataType) Depth {
	switch t {
	case C.GDT_Byte:
		return Uint8
	case C.GDT_UInt16:
		return Uint16
	case C.GDT_Float32:
		return Float32
	}
	return OtherDepth
}

func (d Depth) gdal() C.GDALDataType {
	switch d {
	case Uint8:
		return C.GDT_Byte
	case Uint16:
		return C.GDT_UInt16
	}
	return C.GDT_Float32
}

// colours returns the bands of red, green and blue, or the first three without
// a meaning, or else the first one that is not transparency.
func (d dataset) colours() []int {
	found := map[C.GDALColorInterp]int{}
	var plain []int
	for b := range int(C.GDALGetRasterCount(d.handle)) {
		meaning := C.GDALGetRasterColorInterpretation(d.band(b))
		if _, twice := found[meaning]; !twice {
			found[meaning] = b
		}
		if meaning != C.GCI_AlphaBand {
			plain = append(plain, b)
		}
	}
	red, r := found[C.GCI_RedBand]
	green, g := found[C.GCI_GreenBand]
	blue, b := found[C.GCI_BlueBand]
	switch {
	case r && g && b:
		return []int{red, green, blue}
	case len(plain) == 0:
		return []int{0}
	case len(plain) >= 3 && len(found) == 1:
		return plain[:3]
	}
	return plain[:1]
}

// masks returns the bands whose masks differ, of those given.
func (d dataset) masks(bands []int) []int {
	var out []int
	for _, b := range bands {
		flags := C.GDALGetMaskFlags(d.band(b))
		switch {
		case flags&C.GMF_ALL_VALID != 0:
			return nil // as long as one channel always counts, so does the pixel
		case flags&C.GMF_PER_DATASET != 0:
			return []int{b}
		}
		out = append(out, b)
	}
	return out
}

func (d dataset) read(band, level int, w Window, q Resampling, a area, buffer []byte) error {
	b := d.band(band)
	if level >= 0 {
		b = C.GDALGetOverview(b, C.int(level))
	}
	return transfer(b, false, w, q, a, buffer)
}

func (d dataset) readMask(band, level int, w Window, q Resampling, a area, buffer []uint8) error {
	b := d.band(band)
	if level >= 0 {
		b = C.GDALGetOverview(b, C.int(level))
	}
	return transfer(C.GDALGetMaskBand(b), false, w, q, a, buffer)
}

// transfer moves samples between a window of a band and a part of a buffer.
func transfer(b C.GDALRasterBandH, write bool, w Window, q Resampling, a area, buffer []byte) error {
	size := map[Depth]int{Uint8: 1, Uint16: 2, Float32: 4}[a.depth]
	step, line := a.step*size, a.stride*a.step*size
	start := a.row*line + a.column*step + a.offset*size
	window := [4]C.double{C.double(w.X), C.double(w.Y), C.double(w.Width), C.double(w.Height)}
	algorithm := map[Resampling]C.int{Nearest: C.GRIORA_NearestNeighbour, Bilinear: C.GRIORA_Bilinear, Average: C.GRIORA_Average}[q]
	var direction C.int
	if write {
		direction = 1
	}
	var r C.report
	if C.quoin_io(b, direction, &window[0], C.int(a.width), C.int(a.height), unsafe.Pointer(&buffer[start]),
		a.depth.gdal(), C.longlong(step), C.longlong(line), algorithm, &r) == 0 {
		return failure(&r)
	}
	return nil
}

// create makes a tiled file to write into.
func create(path, definition string, c Creation, options []string) (dataset, error) {
	name, l := C.CString(path), list(options)
	defer C.free(unsafe.Pointer(name))
	defer C.CSLDestroy(l)
	bands := c.Channels
	if c.Alpha {
		bands++
	}
	var r C.report
	d := dataset{C.quoin_create(name, C.int(c.Width), C.int(c.Height), C.int(bands), c.Depth.gdal(), l, &r)}
	if d.handle == nil {
		return d, failure(&r)
	}
	wkt := C.CString(definition)
	defer C.free(unsafe.Pointer(wkt))
	transform := c.GeoTransform
	if C.quoin_place(d.handle, (*C.double)(&transform[0]), wkt, &r) == 0 {
		d.close()
		return d, failure(&r)
	}
	return d, nil
}

// copyTo writes the raster with another driver.
func (d dataset) copyTo(driver, path string, options []string) error {
	n, name, l := C.CString(driver), C.CString(path), list(options)
	defer C.free(unsafe.Pointer(n))
	defer C.free(unsafe.Pointer(name))
	defer C.CSLDestroy(l)
	var r C.report
	C.quoin_copy(n, name, d.handle, l, &r)
	return failure(&r)
}

func (d dataset) write(band int, a area, at patch, buffer []byte) error {
	w := Window{float64(at.column), float64(at.row), float64(at.width), float64(at.height)}
	return transfer(d.band(band), true, w, Nearest, a, buffer)
}
