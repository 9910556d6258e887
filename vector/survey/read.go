package survey

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/control"
	"quoin/vector/crs"
	"quoin/vector/gdal"
	"quoin/vector/geojson"
	"quoin/vector/gpkg"
)

// Options say where the points are to be brought and what the file leaves out.
type Options struct {
	// Block is the bound of the data, in CRS.
	Block orb.Bound
	CRS   vector.CRS
	// ControlCRS is that of the points; unknown means what their file says,
	// and that of the block where it says nothing.
	ControlCRS vector.CRS
	// Unit is the unit of their coordinates and elevations, where it is not
	// that of their CRS; unknown means that it is.
	Unit vector.Unit
	// Ellipsoidal says that their elevations are heights above the ellipsoid, as
	// satellite receivers give them.
	Ellipsoidal bool
	// Layer is that of the points in a GeoPackage; empty for the only one.
	Layer string
	// Codes decide from a description what a point is; nil means the default.
	Codes control.Codes
	// Georeferencing names the points that the cloud was fitted to before;
	// "all" means every one.
	Georeferencing []string
	// SigmaH and SigmaU are the standard errors of an axis of the position and
	// of the elevation, in metres, of points whose file gives none; 0 for
	// unknown.
	SigmaH, SigmaU float64
	// AllowBallpark accepts a transformation without knowledge of the datums.
	AllowBallpark bool
}

// A Survey is what a file of surveyed points holds, in the CRS and units of
// the block.
type Survey struct {
	Points []control.Point
	// Notes are sentences that the reader of the result must know of: what was
	// transformed, and how well.
	Notes []string
	// Warnings are those that may spoil it.
	Warnings []string
}

// Read returns the points of the file at path: text, a GeoPackage, a
// GeoJSON collection, a Shapefile or a FlatGeobuf of points, told apart by content.
//
// Standard errors in the file are in its own units. Points none of which lies
// in the block are an error that names the mix-up, where one explains it.
func Read(path string, o Options) (Survey, error) {
	s, err := read(path, o)
	if err != nil {
		return Survey{}, fmt.Errorf("survey: %w", err)
	}
	return s, nil
}

// source is a file before it is brought over.
type source struct {
	points []control.Point
	crs    vector.CRS // unknown for text
	// outside are the points when none lies in the block.
	outside *control.OutsideError
}

func read(path string, o Options) (Survey, error) {
	var s Survey
	if !o.CRS.Vertical.Known() {
		o.CRS.Vertical = o.CRS.Horizontal
	}
	src, err := open(path, o, &s)
	if err != nil {
		return s, err
	}
	if o.Codes == nil {
		o.Codes = control.DefaultCodes()
	}
	for i := range src.points {
		src.points[i].Feature = o.Codes.Feature(src.points[i].Description)
	}
	if err := georeferenced(src.points, o.Georeferencing); err != nil {
		return s, err
	}
	b, err := newBridge(src.crs, o)
	if err != nil {
		return s, err
	}
	b.describe(&s)
	for _, p := range src.points {
		q, err := b.bring(p)
		if err != nil {
			return s, err
		}
		s.Points = append(s.Points, defaults(q, o))
	}
	if anyInside(s.Points, o.Block) && src.outside == nil {
		return s, nil
	}
	if text := mixUp(s.Points, src.points, o); text != "" {
		return s, fmt.Errorf("%s: no point lies in the block as the file stands: %s", path, text)
	}
	if src.outside != nil {
		return s, fmt.Errorf("%s: %w", path, src.outside)
	}
	s.Warnings = append(s.Warnings, "no surveyed point lies in the block")
	return s, nil
}

// defaults fills in the standard errors that the file leaves out.
func defaults(p control.Point, o Options) control.Point {
	for axis, sigma := range [3]float64{o.SigmaH / metres(o.CRS.Horizontal), o.SigmaH / metres(o.CRS.Horizontal), o.SigmaU / metres(o.CRS.Vertical)} {
		if p.Sigma[axis] == 0 && sigma > 0 {
			p.Sigma[axis] = sigma
		}
	}
	return p
}

// georeferenced sets the role of the points that are named.
func georeferenced(points []control.Point, names []string) error {
	if len(names) == 1 && strings.EqualFold(names[0], "all") {
		for i := range points {
			points[i].Role = vector.RoleGeoreferencing
		}
		return nil
	}
	for _, name := range names {
		i := slices.IndexFunc(points, func(p control.Point) bool { return p.ID == name })
		if i < 0 {
			return fmt.Errorf("point %q, named as used in georeferencing, is not in the file", name)
		}
		points[i].Role = vector.RoleGeoreferencing
	}
	return nil
}

