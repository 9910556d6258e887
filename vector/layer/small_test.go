package layer_test

import (
	"database/sql"
	"math"
	"testing"
	"time"

	"github.com/paulmach/orb"
	_ "modernc.org/sqlite"

	"quoin/vector"
)

// wkt25832 is EPSG:25832 as PROJ 9.1.1 writes it in WKT 1.
const wkt25832 = `PROJCS["ETRS89 / UTM zone 32N",GEOGCS["ETRS89",DATUM["European_Terrestrial_Reference_System_1989",SPHEROID["GRS 1980",6378137,298.257222101,AUTHORITY["EPSG","7019"]],AUTHORITY["EPSG","6258"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4258"]],PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",0],PARAMETER["central_meridian",9],PARAMETER["scale_factor",0.9996],PARAMETER["false_easting",500000],PARAMETER["false_northing",0],UNIT["metre",1,AUTHORITY["EPSG","9001"]],AXIS["Easting",EAST],AXIS["Northing",NORTH],AUTHORITY["EPSG","25832"]]`

var utm32 = vector.CRS{
	Name: "ETRS89 / UTM zone 32N", Authority: "EPSG", Code: 25832, VerticalCode: 7837, WKT: wkt25832,
	Horizontal: vector.Metre, Vertical: vector.Metre,
}

var moment = time.Date(2026, 5, 17, 12, 0, 0, 0, time.UTC)

// house is a square of 10 with a courtyard of 2, at (e, n).
func house(id string, e, n float64) vector.Footprint {
	square := func(x, y, side float64) orb.Ring {
		return orb.Ring{{x, y}, {x + side, y}, {x + side, y + side}, {x, y + side}, {x, y}}
	}
	yard := square(e+4, n+4, 2)
	yard.Reverse()
	f := vector.Footprint{
		ID: id, Reference: vector.RoofEdge, Polygon: orb.Polygon{square(e, n, 10), yard},
		GroundElevation: 31.5, EaveHeight: 5.25, RidgeHeight: 8, PointCount: 1234,
		EdgeRMS: 0.03, Quality: 0.875, Review: []vector.Reason{vector.ReviewSparse, vector.ReviewVegetation},
	}
	f.AreaSigma = 0.5
	f.LowestGround, f.HighestGround, f.GeneralRoof, f.HighestPoint = 31.25, 31.75, 38, 40.5
	f.Roof = vector.RoofForm{Type: vector.RoofShed, Pitch: 20, Aspect: 180}
	f.Parts = []vector.RoofPart{{
		Part: 1, Form: vector.FormPlane, Polygon: f.Polygon, Origin: orb.Point{e + 5, n + 5}, Elevation: 38,
		Gradient: orb.Point{0, 0.36397}, Pitch: 20, Aspect: 180, Eave: 36.18, Ridge: 39.82, RMS: 0.025, PointCount: 1200,
	}}
	f.Sides = []vector.Side{
		{From: orb.Point{e, n}, To: orb.Point{e + 10, n}, SigmaLength: 0.05, Overhang: 0.5, SigmaOverhang: 0.03, FacadePoints: 14, Low: 0.5, High: 4.5},
		{Edge: 1, Direction: -1, Offset: -1, Arc: -1, From: orb.Point{e + 10, n}, To: orb.Point{e + 10, n + 10}, SigmaLength: 0.05, Overhang: math.NaN(), SigmaOverhang: math.NaN(), Low: math.NaN(), High: math.NaN()},
	}
	if id == "b1" {
		f.Arcs = []vector.Arc{{Centre: orb.Point{e + 5, n + 5}, Radius: 5, SigmaE: 0.02, SigmaN: 0.03, CovEN: 1e-4, SigmaRadius: 0.01, SweepDeg: 180, ChordError: 0.0067}}
		f.Adjustment = &vector.Adjustment{
			Origin: orb.Point{e + 5, n + 5}, Directions: []float64{0}, Offsets: []float64{5, 5},
			Covariance: []float64{1e-6, 0, 2.5e-5, 4e-4, 0, 1.0 / 3}, Observations: 40, LogLikelihood: -12.25, Iterations: 7,
		}
		f.Walls = orb.Polygon{square(e+0.5, n+0.5, 9)}
	}
	for ring, r := range f.Polygon {
		for i, p := range r[:len(r)-1] {
			c := vector.Corner{
				BuildingID: id, Ring: ring, Vertex: i, Point: p, Elevation: 36.75,
				SigmaE: 0.03, SigmaN: 0.04, SigmaU: math.NaN(), AngleDeg: 90, Kind: vector.Adjusted,
			}
			if ring == 1 {
				c.AngleDeg, c.Kind = 270, vector.Extended
			}
			f.Corners = append(f.Corners, c)
		}
	}
	return f
}

// small is the delivery of the golden files: an invented place.
func small() vector.Delivery {
	nan := math.NaN()
	return vector.Delivery{
		CRS:        utm32,
		Footprints: []vector.Footprint{house("b1", 500000, 5800000), house("b2", 500030.0001, 5800000.5)},
		HeldBack: []vector.HeldBack{{
			Polygon: orb.Polygon{{{500100, 5800000}, {500102, 5800000}, {500102, 5800002}, {500100, 5800000}}},
			Reason:  vector.HeldSmall, Height: nan, Area: 2, PointCount: 9,
		}},
		Checks: []vector.CornerCheck{
			{ControlID: "101", Surveyed: orb.Point{500000.25, 5800000.5}, SurveyedU: 36.5, BuildingID: "b1", DeltaE: -0.25, DeltaN: -0.5, DeltaU: 0.25, Used: true},
			{ControlID: "102", Surveyed: orb.Point{500900, 5800900}, SurveyedU: nan, DeltaE: nan, DeltaN: nan, DeltaU: nan, Reason: "no corner within the radius"},
		},
		ImageChecks: []vector.ImageCheck{
			{
				BuildingID: "b1", At: orb.Point{500005, 5800005}, DeltaE: 0.05, DeltaN: -0.03, SigmaE: 0.01, SigmaN: 0.012, BesideE: 0.01, BesideN: 0,
				RotationDeg: 0.05, SizeBias: -0.01, SigmaSize: 0.008, Residual: 0.02, EdgesSeen: 8, Edges: 8, Agreement: "agrees",
			},
			{BuildingID: "b2", At: orb.Point{500035, 5800005}, DeltaE: nan, DeltaN: nan, SigmaE: nan, SigmaN: nan, BesideE: nan, BesideN: nan, RotationDeg: nan, SizeBias: nan, SigmaSize: nan, Residual: nan, EdgesSeen: 1, Edges: 8, Agreement: "not-seen"},
		},
		Lineage: "Two flight lines over an invented place & nothing else.",
		Time:    moment,
	}
}

// query returns the rows of a statement by column name, whole numbers as
// float64.
func query(t *testing.T, path, statement string) []map[string]any {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	rows, err := db.Query(statement)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	names, err := rows.Columns()
	if err != nil {
		t.Fatal(err)
	}
	var all []map[string]any
	for rows.Next() {
		values, to := make([]any, len(names)), make([]any, len(names))
		for i := range values {
			to[i] = &values[i]
		}
		if err := rows.Scan(to...); err != nil {
			t.Fatal(err)
		}
		row := map[string]any{}
		for i, n := range names {
			if whole, ok := values[i].(int64); ok {
				values[i] = float64(whole)
			}
			row[n] = values[i]
		}
		all = append(all, row)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return all
}
