package crs

/*
#include <proj.h>
#include <proj_experimental.h>
#include <stdlib.h>
*/
import "C"

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unsafe"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// Parse returns the CRS that a user names: a code ("EPSG:25832", or just
// "25832"), a horizontal and a vertical one ("EPSG:6576+6360"), or well-known
// text. All fields that can be known are filled in.
func Parse(s string) (vector.CRS, error) {
	s = strings.TrimSpace(s)
	var c vector.CRS
	if strings.ContainsAny(s, "[(") {
		c.WKT = s
	} else {
		authority, codes, found := strings.Cut(s, ":")
		if !found {
			authority, codes = epsg, s
		}
		first, second, both := strings.Cut(codes, "+")
		second = strings.TrimPrefix(strings.ToUpper(second), epsg+":")
		c.Authority = strings.ToUpper(strings.TrimSpace(authority))
		var err error
		if c.Code, err = number(first); err == nil && both {
			c.VerticalCode, err = number(second)
		}
		if err != nil {
			return vector.CRS{}, fmt.Errorf("crs: %q is no CRS: give EPSG:25832, EPSG:6576+6360 or well-known text", s)
		}
	}
	c, _, err := Complete(c)
	return c, err
}

func number(s string) (int, error) {
	n, err := strconv.Atoi(strings.TrimSpace(s))
	if err == nil && n <= 0 {
		err = errors.New("not above 0")
	}
	return n, err
}

// ErrUnits says that a file's unit and its CRS's unit contradict each other.
var ErrUnits = errors.New("units contradict each other")

// Complete looks up what c leaves out: name, kind, codes, units, and the
// definition as well-known text. What c says stays, but for these cases: a
// compound code is split, and a foot that is not the one of the CRS gives way
// to it, with a warning.
//
// A CRS without code and definition comes back as it is. A code that does
// not exist and a definition that cannot be read are errors; a unit that
// contradicts the code's one is ErrUnits.
func Complete(c vector.CRS) (completed vector.CRS, warnings []string, err error) {
	if !c.Known() {
		return c, nil, nil
	}
	d := openDatabase()
	defer d.close()
	l := lookup{database: d, crs: c}
	if c.Code != 0 {
		err = l.byCode()
	} else {
		err = l.byText()
	}
	if err == nil && l.crs.VerticalCode != 0 {
		err = l.verticalByCode()
	}
	if err == nil {
		err = l.define()
	}
	if err != nil {
		return c, nil, fmt.Errorf("crs: %w", err)
	}
	return l.crs, l.warnings, nil
}

// A lookup fills in one CRS.
type lookup struct {
	database
	crs      vector.CRS
	warnings []string
}

func (l *lookup) warn(what string, args ...any) {
	l.warnings = append(l.warnings, fmt.Sprintf(what, args...))
}

func (l *lookup) byCode() error {
	if l.crs.Authority == "" {
		l.crs.Authority = epsg
	}
	o, err := l.code(l.crs.Authority, l.crs.Code)
	if err != nil {
		return err
	}
	defer o.free()
	horizontal, vertical := o.parts()
	defer horizontal.free()
	defer vertical.free()
	if horizontal.none() {
		return fmt.Errorf("%s is a CRS of heights only: give the horizontal one too", l.crs)
	}
	if !vertical.none() {
		l.crs.Authority, l.crs.Code = horizontal.identifier()
		if _, code := vertical.identifier(); l.crs.VerticalCode == 0 {
			l.crs.VerticalCode = code
		}
	}
	if err := l.horizontal(horizontal); err != nil {
		return err
	}
	if l.crs.WKT != "" {
		l.compare(horizontal)
	}
	return nil
}

// compare warns where text beside a code defines something else: then one of
// the two is wrong, and only the user knows which.
func (l *lookup) compare(coded object) {
	o, err := l.text(l.crs.WKT)
	if err != nil {
		l.warn("%v: %s is taken", err, l.crs)
		l.crs.WKT = ""
		return
	}
	defer o.free()
	horizontal, vertical := o.parts()
	defer horizontal.free()
	defer vertical.free()
	if horizontal.none() || !horizontal.same(coded) {
		l.warn("the definition of the CRS differs from %s, whose code it carries: the code is taken", l.crs)
	}
}

