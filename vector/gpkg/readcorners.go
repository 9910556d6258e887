package gpkg

import (
	"database/sql"
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// ErrNoCorners says that a file has no layer "corners" with the columns that
// quoin writes.
var ErrNoCorners = errors.New("no layer of corners")

// ReadCorners returns the corners of a GeoPackage written by quoin, in the
// order of the file. NULL becomes NaN. It returns ErrNoCorners, wrapped, for a
// GeoPackage that has none.
func ReadCorners(path string) ([]vector.Corner, error) {
	corners, err := readCorners(path)
	if err != nil {
		return nil, fmt.Errorf("gpkg: read corners of %s: %w", path, err)
	}
	return corners, nil
}

const cornersQuery = `
SELECT geom, building_id, ring, vertex, elevation, sigma_e, sigma_n, cov_en, sigma_u, angle_deg, kind
FROM corners ORDER BY fid`

func readCorners(path string) (corners []vector.Corner, err error) {
	db, err := open(path)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	rows, err := db.Query(cornersQuery)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNoCorners, err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		c, err := scanCorner(rows)
		if err != nil {
			return nil, fmt.Errorf("corner %d: %w", len(corners)+1, err)
		}
		corners = append(corners, c)
	}
	return corners, rows.Err()
}

func scanCorner(rows *sql.Rows) (vector.Corner, error) {
	var c vector.Corner
	var blob []byte
	var kind sql.NullString
	values := [6]sql.NullFloat64{}
	err := rows.Scan(&blob, &c.BuildingID, &c.Ring, &c.Vertex,
		&values[0], &values[1], &values[2], &values[3], &values[4], &values[5], &kind)
	if err != nil {
		return c, err
	}
	for i, to := range [6]*float64{&c.Elevation, &c.SigmaE, &c.SigmaN, &c.CovEN, &c.SigmaU, &c.AngleDeg} {
		*to = math.NaN()
		if values[i].Valid {
			*to = values[i].Float64
		}
	}
	c.Kind = vector.CornerKind(kind.String)
	g, err := decode(blob)
	if err != nil {
		return c, err
	}
	p, ok := g.(orb.Point)
	if !ok {
		return c, errors.New("no point geometry")
	}
	c.Point = p
	return c, nil
}
