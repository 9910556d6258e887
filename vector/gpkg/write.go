package gpkg

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"path/filepath"
	"strings"
	"time"

	_ "modernc.org/sqlite" // the database driver "sqlite"

	"quoin/vector/atomicfile"
	"quoin/vector/layer"
)

// Options are what a GeoPackage needs beyond the delivery itself.
type Options struct {
	// SRSDefinition is the well-known text of the delivery's CRS. Empty means
	// that of the CRS itself. WKT 1 (OGC 01-009) goes where every reader looks
	// for it; WKT 2 is written with the gpkg_crs_wkt extension.
	SRSDefinition string
	// Title names the data set in its metadata; empty means a general one.
	Title string
}

// Write creates the GeoPackage at path, or replaces it, with one table for
// each layer of the set; a layer without rows is there all the same. Elevations
// go into the geometries.
//
// A value that is not a number is stored as NULL. A CRS that is not known is
// stored as the undefined Cartesian one. The same set and options give
// the same bytes, for one version of the database library, whose number is in
// the header. The file appears whole or not at all.
//
// It returns an error when a known CRS comes without a definition, when the
// file cannot be written and when ctx ends. s is not changed.
func Write(ctx context.Context, path string, s layer.Set, o Options) error {
	err := atomicfile.WritePath(path, func(temporary string) error {
		return fill(ctx, temporary, s, o)
	})
	if err != nil {
		return fmt.Errorf("gpkg: write %s: %w", path, err)
	}
	return nil
}

func fill(ctx context.Context, path string, s layer.Set, o Options) (err error) {
	used, err := srsOf(s.CRS, o)
	if err != nil {
		return err
	}
	database, err := sql.Open("sqlite", dataSource(path, "rw"))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, database.Close()) }()
	db, err := database.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()

	if _, err := db.ExecContext(ctx, setup()); err != nil {
		return err
	}
	if _, err := db.ExecContext(ctx, "BEGIN"); err != nil {
		return err
	}
	if err := writeSRS(ctx, db, used); err != nil {
		return err
	}
	if _, err := db.ExecContext(ctx, coreTables); err != nil {
		return err
	}
	if used.wkt2 != undefined && used.id != undefinedCartesian {
		if err := insert(ctx, db, "gpkg_extensions", []any{"gpkg_spatial_ref_sys", "definition_12_063", "gpkg_crs_wkt", "http://www.geopackage.org/spec130/#extension_crs_wkt", "read-write"}); err != nil {
			return err
		}
	}
	w := &writer{ctx: ctx, db: db, srsID: used.id, set: s}
	for _, t := range s.Tables {
		if err := w.layer(t); err != nil {
			return fmt.Errorf("layer %s: %w", t.Layer.Name, err)
		}
	}
	if err := w.metadata(o); err != nil {
		return err
	}
	_, err = db.ExecContext(ctx, "COMMIT")
	return err
}

// writer is the state of one file being filled.
type writer struct {
	ctx   context.Context
	db    *sql.Conn
	srsID int
	set   layer.Set
}

// timestamp returns the time of the delivery as GeoPackage wants it, in UTC
// with milliseconds. One without a time gets the start of Unix time: the
// columns may not be empty.
func (w *writer) timestamp() string {
	t := w.set.Time
	if t.IsZero() {
		t = time.Unix(0, 0)
	}
	return t.UTC().Format("2006-01-02T15:04:05.000Z")
}

// dataSource is the URI under which the database library opens path. Each part
// of the path is escaped, as it may hold a question mark.
func dataSource(path, mode string) string {
	parts := strings.Split(filepath.ToSlash(path), "/")
	for i, part := range parts {
		parts[i] = url.PathEscape(part)
	}
	return "file:" + strings.Join(parts, "/") + "?mode=" + mode
}

// insert adds one row with all columns of the table.
func insert(ctx context.Context, db *sql.Conn, table string, values []any) error {
	_, err := db.ExecContext(ctx, insertStatement(table, len(values)), values...)
	return err
}

func insertStatement(table string, columns int) string {
	return `INSERT INTO "` + table + `" VALUES (?` + strings.Repeat(",?", columns-1) + ")"
}
