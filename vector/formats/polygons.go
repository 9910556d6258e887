package formats

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/crs"
	"quoin/vector/dxf"
	"quoin/vector/gdal"
	"quoin/vector/geojson"
	"quoin/vector/geoparquet"
	"quoin/vector/gpkg"
)

// ReadPolygons returns the polygons of a file of any format that a delivery can
// have, told by its content, and of the other vector formats that GDAL reads.
// layer names one of several, in a GeoPackage, in a drawing (roof edges if empty)
// or in a file that GDAL reads; in a drawing, closed lines are polygons.
//
// The CRS is as the file gives it; see crs.Complete. Identifiers come from
// building_id, or what a Shapefile makes of it, else from the key or the place
// in the file. Geometries other than polygons are an error, in a drawing they
// are passed over.
func ReadPolygons(path, layer string) (gpkg.Polygons, error) {
	head, err := headOf(path)
	if err != nil {
		return gpkg.Polygons{}, err
	}
	switch text := strings.TrimLeft(strings.TrimPrefix(head, "\xEF\xBB\xBF"), " \t\r\n\x1E"); {
	case strings.HasPrefix(head, "SQLite format 3\x00"):
		return gpkg.ReadPolygons(path, layer)
	case strings.HasPrefix(head, "PAR1"):
		read, err := geoparquet.Read(path)
		return gpkg.Polygons{Polygons: read.Polygons, IDs: read.IDs, CRS: read.CRS}, err
	case strings.HasPrefix(text, "{") || text == "":
		read, err := geojson.ReadPolygons(path)
		return gpkg.Polygons{Polygons: read.Polygons, IDs: read.IDs, CRS: read.CRS}, err
	}
	layers, err := gdal.ReadLayers(path)
	if err != nil {
		return gpkg.Polygons{}, err
	}
	drawing := strings.EqualFold(filepath.Ext(path), ".dxf")
	if drawing {
		if layer == "" {
			layer = dxf.RoofEdge
		}
		return drawn(path, layers, layer)
	}
	return polygonsOf(path, layers, layer)
}

// headOf returns the first bytes of a file.
func headOf(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	head := make([]byte, 512)
	n, err := io.ReadFull(f, head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return "", fmt.Errorf("%s: %w", path, err)
	}
	return string(head[:n]), nil
}

func polygonsOf(path string, layers []gdal.Layer, name string) (gpkg.Polygons, error) {
	var names []string
	for _, l := range layers {
		names = append(names, l.Name)
	}
	at := slices.Index(names, name)
	if name == "" && len(layers) == 1 {
		at = 0
	}
	if at < 0 {
		return gpkg.Polygons{}, fmt.Errorf("%s: say which layer to read: it has %s", path, strings.Join(names, ", "))
	}
	l := layers[at]
	out := gpkg.Polygons{Layer: l.Name, CRS: crsOf(l)}
	id := slices.IndexFunc(l.Fields, func(f string) bool { return f == "building_id" || f == shortID })
	for _, f := range l.Features {
		key := fmt.Sprint(f.ID)
		if id >= 0 {
			if s, ok := f.Values[id].(string); ok {
				key = s
			}
		}
		switch g := f.Geometry.(type) {
		case nil:
		case orb.Polygon:
			out.Polygons, out.IDs = append(out.Polygons, g), append(out.IDs, key)
		case orb.MultiPolygon:
			for _, p := range g {
				out.Polygons, out.IDs = append(out.Polygons, p), append(out.IDs, key)
			}
		default:
			return out, fmt.Errorf("%s: feature %s is a %s, not a polygon", path, key, g.GeoJSONType())
		}
	}
	return out, nil
}

// shortID is what package exchange makes of building_id.
const shortID = "buildin_id"

// crsOf returns the CRS that GDAL names: its code where it is in the text, else
// the text.
func crsOf(l gdal.Layer) vector.CRS {
	if l.CRS == "" {
		return vector.CRS{}
	}
	c := vector.CRS{WKT: l.CRS}
	if known, _, err := crs.Complete(c); err == nil {
		return known
	}
	return c
}

// drawn returns the closed lines on one layer of a drawing, numbered from 1.
func drawn(path string, layers []gdal.Layer, name string) (gpkg.Polygons, error) {
	out := gpkg.Polygons{Layer: name}
	for _, l := range layers {
		at := slices.Index(l.Fields, "Layer")
		for _, f := range l.Features {
			if at < 0 || f.Values[at] != name {
				continue
			}
			var ring orb.Ring
			switch g := f.Geometry.(type) {
			case orb.LineString:
				ring = orb.Ring(g)
			case orb.Polygon:
				if len(g) > 0 {
					ring = g[0]
				}
			}
			if len(ring) < 4 || !ring.Closed() {
				continue
			}
			out.Polygons = append(out.Polygons, orb.Polygon{ring})
			out.IDs = append(out.IDs, fmt.Sprint(len(out.Polygons)))
		}
	}
	if len(out.Polygons) == 0 {
		return out, fmt.Errorf("%s: no closed line on layer %s", path, name)
	}
	return out, nil
}
