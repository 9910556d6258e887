package gpkg

import (
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"github.com/paulmach/orb"

	"quoin/vector/layer"
)

// Names of the two columns that each feature table has besides the layer's.
const (
	idColumn       = "fid"
	geometryColumn = "geom"
)

var sqlTypes = [...]string{layer.Text: "TEXT", layer.Real: "REAL", layer.Integer: "INTEGER", layer.Boolean: "BOOLEAN"}

// layer writes one feature table with its index and its rows in the tables
// about tables.
func (w *writer) layer(t layer.Table) error {
	l := t.Layer
	if _, err := w.db.ExecContext(w.ctx, createTable(l)); err != nil {
		return err
	}
	if l.Geometry == layer.None {
		return w.attributes(t)
	}
	if _, err := w.db.ExecContext(w.ctx, rtree(l.Name, createRTree)); err != nil {
		return err
	}
	bound, err := w.features(t)
	if err != nil {
		return err
	}
	// The triggers come last: rows of the index are written from here, which
	// needs no SQL functions and is faster.
	if _, err := w.db.ExecContext(w.ctx, rtree(l.Name, rtreeTriggers)); err != nil {
		return err
	}
	return w.register(t, bound)
}

func createTable(l layer.Layer) string {
	var b strings.Builder
	fmt.Fprintf(&b, "CREATE TABLE %q (\n  %s INTEGER PRIMARY KEY NOT NULL", l.Name, idColumn)
	if l.Geometry != layer.None {
		fmt.Fprintf(&b, ",\n  %s %s", geometryColumn, l.Geometry)
	}
	for _, c := range l.Columns {
		fmt.Fprintf(&b, ",\n  %s %s", c.Name, sqlTypes[c.Type])
	}
	b.WriteString("\n)")
	return b.String()
}

// features writes the rows, numbered from 1 in the order of the delivery, and
// returns their bound; nil when no row has a geometry.
func (w *writer) features(t layer.Table) (bound *orb.Bound, err error) {
	l := t.Layer
	feature, err := w.db.PrepareContext(w.ctx, insertStatement(l.Name, 2+len(l.Columns)))
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, feature.Close()) }()
	index, err := w.db.PrepareContext(w.ctx, insertStatement(rtreeName(l.Name), 5))
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, index.Close()) }()

	for i, row := range t.Rows {
		id := i + 1
		if err := w.feature(feature, id, row, t.Elevations(i)); err != nil {
			return nil, err
		}
		if row.Geometry == nil {
			continue
		}
		b := row.Geometry.Bound()
		if _, err := index.ExecContext(w.ctx, id, b.Min[0], b.Max[0], b.Min[1], b.Max[1]); err != nil {
			return nil, err
		}
		if bound != nil {
			b = bound.Union(b)
		}
		bound = &b
	}
	return bound, nil
}

func (w *writer) feature(statement *sql.Stmt, id int, row layer.Row, z []float64) error {
	blob, err := encode(row.Geometry, z, w.srsID)
	if err != nil {
		return err
	}
	values := make([]any, 0, 2+len(row.Values))
	values = append(values, id, nil)
	if blob != nil {
		values[1] = blob
	}
	for _, v := range row.Values {
		if s, ok := v.(string); ok {
			v = validText(s)
		}
		values = append(values, v)
	}
	_, err = statement.ExecContext(w.ctx, values...)
	return err
}

// validText returns s as text that every reader can take: in UTF-8, and
// without the NUL character at which C libraries would cut it.
func validText(s string) string {
	return strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\x00", "\uFFFD")
}

// attributes writes the rows of a table without a geometry (OGC 12-128r17,
// clause 2.4) and registers it.
func (w *writer) attributes(t layer.Table) (err error) {
	l := t.Layer
	statement, err := w.db.PrepareContext(w.ctx, insertStatement(l.Name, 1+len(l.Columns)))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, statement.Close()) }()
	for i, row := range t.Rows {
		values := []any{i + 1}
		for _, v := range row.Values {
			if s, ok := v.(string); ok {
				v = validText(s)
			}
			values = append(values, v)
		}
		if _, err := statement.ExecContext(w.ctx, values...); err != nil {
			return err
		}
	}
	contents := []any{l.Name, "attributes", l.Title, l.Description, w.timestamp(), nil, nil, nil, nil, nil}
	if err := insert(w.ctx, w.db, "gpkg_contents", contents); err != nil {
		return err
	}
	return w.columns(l)
}

// zFlag says of a column of geometries whether they have elevations (OGC
// 12-128r17, requirement 27): 0 none has, 1 all have, 2 some have.
func zFlag(t layer.Table) int {
	withZ, placed := t.Solid()
	switch {
	case withZ == 0:
		return 0
	case withZ == placed:
		return 1
	}
	return 2
}

func (w *writer) register(t layer.Table, bound *orb.Bound) error {
	l := t.Layer
	box := []any{nil, nil, nil, nil}
	if bound != nil {
		box = []any{bound.Min[0], bound.Min[1], bound.Max[0], bound.Max[1]}
	}
	contents := append([]any{l.Name, "features", l.Title, l.Description, w.timestamp()}, box...)
	if err := insert(w.ctx, w.db, "gpkg_contents", append(contents, w.srsID)); err != nil {
		return err
	}
	if err := insert(w.ctx, w.db, "gpkg_geometry_columns", []any{l.Name, geometryColumn, string(l.Geometry), w.srsID, zFlag(t), 0}); err != nil {
		return err
	}
	if err := insert(w.ctx, w.db, "gpkg_extensions", []any{l.Name, geometryColumn, "gpkg_rtree_index", "http://www.geopackage.org/spec130/#extension_rtree", "write-only"}); err != nil {
		return err
	}
	return w.columns(l)
}
