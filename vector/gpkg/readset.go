package gpkg

import (
	"database/sql"
	"encoding/xml"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"quoin/vector"
	"quoin/vector/layer"
)

// ReadSet returns all tables of features and of attributes of a GeoPackage that
// quoin wrote, of this version or another: columns that layer.All does not know
// come as the file describes them, and those it lacks are not there. The CRS has
// no units; see crs.Complete. A file in which tables have different CRSs is an
// error, and so is one that has none of quoin's tables.
func ReadSet(path string) (layer.Set, error) {
	s, err := readSet(path)
	if err != nil {
		return layer.Set{}, fmt.Errorf("gpkg: read %s: %w", path, err)
	}
	return s, nil
}

const contentsQuery = `
SELECT c.table_name, c.data_type, coalesce(c.identifier, c.table_name), coalesce(c.description, ''), c.last_change,
  coalesce(g.column_name, ''), coalesce(g.geometry_type_name, ''), coalesce(g.srs_id, -2)
FROM gpkg_contents c LEFT JOIN gpkg_geometry_columns g ON g.table_name = c.table_name
WHERE c.data_type IN ('features', 'attributes') ORDER BY c.rowid`

// noSRS stands for the reference system of a table without geometries.
const noSRS = -2

// stored is a table as it stands in the file.
type stored struct {
	layer    layer.Layer
	geometry string
	srsID    int
	changed  string
}

func readSet(path string) (s layer.Set, err error) {
	db, err := open(path)
	if err != nil {
		return s, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	tables, err := contents(db)
	if err != nil {
		return s, fmt.Errorf("not a GeoPackage with features: %w", err)
	}
	srs := noSRS
	for _, t := range tables {
		if t.srsID == noSRS {
			continue
		}
		if srs != noSRS && srs != t.srsID {
			return s, errors.New("its layers are in different reference systems")
		}
		srs = t.srsID
	}
	if srs == noSRS || !slices.ContainsFunc(tables, func(t stored) bool { return t.layer.Name == "footprints" }) {
		return s, errors.New("not a delivery: it has no layer footprints")
	}
	if s.CRS, err = readCRS(db, srs); err != nil {
		return s, err
	}
	s.CRS.VerticalCode = verticalCode(db, srs)
	for _, t := range tables {
		table, err := t.read(db)
		if err != nil {
			return s, fmt.Errorf("layer %s: %w", t.layer.Name, err)
		}
		s.Tables = append(s.Tables, table)
	}
	if s.Time, err = time.Parse(time.RFC3339, tables[0].changed); err != nil {
		s.Time = time.Time{}
	}
	return s, readRecords(db, &s)
}

func contents(db *sql.DB) (tables []stored, err error) {
	rows, err := db.Query(contentsQuery)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var t stored
		var kind, geometry string
		if err := rows.Scan(&t.layer.Name, &kind, &t.layer.Title, &t.layer.Description, &t.changed, &t.geometry, &geometry, &t.srsID); err != nil {
			return nil, err
		}
		t.layer.Geometry = layer.Geometry(strings.ToUpper(geometry))
		tables = append(tables, t)
	}
	return tables, rows.Err()
}

var heightsIn = regexp.MustCompile(`heights in EPSG:(\d+)`)

// verticalCode finds what srsOf put into the description.
func verticalCode(db *sql.DB, id int) int {
	var text string
	if db.QueryRow("SELECT coalesce(description, '') FROM gpkg_spatial_ref_sys WHERE srs_id = ?", id).Scan(&text) != nil {
		return 0
	}
	if m := heightsIn.FindStringSubmatch(text); m != nil {
		code, err := strconv.Atoi(m[1])
		if err == nil {
			return code
		}
	}
	return 0
}

