package gpkg

import (
	"database/sql"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"quoin/vector"
	"quoin/vector/layer"
)

// ReadTables returns the layers of a GeoPackage of ours with all their features, in
// the order in which they are delivered, and the CRS that they share. Titles and
// units of columns are those of package layer; a layer that this version does
// not know, as one that somebody has added, is left out and named.
//
// It returns an error for a file that is no GeoPackage, and for one without a
// layer footprints.
func ReadTables(path string) (tables []layer.Table, crs vector.CRS, foreign []string, err error) {
	db, err := open(path)
	if err != nil {
		return nil, crs, nil, fmt.Errorf("gpkg: read %s: %w", path, err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	r := tableReader{db: db}
	if err := r.all(); err != nil {
		return nil, crs, nil, fmt.Errorf("gpkg: read %s: %w", path, err)
	}
	return r.tables, r.crs, r.foreign, nil
}

type tableReader struct {
	db      *sql.DB
	tables  []layer.Table
	crs     vector.CRS
	foreign []string
}

func (r *tableReader) all() error {
	names, err := r.names()
	if err != nil {
		return fmt.Errorf("not a GeoPackage: %w", err)
	}
	if !names[layer.Footprints().Name] {
		return errors.New("not a delivery: it has no layer footprints")
	}
	for _, l := range layer.All() {
		if !names[l.Name] {
			continue // a delivery of an earlier version
		}
		delete(names, l.Name)
		if err := r.read(l); err != nil {
			return fmt.Errorf("layer %s: %w", l.Name, err)
		}
	}
	r.foreign = slices.Sorted(maps.Keys(names))
	t, err := findTable(r.db, layer.Footprints().Name)
	if err != nil {
		return err
	}
	r.crs, err = readCRS(r.db, t.srsID)
	return err
}

func (r *tableReader) names() (map[string]bool, error) {
	rows, err := r.db.Query("SELECT table_name FROM gpkg_contents WHERE data_type IN ('features', 'attributes')")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	names := map[string]bool{}
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			return nil, err
		}
		names[name] = true
	}
	return names, rows.Err()
}

// read appends a layer, with those of its columns that the file has.
func (r *tableReader) read(l layer.Layer) error {
	there, err := r.columns(l.Name)
	if err != nil {
		return err
	}
	var kept []layer.Column
	selected := []string{"NULL"}
	if l.Geometry != layer.None {
		selected[0] = geometryColumn
	}
	for _, c := range l.Columns {
		if there[c.Name] {
			kept = append(kept, c)
			selected = append(selected, quoted(c.Name))
		}
	}
	l.Columns = kept
	rows, err := r.db.Query(fmt.Sprintf("SELECT %s FROM %s ORDER BY %s", strings.Join(selected, ", "), quoted(l.Name), idColumn))
	if err != nil {
		return err
	}
	defer rows.Close()
	t := layer.Table{Layer: l}
	for rows.Next() {
		row, err := scan(rows, kept)
		if err != nil {
			return fmt.Errorf("row %d: %w", len(t.Rows)+1, err)
		}
		t.Rows = append(t.Rows, row)
	}
	r.tables = append(r.tables, t)
	return rows.Err()
}

func (r *tableReader) columns(table string) (map[string]bool, error) {
	rows, err := r.db.Query("SELECT name FROM pragma_table_info(?)", table)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	names := map[string]bool{}
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			return nil, err
		}
		names[name] = true
	}
	return names, rows.Err()
}

func scan(rows *sql.Rows, columns []layer.Column) (layer.Row, error) {
	var blob []byte
	values := make([]any, len(columns))
	into := []any{&blob}
	for i := range values {
		into = append(into, &values[i])
	}
	if err := rows.Scan(into...); err != nil {
		return layer.Row{}, err
	}
	row := layer.Row{Values: values}
	for i, c := range columns {
		v, err := typed(values[i], c.Type)
		if err != nil {
			return row, fmt.Errorf("column %s: %w", c.Name, err)
		}
		values[i] = v
	}
	if blob == nil {
		return row, nil
	}
	var err error
	row.Geometry, err = decode(blob)
	return row, err
}

// typed returns a value of the database as the type that its column has.
func typed(v any, t layer.Type) (any, error) {
	switch x := v.(type) {
	case nil:
		return nil, nil
	case string:
		if t == layer.Text {
			return x, nil
		}
	case int64:
		switch t {
		case layer.Integer:
			return x, nil
		case layer.Real:
			return float64(x), nil
		case layer.Boolean:
			return x != 0, nil
		}
	case bool:
		if t == layer.Boolean {
			return x, nil
		}
	case float64:
		if t == layer.Real && !math.IsNaN(x) && !math.IsInf(x, 0) {
			return x, nil
		}
	}
	return nil, fmt.Errorf("%v is not of the column's type", v)
}
