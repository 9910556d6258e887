package gpkg

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// A Polygons is a layer of polygons as read from a file.
type Polygons struct {
	// Layer is the name of the table.
	Layer string
	// Polygons and IDs have an entry for each polygon. The parts of a
	// multipolygon are entries of their own with the same ID.
	Polygons []orb.Polygon
	IDs      []string
	// CRS has the name, identity and definition that the file gives; its units
	// are unknown, as they are inside the definition.
	CRS vector.CRS
}

// ReadPolygons returns the polygons of one layer of any GeoPackage, in the
// order of its primary key.
//
// An empty layer name means the layer "footprints", or where there is none the
// only layer of polygons. IDs are taken from a column building_id where there
// is one, else from the primary key. Z and M are left out, rows without a
// geometry passed over. Polygons are as stored: neither closed, oriented nor
// checked.
func ReadPolygons(path, layer string) (Polygons, error) {
	p, err := readPolygons(path, layer)
	if err != nil {
		return Polygons{}, fmt.Errorf("gpkg: read %s: %w", path, err)
	}
	return p, nil
}

func readPolygons(path, layer string) (p Polygons, err error) {
	db, err := open(path)
	if err != nil {
		return Polygons{}, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	t, err := findTable(db, layer)
	if err != nil {
		return Polygons{}, err
	}
	p.Layer = t.name
	if p.CRS, err = readCRS(db, t.srsID); err != nil {
		return Polygons{}, err
	}
	err = t.each(db, func(id string, g orb.Geometry) error {
		switch g := g.(type) {
		case nil:
		case orb.Polygon:
			p.Polygons, p.IDs = append(p.Polygons, g), append(p.IDs, id)
		case orb.MultiPolygon:
			for _, part := range g {
				p.Polygons, p.IDs = append(p.Polygons, part), append(p.IDs, id)
			}
		default:
			return fmt.Errorf("feature %s is a %s, not a polygon", id, g.GeoJSONType())
		}
		return nil
	})
	if err != nil {
		return Polygons{}, fmt.Errorf("layer %s: %w", t.name, err)
	}
	return p, nil
}

// open returns the database at path for reading only. The signature is looked
// at first, so that a file of another kind is named as such.
func open(path string) (*sql.DB, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	signature := make([]byte, 16)
	_, err = io.ReadFull(f, signature)
	f.Close()
	if err != nil || !bytes.Equal(signature, []byte("SQLite format 3\x00")) {
		return nil, errors.New("not a GeoPackage: it is no SQLite database")
	}
	// A file from elsewhere must not run functions from its schema.
	return sql.Open("sqlite", dataSource(path, "ro")+"&_pragma=trusted_schema(0)")
}

// table is what must be known of a feature table to read it.
type table struct {
	name, geometry, key, id string
	srsID                   int
}

const tablesQuery = `
SELECT g.table_name, g.column_name, g.srs_id, upper(g.geometry_type_name)
FROM gpkg_geometry_columns g JOIN gpkg_contents c ON c.table_name = g.table_name
WHERE c.data_type = 'features' ORDER BY g.table_name`

// findTable returns the feature table of the given name; of an empty name, the
// one that ReadPolygons says.
func findTable(db *sql.DB, name string) (table, error) {
	rows, err := db.Query(tablesQuery)
	if err != nil {
		return table{}, fmt.Errorf("not a GeoPackage with features: %w", err)
	}
	defer rows.Close()
	var all, polygons []string
	found := map[string]table{}
	for rows.Next() {
		var t table
		var kind string
		if err := rows.Scan(&t.name, &t.geometry, &t.srsID, &kind); err != nil {
			return table{}, err
		}
		all = append(all, t.name)
		found[t.name] = t
		if kind == "POLYGON" || kind == "MULTIPOLYGON" {
			polygons = append(polygons, t.name)
		}
	}
	if err := rows.Err(); err != nil {
		return table{}, err
	}
	if name == "" {
		switch _, ours := found["footprints"]; {
		case ours:
			name = "footprints"
		case len(polygons) == 1:
			name = polygons[0]
		default:
			return table{}, fmt.Errorf("say which layer to read: it has %s", listed(all))
		}
	}
	t, ok := found[name]
	if !ok {
		return table{}, fmt.Errorf("no layer %q: it has %s", name, listed(all))
	}
	return t, t.keys(db)
}

func listed(names []string) string {
	if len(names) == 0 {
		return "no feature layers"
	}
	return "the layers " + strings.Join(names, ", ")
}

// keys finds the columns that identify a row: the primary key, and building_id
// where there is one.
func (t *table) keys(db *sql.DB) error {
	rows, err := db.Query("SELECT name, pk FROM pragma_table_info(?)", t.name)
	if err != nil {
		return err
	}
	defer rows.Close()
	t.key = "rowid"
	for rows.Next() {
		var column string
		var pk int
		if err := rows.Scan(&column, &pk); err != nil {
			return err
		}
		if pk == 1 {
			t.key = column
		}
		if column == "building_id" {
			t.id = column
		}
	}
	if t.id == "" {
		t.id = t.key
	}
	return rows.Err()
}

// each calls visit with every row's identifier and geometry.
func (t table) each(db *sql.DB, visit func(id string, g orb.Geometry) error) error {
	query := fmt.Sprintf("SELECT CAST(%s AS TEXT), CAST(%s AS TEXT), %s FROM %s ORDER BY %s",
		quoted(t.id), quoted(t.key), quoted(t.geometry), quoted(t.name), quoted(t.key))
	rows, err := db.Query(query)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var id, key sql.NullString
		var blob []byte
		if err := rows.Scan(&id, &key, &blob); err != nil {
			return err
		}
		if !id.Valid {
			id = key
		}
		if blob == nil {
			continue
		}
		g, err := decode(blob)
		if err != nil {
			return fmt.Errorf("feature %s: %w", id.String, err)
		}
		if err := visit(id.String, g); err != nil {
			return err
		}
	}
	return rows.Err()
}

// quoted returns the name as an SQL identifier, whatever is in it.
func quoted(name string) string {
	return `"` + strings.ReplaceAll(name, `"`, `""`) + `"`
}

func readCRS(db *sql.DB, id int) (vector.CRS, error) {
	if id == undefinedCartesian || id == 0 {
		return vector.CRS{}, nil
	}
	var crs vector.CRS
	err := db.QueryRow("SELECT srs_name, organization, organization_coordsys_id, definition FROM gpkg_spatial_ref_sys WHERE srs_id = ?", id).
		Scan(&crs.Name, &crs.Authority, &crs.Code, &crs.WKT)
	if err != nil {
		return vector.CRS{}, fmt.Errorf("reference system %d: %w", id, err)
	}
	// The extension's column is not there in most files.
	var wkt2 string
	if db.QueryRow("SELECT definition_12_063 FROM gpkg_spatial_ref_sys WHERE srs_id = ?", id).Scan(&wkt2) == nil && wkt2 != undefined && wkt2 != "" {
		crs.WKT = wkt2
	}
	if crs.WKT == undefined {
		crs.WKT = ""
	}
	if crs.Authority = strings.ToUpper(crs.Authority); crs.Authority == "NONE" {
		crs.Authority, crs.Code = "", 0
	}
	return crs, nil
}