func (l *lookup) byText() error {
	o, err := l.text(l.crs.WKT)
	if err != nil {
		return err
	}
	defer o.free()
	horizontal, vertical := o.parts()
	defer horizontal.free()
	defer vertical.free()
	if horizontal.none() {
		return errors.New("the definition has no horizontal CRS")
	}
	if err := l.horizontal(horizontal); err != nil {
		return err
	}
	if l.crs.Authority, l.crs.Code = horizontal.identifier(); l.crs.Code == 0 {
		if l.crs.Code = horizontal.identify(); l.crs.Code != 0 {
			l.crs.Authority = epsg
		}
	}
	if vertical.none() {
		return nil
	}
	if authority, code := vertical.identifier(); authority == epsg && l.crs.VerticalCode == 0 {
		l.crs.VerticalCode = code
	}
	return l.setUnit(&l.crs.Vertical, vertical.unit(0), "vertical", "the vertical CRS")
}

func (l *lookup) horizontal(o object) error {
	if kind := o.crsKind(); kind != vector.UnknownCRS {
		l.crs.Kind = kind
	}
	if l.crs.Name == "" || l.crs.Code != 0 {
		l.crs.Name = o.name()
	}
	if !l.crs.Vertical.Known() && l.crs.Kind != vector.GeocentricCRS {
		l.crs.Vertical = o.unit(2)
	}
	return l.setUnit(&l.crs.Horizontal, o.unit(0), "horizontal", l.crs.String())
}

func (l *lookup) verticalByCode() error {
	o, err := l.code(epsg, l.crs.VerticalCode)
	if err != nil {
		return err
	}
	defer o.free()
	if o.kind() != C.PJ_TYPE_VERTICAL_CRS {
		return fmt.Errorf("EPSG:%d is no CRS of heights", l.crs.VerticalCode)
	}
	return l.setUnit(&l.crs.Vertical, o.unit(0), "vertical", fmt.Sprintf("EPSG:%d", l.crs.VerticalCode))
}

// feetApart is above the relative difference of the two feet, 2·10⁻⁶, and
// below that of any other two units.
const feetApart = 1e-5

// setUnit compares the unit a file gives with that of its CRS.
func (l *lookup) setUnit(given *vector.Unit, defined vector.Unit, which, of string) error {
	switch {
	case !defined.Known():
		return nil
	case !given.Known() || *given == defined:
	case math.Abs(given.Metres/defined.Metres-1) < feetApart:
		if given.Name != defined.Name {
			l.warn("the file gives the %s unit as %s, %s has %s: the latter is taken", which, given.Name, of, defined.Name)
		}
	default:
		return fmt.Errorf("the file gives the %s unit as %s, %s has %s: %w; name the right CRS", which, given.Name, of, defined.Name, ErrUnits)
	}
	*given = defined
	return nil
}

// define fills in the well-known text: version 1 where it can say it, which
// is what LAS asks for, else version 2.
func (l *lookup) define() error {
	if l.crs.WKT != "" {
		return nil
	}
	o, err := l.whole(l.crs)
	if err != nil {
		return err
	}
	defer o.free()
	l.crs.WKT = o.wkt(C.PJ_WKT1_GDAL)
	if l.crs.WKT == "" {
		l.crs.WKT = o.wkt(C.PJ_WKT2_2019)
	}
	return nil
}

// whole returns the CRS of a value's codes, compound where it has a vertical
// code, or else of its text.
func (d database) whole(c vector.CRS) (object, error) {
	if c.Code == 0 {
		return d.text(c.WKT)
	}
	horizontal, err := d.code(c.Authority, c.Code)
	if err != nil || c.VerticalCode == 0 {
		return horizontal, err
	}
	defer horizontal.free()
	vertical, err := d.code(epsg, c.VerticalCode)
	if err != nil {
		return object{}, err
	}
	defer vertical.free()
	name := C.CString(horizontal.name() + " + " + vertical.name())
	defer C.free(unsafe.Pointer(name))
	o := object{d, C.proj_create_compound_crs(d.context, name, horizontal.pj, vertical.pj)}
	if o.none() {
		return o, fmt.Errorf("%s cannot be made a compound CRS", c)
	}
	return o, nil
}

