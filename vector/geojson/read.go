package geojson

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// MaxSize is the size in bytes of the largest file that is read: some million
// footprints.
const MaxSize = 2 << 30

// Polygons is what a file holds.
type Polygons struct {
	// Polygons and IDs have an entry for each polygon. The parts of a
	// multipolygon are entries of their own with the same ID.
	Polygons []orb.Polygon
	IDs      []string
	// CRS is WGS 84 longitude and latitude, EPSG:4326, unless the file says
	// otherwise: in the property CRSProperty of its features, or in the member
	// crs of the format before the RFC. It has no definition and no units.
	CRS vector.CRS
}

// ReadPolygons returns the polygons of a GeoJSON file: of a feature collection,
// a feature, or a bare geometry. See Read.
func ReadPolygons(path string) (Polygons, error) {
	f, err := os.Open(path)
	if err != nil {
		return Polygons{}, fmt.Errorf("geojson: %w", err)
	}
	defer f.Close()
	p, err := read(f, MaxSize)
	if err != nil {
		return Polygons{}, fmt.Errorf("geojson: read %s: %w", path, err)
	}
	return p, nil
}

// Read returns the polygons of a GeoJSON text of at most limit bytes, or of a
// sequence of features: one after another in lines, or with the record
// separators of RFC 8142.
//
// The id of a feature is taken from its property building_id, else its member
// id, else its position in the file, from 1. Third coordinates are left out,
// features without a geometry passed over. Polygons are as stored: neither
// closed, oriented nor checked. A geometry other than a polygon, features in
// several CRSs, and anything that is not GeoJSON give an error.
func Read(r io.Reader, limit int64) (Polygons, error) {
	p, err := read(r, limit)
	if err != nil {
		return Polygons{}, fmt.Errorf("geojson: %w", err)
	}
	return p, nil
}

var errNotGeoJSON = errors.New("not GeoJSON")

// reader collects the polygons of one text.
type reader struct {
	Polygons
	features int
	crsName  string
	legacy   string
}

func read(r io.Reader, limit int64) (Polygons, error) {
	limited := &io.LimitedReader{R: r, N: limit + 1}
	d := json.NewDecoder(separated{limited})
	in := &reader{}
	kind, err := in.document(d)
	for err == nil && kind == "Feature" && d.More() {
		if kind, err = in.document(d); err == nil && kind != "Feature" {
			err = fmt.Errorf("%w: a sequence of features holds a %q", errNotGeoJSON, kind)
		}
	}
	if limited.N <= 0 {
		return Polygons{}, fmt.Errorf("larger than %d bytes", limit)
	}
	if err != nil {
		return Polygons{}, err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return Polygons{}, fmt.Errorf("%w: text goes on after its end", errNotGeoJSON)
	}
	in.CRS, err = in.crs()
	return in.Polygons, err
}

// separated passes a text sequence on without its record separators (RFC 8142),
// a character that JSON has no use for.
type separated struct{ io.Reader }

func (s separated) Read(b []byte) (int, error) {
	n, err := s.Reader.Read(b)
	for i, c := range b[:n] {
		if c == 0x1E {
			b[i] = ' '
		}
	}
	return n, err
}

// document reads the outermost object member by member, and the features of a
// collection one by one, so that only one is held in full.
func (in *reader) document(d *json.Decoder) (kind string, err error) {
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return "", fmt.Errorf("%w: it does not begin with an object", errNotGeoJSON)
	}
	whole := map[string]json.RawMessage{}
	for d.More() {
		t, err := d.Token()
		if err != nil {
			return "", fmt.Errorf("%w: %w", errNotGeoJSON, err)
		}
		key, _ := t.(string)
		if key == "features" {
			if err := in.collection(d); err != nil {
				return "", err
			}
			continue
		}
		var value json.RawMessage
		if err := d.Decode(&value); err != nil {
			return "", fmt.Errorf("%w: %w", errNotGeoJSON, err)
		}
		switch key {
		case "crs", "type", "id", "properties", "geometry", "coordinates":
			whole[key] = value
		}
	}
	if _, err := d.Token(); err != nil {
		return "", fmt.Errorf("%w: %w", errNotGeoJSON, err)
	}
	in.legacy = legacyCRS(whole["crs"])
	if json.Unmarshal(whole["type"], &kind) != nil {
		return "", fmt.Errorf("%w: the object has no type", errNotGeoJSON)
	}
	switch kind {
	case "FeatureCollection":
		return kind, nil
	case "Feature":
		return kind, in.feature(featureJSON{ID: whole["id"], Properties: whole["properties"], Geometry: whole["geometry"]})
	}
	in.features++
	return kind, in.geometry("1", kind, whole["coordinates"])
}

