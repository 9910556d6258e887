package gpkg

import (
	"context"
	"database/sql"
	"fmt"
	"strings"

	"quoin/vector"
)

const (
	// undefinedCartesian is the reserved identifier of plane coordinates
	// whose place on the Earth is unknown (OGC 12-128r17, requirement 11).
	undefinedCartesian = -1
	// firstOwnID is the identifier of a CRS that no authority has numbered. It
	// lies above the EPSG codes, which end at 32767 by that registry's policy.
	firstOwnID = 100000
	undefined  = "undefined"
)

const wgs84WKT1 = `GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AXIS["Latitude",NORTH],AXIS["Longitude",EAST],AUTHORITY["EPSG","4326"]]`

const wgs84WKT2 = `GEODCRS["WGS 84",DATUM["World Geodetic System 1984",ELLIPSOID["WGS 84",6378137,298.257223563,LENGTHUNIT["metre",1]]],CS[ellipsoidal,2],AXIS["geodetic latitude (Lat)",north,ORDER[1]],AXIS["geodetic longitude (Lon)",east,ORDER[2]],ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",4326]]`

// srs is one row of gpkg_spatial_ref_sys. Of the two definitions, in WKT 1
// (OGC 01-009) and WKT 2 (ISO 19162), one may be "undefined".
type srs struct {
	name         string
	id           int
	organization string
	code         int
	wkt1, wkt2   string
	description  string
}

var reserved = []srs{
	{"Undefined Cartesian SRS", undefinedCartesian, "NONE", undefinedCartesian, undefined, undefined, "undefined Cartesian coordinate reference system"},
	{"Undefined geographic SRS", 0, "NONE", 0, undefined, undefined, "undefined geographic coordinate reference system"},
	{"WGS 84", 4326, "EPSG", 4326, wgs84WKT1, wgs84WKT2, "longitude and latitude in degrees on the WGS 84 ellipsoid"},
}

// srsOf returns the row for the CRS of a delivery. A known CRS needs a
// definition: a reader that has no registry at hand has nothing else.
func srsOf(crs vector.CRS, o Options) (srs, error) {
	if !crs.Known() {
		return reserved[0], nil
	}
	definition := o.SRSDefinition
	if definition == "" {
		definition = crs.WKT
	}
	if definition == "" {
		return srs{}, fmt.Errorf("%s comes without its definition: give it as well-known text", crs)
	}
	row := srs{name: crs.Name, id: crs.Code, organization: crs.Authority, code: crs.Code, wkt1: undefined, wkt2: undefined}
	if row.code <= 0 || row.organization == "" {
		row.id, row.organization, row.code = firstOwnID, "NONE", firstOwnID
	}
	if row.name == "" {
		row.name = crs.String()
	}
	if isWKT2(definition) {
		row.wkt2 = definition
	} else {
		row.wkt1 = definition
	}
	row.description = "coordinate reference system of the point cloud"
	if crs.VerticalCode != 0 {
		row.description += fmt.Sprintf("; heights in EPSG:%d", crs.VerticalCode)
	}
	return row, nil
}

// isWKT2 reports whether the text opens with a keyword that only ISO 19162 has.
func isWKT2(definition string) bool {
	keyword, _, _ := strings.Cut(definition, "[")
	switch strings.ToUpper(strings.TrimSpace(keyword)) {
	case "PROJCRS", "PROJECTEDCRS", "GEODCRS", "GEODETICCRS", "GEOGCRS", "GEOGRAPHICCRS",
		"BOUNDCRS", "COMPOUNDCRS", "ENGCRS", "ENGINEERINGCRS", "DERIVEDPROJCRS":
		return true
	}
	return false
}

const srsTable = `
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL PRIMARY KEY,
  organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL,
  definition TEXT NOT NULL,
  description TEXT%s
);`

// writeSRS writes the reference systems. The column for WKT 2 is an extension
// that some readers do not know, so it is there only when it is needed.
func writeSRS(ctx context.Context, db *sql.Conn, used srs) error {
	extended := used.wkt2 != undefined && used.id != undefinedCartesian
	column := ""
	if extended {
		column = ",\n  definition_12_063 TEXT NOT NULL"
	}
	if _, err := db.ExecContext(ctx, fmt.Sprintf(srsTable, column)); err != nil {
		return err
	}
	rows := reserved
	if used.id != undefinedCartesian && used.id != 0 && used.id != 4326 {
		rows = append(rows[:len(rows):len(rows)], used)
	}
	for _, r := range rows {
		values := []any{r.name, r.id, r.organization, r.code, r.wkt1, r.description}
		if extended {
			values = append(values, r.wkt2)
		}
		if err := insert(ctx, db, "gpkg_spatial_ref_sys", values); err != nil {
			return err
		}
	}
	return nil
}