// plane returns the horizontal part of a CRS in two dimensions.
func (d database) plane(c vector.CRS) (object, error) {
	c.VerticalCode = 0
	o, err := d.whole(c)
	if err != nil {
		return o, err
	}
	defer o.free()
	horizontal, vertical := o.parts()
	vertical.free()
	if horizontal.none() {
		return horizontal, fmt.Errorf("%s has no horizontal CRS", c)
	}
	defer horizontal.free()
	flat := object{d, C.proj_crs_demote_to_2D(d.context, nil, horizontal.pj)}
	if flat.none() {
		return flat, fmt.Errorf("%s cannot be taken in two dimensions", c)
	}
	return flat, nil
}

// A Dialect is a version of well-known text.
type Dialect int

// The two dialects that GeoPackage and LAS ask for: version 1 as GDAL writes
// it (OGC 01-009), and version 2 (OGC 18-010, 2019).
const (
	WKT1 Dialect = 1
	WKT2 Dialect = 2
)

// Definition returns the horizontal CRS of c as well-known text. A layer of
// footprints has two dimensions, so the vertical CRS is left out.
func Definition(c vector.CRS, dialect Dialect) (string, error) {
	d := openDatabase()
	defer d.close()
	o, err := d.plane(c)
	if err != nil {
		return "", fmt.Errorf("crs: define: %w", err)
	}
	defer o.free()
	kind := C.PJ_WKT_TYPE(C.PJ_WKT2_2019)
	if dialect == WKT1 {
		kind = C.PJ_WKT1_GDAL
	}
	wkt := o.wkt(kind)
	if wkt == "" {
		return "", fmt.Errorf("crs: define: version %d of well-known text cannot say %s", dialect, c)
	}
	return wkt, nil
}

// PROJJSON returns the horizontal CRS of c in the JSON that PROJ defines
// (PROJJSON 0.5 or later), which GeoParquet asks for.
func PROJJSON(c vector.CRS) (string, error) {
	d := openDatabase()
	defer d.close()
	o, err := d.plane(c)
	if err != nil {
		return "", fmt.Errorf("crs: define: %w", err)
	}
	defer o.free()
	text := o.projJSON()
	if text == "" {
		return "", fmt.Errorf("crs: define: PROJJSON cannot say %s", c)
	}
	return text, nil
}

// Same reports whether two CRSs are horizontally the same, whatever they are
// called; it is false when either is unknown or cannot be read.
func Same(a, b vector.CRS) bool {
	if !a.Known() || !b.Known() {
		return false
	}
	if a.Code != 0 && a.Code == b.Code && a.Authority == b.Authority {
		return true
	}
	d := openDatabase()
	defer d.close()
	first, err := d.plane(a)
	if err != nil {
		return false
	}
	defer first.free()
	second, err := d.plane(b)
	if err != nil {
		return false
	}
	defer second.free()
	return first.same(second)
}

// AreaOfUse returns the box in longitude and latitude that the CRS is made
// for, and false when none is on record. A box across the antimeridian has
// its west edge east of its east edge.
func AreaOfUse(c vector.CRS) (orb.Bound, bool) {
	d := openDatabase()
	defer d.close()
	o, err := d.plane(c)
	if err != nil {
		return orb.Bound{}, false
	}
	defer o.free()
	var west, south, east, north C.double
	if C.proj_get_area_of_use(d.context, o.pj, &west, &south, &east, &north, nil) == 0 || west <= -1000 {
		return orb.Bound{}, false
	}
	return orb.Bound{Min: orb.Point{float64(west), float64(south)}, Max: orb.Point{float64(east), float64(north)}}, true
}