// open reads the file in its own coordinates.
func open(path string, o Options, s *Survey) (source, error) {
	switch kind, err := kindOf(path); {
	case err != nil:
		return source{}, err
	case o.Layer != "" && kind != "gpkg":
		return source{}, fmt.Errorf("%s is no GeoPackage and has no layers: leave --control-layer out", path)
	case kind == "gpkg":
		p, err := gpkg.ReadPoints(path, o.Layer)
		if errors.Is(err, gpkg.ErrSeveralLayers) {
			err = fmt.Errorf("%w with --control-layer", err)
		}
		if err != nil {
			return source{}, err
		}
		return table(path, spatial{p.Names, p.Points, p.Rows, nil, p.CRS})
	case kind == "geojson":
		p, err := geojson.ReadPoints(path)
		if err != nil {
			return source{}, err
		}
		return table(path, spatial{p.Names, p.Points, p.Rows, p.Elevations, p.CRS})
	case kind == "gdal":
		return features(path)
	}
	// The order of columns is told by where the block is in the points' CRS.
	b, err := newBridge(vector.CRS{}, o)
	if err != nil {
		return source{}, err
	}
	block, err := b.back(o.Block)
	if err != nil {
		return source{}, err
	}
	points, err := control.ReadFile(path, block)
	var outside *control.OutsideError
	if asOutside(err, &outside) {
		return source{points: outside.Points, outside: outside}, nil
	}
	return source{points: points}, err
}

// kindOf tells what sort of file it is by how it begins.
func kindOf(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	head, err := bufio.NewReader(io.LimitReader(f, 512)).Peek(512)
	if err != nil && len(head) == 0 && err != io.EOF {
		return "", fmt.Errorf("%s: %w", path, err)
	}
	switch text := bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xEF\xBB\xBF")), " \t\r\n"); {
	case bytes.HasPrefix(head, []byte("SQLite format 3\x00")):
		return "gpkg", nil
	case bytes.HasPrefix(text, []byte("{")):
		return "geojson", nil
	case bytes.HasPrefix(head, []byte{0, 0, 0x27, 0x0A}), bytes.HasPrefix(head, []byte("fgb\x03")):
		return "gdal", nil // Shapefile and FlatGeobuf begin so
	}
	return "text", nil
}

// features reads the points of a Shapefile or a FlatGeobuf.
func features(path string) (source, error) {
	layers, err := gdal.ReadLayers(path)
	if err != nil {
		return source{}, err
	}
	if len(layers) != 1 {
		return source{}, fmt.Errorf("%s: it has %d layers, and one is needed", path, len(layers))
	}
	l := layers[0]
	f := spatial{names: l.Fields, crs: vector.CRS{WKT: l.CRS}}
	solid := false
	for i, in := range l.Features {
		p, ok := in.Geometry.(orb.Point)
		if !ok {
			return source{}, fmt.Errorf("%s: feature %d is no point", path, i+1)
		}
		row := make([]string, len(l.Fields))
		for k, v := range in.Values {
			switch v := v.(type) {
			case nil:
			case float64:
				row[k] = strconv.FormatFloat(v, 'f', -1, 64)
			default:
				row[k] = fmt.Sprint(v)
			}
		}
		up := ""
		if !math.IsNaN(in.Z) {
			up, solid = strconv.FormatFloat(in.Z, 'f', -1, 64), true
		}
		f.points, f.rows, f.elevations = append(f.points, p), append(f.rows, row), append(f.elevations, up)
	}
	if !solid || slices.ContainsFunc(l.Fields, func(name string) bool { return strings.EqualFold(name, "elevation") }) {
		f.elevations = nil
	}
	return table(path, f)
}

// spatial is what a reader of features gives.
type spatial struct {
	names      []string
	points     []orb.Point
	rows       [][]string
	elevations []string
	crs        vector.CRS
}

// table makes points of features: the position is that of the geometry, all
// else comes from columns with the names that a text file has.
func table(path string, f spatial) (source, error) {
	if len(f.points) == 0 {
		return source{}, fmt.Errorf("%s: no points", path)
	}
	exact := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	names := append([]string{"easting", "northing"}, f.names...)
	rows := make([][]string, len(f.points))
	for i, p := range f.points {
		rows[i] = append([]string{exact(p[0]), exact(p[1])}, f.rows[i]...)
		if f.elevations != nil {
			rows[i] = append(rows[i], f.elevations[i])
		}
	}
	if f.elevations != nil {
		names = append(names, "elevation")
	}
	points, err := control.FromTable(names, rows)
	if err != nil {
		return source{}, fmt.Errorf("%s: %w", path, err)
	}
	c, _, err := crs.Complete(f.crs)
	if err != nil {
		return source{}, fmt.Errorf("%s: %w", filepath.Base(path), err)
	}
	return source{points: points, crs: c}, nil
}
