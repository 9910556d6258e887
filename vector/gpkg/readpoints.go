package gpkg

import (
	"database/sql"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// A Points is a layer of points as read from a file, with all its attributes.
type Points struct {
	// Names are those of the attribute columns.
	Names []string
	// Points and Rows have an entry for each feature; a row has a text for
	// each name, empty for NULL.
	Points []orb.Point
	Rows   [][]string
	// CRS has the name, identity and definition that the file gives.
	CRS vector.CRS
}

// maxFeatures bounds what is read of a file from elsewhere.
const maxFeatures = 1 << 20

// ErrSeveralLayers says that a file has more than one layer of points, and none
// was named.
var ErrSeveralLayers = errors.New("name the one that is meant")

// ReadPoints returns the features of the layer of points of any GeoPackage, in
// the order of its primary key. An empty layer name means the only layer of
// points. Z and M are left out, features without a geometry passed over.
func ReadPoints(path, layer string) (Points, error) {
	p, err := readPoints(path, layer)
	if err != nil {
		return Points{}, fmt.Errorf("gpkg: read points of %s: %w", path, err)
	}
	return p, nil
}

func readPoints(path, layer string) (p Points, err error) {
	db, err := open(path)
	if err != nil {
		return Points{}, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	if layer == "" {
		if layer, err = onlyPoints(db); err != nil {
			return Points{}, err
		}
	}
	t, err := findTable(db, layer)
	if err != nil {
		return Points{}, err
	}
	if p.CRS, err = readCRS(db, t.srsID); err != nil {
		return Points{}, err
	}
	rows, err := db.Query(fmt.Sprintf("SELECT * FROM %s ORDER BY %s", quoted(t.name), quoted(t.key)))
	if err != nil {
		return Points{}, err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	names, err := rows.Columns()
	if err != nil {
		return Points{}, err
	}
	for rows.Next() {
		if err := p.add(rows, names, t.geometry); err != nil {
			return Points{}, fmt.Errorf("layer %s: feature %d: %w", t.name, len(p.Points)+1, err)
		}
	}
	return p, rows.Err()
}

const pointTablesQuery = `
SELECT g.table_name FROM gpkg_geometry_columns g JOIN gpkg_contents c ON c.table_name = g.table_name
WHERE c.data_type = 'features' AND upper(g.geometry_type_name) = 'POINT' ORDER BY g.table_name`

func onlyPoints(db *sql.DB) (string, error) {
	rows, err := db.Query(pointTablesQuery)
	if err != nil {
		return "", fmt.Errorf("not a GeoPackage with features: %w", err)
	}
	defer rows.Close()
	var names []string
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			return "", err
		}
		names = append(names, name)
	}
	if err := rows.Err(); err != nil {
		return "", err
	}
	if len(names) != 1 {
		if len(names) == 0 {
			return "", errors.New("it has no layer of points")
		}
		return "", fmt.Errorf("it has %d layers of points (%s): %w", len(names), strings.Join(names, ", "), ErrSeveralLayers)
	}
	return names[0], nil
}

// add scans one feature.
func (p *Points) add(rows *sql.Rows, names []string, geometry string) error {
	if len(p.Points) == maxFeatures {
		return fmt.Errorf("more than %d features", maxFeatures)
	}
	values := make([]any, len(names))
	into := make([]any, len(names))
	for i := range values {
		into[i] = &values[i]
	}
	if err := rows.Scan(into...); err != nil {
		return err
	}
	var row, attributes []string
	var at orb.Geometry
	for i, name := range names {
		if name == geometry {
			blob, _ := values[i].([]byte)
			if blob == nil {
				return nil
			}
			var err error
			if at, err = decode(blob); err != nil {
				return err
			}
			continue
		}
		attributes, row = append(attributes, name), append(row, textOf(values[i]))
	}
	q, ok := at.(orb.Point)
	if !ok {
		return errors.New("its geometry is no point: this is no layer of points")
	}
	p.Names, p.Points, p.Rows = attributes, append(p.Points, q), append(p.Rows, row)
	return nil
}

func textOf(value any) string {
	switch v := value.(type) {
	case nil:
		return ""
	case float64:
		return strconv.FormatFloat(v, 'f', -1, 64)
	case []byte:
		return string(v)
	}
	return fmt.Sprint(value)
}