// read fills in the columns and returns the table with its rows.
func (t stored) read(db *sql.DB) (layer.Table, error) {
	key, err := t.columns(db)
	if err != nil {
		return layer.Table{}, err
	}
	names := make([]string, 0, 1+len(t.layer.Columns))
	if t.geometry != "" {
		names = append(names, quoted(t.geometry))
	}
	for _, c := range t.layer.Columns {
		names = append(names, quoted(c.Name))
	}
	out := layer.Table{Layer: t.layer}
	if len(names) == 0 {
		return out, nil
	}
	rows, err := db.Query(fmt.Sprintf("SELECT %s FROM %s ORDER BY %s", strings.Join(names, ", "), quoted(t.layer.Name), quoted(key)))
	if err != nil {
		return out, err
	}
	defer rows.Close()
	for rows.Next() {
		row, z, err := t.feature(rows, len(names))
		if err != nil {
			return out, fmt.Errorf("feature %d: %w", len(out.Rows)+1, err)
		}
		out.Rows, out.Z = append(out.Rows, row), append(out.Z, z)
	}
	if withZ, _ := out.Solid(); withZ == 0 {
		out.Z = nil
	}
	return out, rows.Err()
}

// columns describes the attributes: by the model where it knows them, else by
// the file. It returns the name of the key.
func (t *stored) columns(db *sql.DB) (key string, err error) {
	known, _ := layer.Named(t.layer.Name)
	rows, err := db.Query("SELECT name, upper(type), pk FROM pragma_table_info(?)", t.layer.Name)
	if err != nil {
		return "", err
	}
	defer rows.Close()
	key = "rowid"
	for rows.Next() {
		var name, kind string
		var pk int
		if err := rows.Scan(&name, &kind, &pk); err != nil {
			return "", err
		}
		switch i := known.Column(name); {
		case pk == 1:
			key = name
		case name == t.geometry:
		case i >= 0:
			t.layer.Columns = append(t.layer.Columns, known.Columns[i])
		default:
			t.layer.Columns = append(t.layer.Columns, layer.Column{Name: name, Title: name, Type: typeOf(kind)})
		}
	}
	return key, rows.Err()
}

// typeOf returns the type for a column type of GeoPackage; text for those that
// no layer has.
func typeOf(kind string) layer.Type {
	switch kind {
	case "REAL", "DOUBLE", "FLOAT":
		return layer.Real
	case "INTEGER", "INT", "MEDIUMINT", "SMALLINT", "TINYINT":
		return layer.Integer
	case "BOOLEAN":
		return layer.Boolean
	}
	return layer.Text
}

func (t stored) feature(rows *sql.Rows, width int) (row layer.Row, z []float64, err error) {
	values := make([]any, width)
	into := make([]any, width)
	for i := range values {
		into[i] = &values[i]
	}
	if err := rows.Scan(into...); err != nil {
		return row, nil, err
	}
	if t.geometry != "" {
		if blob, _ := values[0].([]byte); blob != nil {
			if row.Geometry, z, err = decodeZ(blob); err != nil {
				return row, nil, err
			}
		}
		values = values[1:]
	}
	for i, c := range t.layer.Columns {
		v, ok := valueOf(values[i], c.Type)
		if !ok {
			return row, nil, fmt.Errorf("column %s holds a %T", c.Name, values[i])
		}
		row.Values = append(row.Values, v)
	}
	return row, z, nil
}

// valueOf returns what the database holds as the type of a column; SQLite lets
// a column hold anything.
func valueOf(v any, t layer.Type) (any, bool) {
	switch v := v.(type) {
	case nil:
		return nil, true
	case string:
		return v, t == layer.Text
	case []byte:
		return string(v), t == layer.Text
	case float64:
		return v, t == layer.Real
	case bool:
		return v, t == layer.Boolean
	case int64:
		switch t {
		case layer.Real:
			return float64(v), true
		case layer.Boolean:
			return v != 0, true
		}
		return v, t == layer.Integer
	}
	return nil, false
}

// readRecords reads the lineage and the other metadata of the whole file.
func readRecords(db *sql.DB, s *layer.Set) (err error) {
	rows, err := db.Query("SELECT md_standard_uri, mime_type, metadata FROM gpkg_metadata ORDER BY id")
	if err != nil {
		return nil // an extension, which a file may do without
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var m vector.Metadata
		if err := rows.Scan(&m.Standard, &m.MIME, &m.Text); err != nil {
			return err
		}
		if m.Standard != dublinCore {
			s.Metadata = append(s.Metadata, m)
			continue
		}
		var terms struct {
			Provenance string `xml:"provenance"`
		}
		if xml.Unmarshal([]byte(m.Text), &terms) == nil {
			s.Lineage = terms.Provenance
		}
	}
	return rows.Err()
}
