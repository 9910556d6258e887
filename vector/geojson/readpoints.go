package geojson

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// A Points is what a file of points holds, with all properties.
type Points struct {
	// Names are those of the properties, in alphabetical order.
	Names []string
	// Points and Rows have an entry for each feature; a row has a text for
	// each name, empty for null and for what is neither text, number nor
	// boolean. Elevations has the third coordinate as text, empty for none.
	Points     []orb.Point
	Rows       [][]string
	Elevations []string
	// CRS is as in Polygons.
	CRS vector.CRS
}

// maxProperties is the number of different properties of all features: each
// feature has a text for each, so that their number must not grow with that of
// the features.
const maxProperties = 1000

// maxPointFile is the size of the largest file of surveyed points.
const maxPointFile = 256 << 20

// ReadPoints returns the features of a GeoJSON collection of points.
func ReadPoints(path string) (Points, error) {
	f, err := os.Open(path)
	if err != nil {
		return Points{}, fmt.Errorf("geojson: %w", err)
	}
	defer f.Close()
	p, err := readPoints(f)
	if err != nil {
		return Points{}, fmt.Errorf("geojson: read %s: %w", path, err)
	}
	return p, nil
}

type pointFeature struct {
	ID         json.RawMessage            `json:"id"`
	Properties map[string]json.RawMessage `json:"properties"`
	Geometry   *struct {
		Type        string        `json:"type"`
		Coordinates []json.Number `json:"coordinates"`
	} `json:"geometry"`
}

func readPoints(r io.Reader) (Points, error) {
	limited := &io.LimitedReader{R: r, N: maxPointFile + 1}
	var file struct {
		Type     string          `json:"type"`
		CRS      json.RawMessage `json:"crs"`
		Features []pointFeature  `json:"features"`
	}
	err := json.NewDecoder(limited).Decode(&file)
	switch {
	case limited.N <= 0:
		return Points{}, fmt.Errorf("larger than %d bytes", maxPointFile)
	case err != nil:
		return Points{}, fmt.Errorf("%w: %w", errNotGeoJSON, err)
	case file.Type != "FeatureCollection":
		return Points{}, errors.New("no feature collection of points")
	}
	all := map[string]bool{}
	for _, f := range file.Features {
		for name := range f.Properties {
			all[name] = true
		}
		if len(all) > maxProperties {
			return Points{}, fmt.Errorf("more than %d different properties", maxProperties)
		}
	}
	p := Points{Names: slices.Sorted(maps.Keys(all))}
	in := reader{legacy: legacyCRS(file.CRS)}
	for i, f := range file.Features {
		if f.Geometry == nil {
			continue
		}
		if err := p.add(f, &in); err != nil {
			return Points{}, fmt.Errorf("feature %d: %w", i+1, err)
		}
	}
	p.CRS, err = in.crs()
	return p, err
}

func (p *Points) add(f pointFeature, in *reader) error {
	if f.Geometry.Type != "Point" || len(f.Geometry.Coordinates) < 2 {
		return fmt.Errorf("it is a %q, not a point", f.Geometry.Type)
	}
	var q orb.Point
	for k := range q {
		v, err := f.Geometry.Coordinates[k].Float64()
		if err != nil {
			return fmt.Errorf("coordinates: %w", err)
		}
		q[k] = v
	}
	up := ""
	if len(f.Geometry.Coordinates) > 2 {
		up = f.Geometry.Coordinates[2].String()
	}
	row := make([]string, len(p.Names))
	for k, name := range p.Names {
		row[k] = firstText(f.Properties[name])
		var yes bool
		if row[k] == "" && json.Unmarshal(f.Properties[name], &yes) == nil && string(f.Properties[name]) != "null" {
			row[k] = fmt.Sprint(yes)
		}
	}
	if name := firstText(f.Properties[CRSProperty]); name != "" {
		if in.crsName != "" && in.crsName != name {
			return fmt.Errorf("its CRS is %s, that of others %s", name, in.crsName)
		}
		in.crsName = name
	}
	p.Points, p.Rows, p.Elevations = append(p.Points, q), append(p.Rows, row), append(p.Elevations, up)
	return nil
}