func (in *reader) collection(d *json.Decoder) error {
	if t, err := d.Token(); err != nil || t != json.Delim('[') {
		return fmt.Errorf("%w: features is not a list", errNotGeoJSON)
	}
	for d.More() {
		var f featureJSON
		if err := d.Decode(&f); err != nil {
			return fmt.Errorf("feature %d: %w: %w", in.features+1, errNotGeoJSON, err)
		}
		if err := in.feature(f); err != nil {
			return err
		}
	}
	if _, err := d.Token(); err != nil {
		return fmt.Errorf("%w: %w", errNotGeoJSON, err)
	}
	return nil
}

type featureJSON struct {
	ID         json.RawMessage `json:"id"`
	Properties json.RawMessage `json:"properties"`
	Geometry   json.RawMessage `json:"geometry"`
}

func (in *reader) feature(f featureJSON) error {
	in.features++
	var properties struct {
		BuildingID json.RawMessage `json:"building_id"`
		CRS        *string         `json:"coordinate_reference_system"`
	}
	// Properties of other types than ours are somebody else's.
	if json.Unmarshal(f.Properties, &properties) != nil {
		properties.CRS = nil
	}
	if properties.CRS != nil {
		if in.crsName != "" && in.crsName != *properties.CRS {
			return fmt.Errorf("feature %d: its CRS is %s, that of others %s", in.features, *properties.CRS, in.crsName)
		}
		in.crsName = *properties.CRS
	}
	id := firstText(properties.BuildingID, f.ID)
	if id == "" {
		id = strconv.Itoa(in.features)
	}
	var g *struct {
		Type        string          `json:"type"`
		Coordinates json.RawMessage `json:"coordinates"`
	}
	if f.Geometry == nil {
		return nil
	}
	if err := json.Unmarshal(f.Geometry, &g); err != nil {
		return fmt.Errorf("feature %d: %w: %w", in.features, errNotGeoJSON, err)
	}
	if g == nil {
		return nil
	}
	return in.geometry(id, g.Type, g.Coordinates)
}

// firstText returns the first of the values that is a text or a number.
func firstText(values ...json.RawMessage) string {
	for _, v := range values {
		var s string
		var n json.Number
		switch {
		case json.Unmarshal(v, &s) == nil && s != "":
			return s
		case json.Unmarshal(v, &n) == nil && n != "":
			return n.String()
		}
	}
	return ""
}

func (in *reader) geometry(id, kind string, coordinates json.RawMessage) error {
	var parts [][][]position
	var err error
	switch kind {
	case "Polygon":
		parts = make([][][]position, 1)
		err = json.Unmarshal(coordinates, &parts[0])
	case "MultiPolygon":
		err = json.Unmarshal(coordinates, &parts)
	default:
		return fmt.Errorf("feature %d is a %q, not a polygon", in.features, kind)
	}
	if err != nil {
		return fmt.Errorf("feature %d: coordinates: %w", in.features, err)
	}
	for _, part := range parts {
		p := make(orb.Polygon, len(part))
		for i, ring := range part {
			p[i] = make(orb.Ring, len(ring))
			for j, q := range ring {
				p[i][j] = orb.Point(q)
			}
		}
		if len(p) > 0 {
			in.Polygons.Polygons, in.IDs = append(in.Polygons.Polygons, p), append(in.IDs, id)
		}
	}
	return nil
}

// position takes the first two numbers of a position.
type position orb.Point

func (p *position) UnmarshalJSON(b []byte) error {
	var numbers []float64
	if err := json.Unmarshal(b, &numbers); err != nil {
		return err
	}
	if len(numbers) < 2 {
		return fmt.Errorf("a position has %d numbers", len(numbers))
	}
	*p = position{numbers[0], numbers[1]}
	return nil
}

// legacyCRS returns the name in the member crs of GeoJSON before the RFC.
func legacyCRS(b json.RawMessage) string {
	var crs struct {
		Properties struct {
			Name string `json:"name"`
		} `json:"properties"`
	}
	if json.Unmarshal(b, &crs) != nil {
		return ""
	}
	return crs.Properties.Name
}

// crs returns the CRS that the names in the file come to.
func (in *reader) crs() (vector.CRS, error) {
	name := in.crsName
	if name == "" {
		name = in.legacy
	}
	switch name {
	case "", "urn:ogc:def:crs:OGC:1.3:CRS84", "urn:ogc:def:crs:OGC::CRS84":
		return vector.CRS{Name: "WGS 84", Authority: "EPSG", Code: 4326}, nil
	}
	parts := strings.Split(name, ":")
	code, err := strconv.Atoi(parts[len(parts)-1])
	upper := strings.ToUpper(name)
	if err != nil || code <= 0 || !(strings.HasPrefix(upper, "EPSG:") || strings.HasPrefix(upper, "URN:OGC:DEF:CRS:EPSG:")) {
		return vector.CRS{Name: name}, nil
	}
	return vector.CRS{Authority: "EPSG", Code: code}, nil
}
