package gpkg

import (
	"bytes"
	"context"
	"encoding/binary"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/layer"
)

// wkt25832 is ETRS89 / UTM zone 32N as PROJ 9.1.1 writes it in WKT 1 (GDAL).
const wkt25832 = `PROJCS["ETRS89 / UTM zone 32N",GEOGCS["ETRS89",DATUM["European_Terrestrial_Reference_System_1989",SPHEROID["GRS 1980",6378137,298.257222101,AUTHORITY["EPSG","7019"]],AUTHORITY["EPSG","6258"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4258"]],PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",0],PARAMETER["central_meridian",9],PARAMETER["scale_factor",0.9996],PARAMETER["false_easting",500000],PARAMETER["false_northing",0],UNIT["metre",1,AUTHORITY["EPSG","9001"]],AXIS["Easting",EAST],AXIS["Northing",NORTH],AUTHORITY["EPSG","25832"]]`

var utm32 = vector.CRS{
	Name: "ETRS89 / UTM zone 32N", Authority: "EPSG", Code: 25832, WKT: wkt25832,
	Horizontal: vector.Metre, Vertical: vector.Metre,
}

// house is a square of 10 units with a courtyard of 2 at (e, n).
func house(id string, e, n float64) vector.Footprint {
	square := func(x, y, side float64) orb.Ring {
		return orb.Ring{{x, y}, {x + side, y}, {x + side, y + side}, {x, y + side}, {x, y}}
	}
	yard := square(e+4, n+4, 2)
	yard.Reverse()
	f := vector.Footprint{
		ID: id, Reference: vector.RoofEdge, Polygon: orb.Polygon{square(e, n, 10), yard},
		GroundElevation: 31.5, EaveHeight: 5.25, RidgeHeight: 8, PointCount: 1234,
		EdgeRMS: 0.03, Quality: 0.9, Review: []vector.Reason{vector.ReviewSparse, vector.ReviewVegetation},
	}
	if id == "b1" {
		f.Sides = []vector.Side{{From: orb.Point{e, n}, To: orb.Point{e + 10, n}, Overhang: 0.5, SigmaOverhang: 0.03, FacadePoints: 14, Low: 0.5, High: 4.5}}
		f.Walls = orb.Polygon{square(e+0.5, n+0.5, 9)}
	}
	for ring, r := range f.Polygon {
		for i, p := range r[:len(r)-1] {
			f.Corners = append(f.Corners, vector.Corner{
				BuildingID: id, Ring: ring, Vertex: i, Point: p, Elevation: 36.75,
				SigmaE: 0.01, SigmaN: 0.02, CovEN: -0.0001, SigmaU: math.NaN(), AngleDeg: 90, Kind: vector.Adjusted,
			})
		}
	}
	return f
}

func delivery() vector.Delivery {
	return vector.Delivery{
		CRS:        utm32,
		Footprints: []vector.Footprint{house("b1", 500000, 5800000), house("b2 Žižkova <ü>", 500030.0001, 5800000)},
		HeldBack: []vector.HeldBack{{
			Polygon: orb.Polygon{{{500100, 5800000}, {500102, 5800000}, {500102, 5800002}, {500100, 5800000}}},
			Reason:  vector.HeldSmall, Height: math.NaN(), Area: 2, PointCount: 9,
		}},
		Checks: []vector.CornerCheck{
			{ControlID: "101", Surveyed: orb.Point{500000.01, 5800000.02}, SurveyedU: 36.7, BuildingID: "b1", DeltaE: -0.01, DeltaN: -0.02, DeltaU: 0.05, Used: true},
			{ControlID: "102", Surveyed: orb.Point{500900, 5800900}, SurveyedU: math.NaN(), DeltaE: math.NaN(), DeltaN: math.NaN(), DeltaU: math.NaN(), Reason: "no corner within the radius"},
		},
		Lineage: "Two flight lines over an invented place & nothing else.",
		Time:    time.Date(2026, 5, 17, 12, 0, 0, 0, time.UTC),
	}
}

func write(t *testing.T, d vector.Delivery, o Options) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "footprints.gpkg")
	if err := Write(context.Background(), path, layer.Of(d), o); err != nil {
		t.Fatal(err)
	}
	return path
}

// interpreter is Debian's Python, whatever other comes first on the path.
const interpreter = "/usr/bin/python3"

var hasGDAL = sync.OnceValue(func() bool {
	return exec.Command(interpreter, "-c", "import osgeo.ogr, osgeo_utils.samples.validate_gpkg").Run() == nil
})

// validate runs GDAL's GeoPackage validator (python3-gdal) over the file.
func validate(t *testing.T, path string) {
	t.Helper()
	if !hasGDAL() {
		t.Skip("python3-gdal is not installed: the file was not put to GDAL's validator")
	}
	out, err := exec.Command(interpreter, "-m", "osgeo_utils.samples.validate_gpkg", "--extra", "--warning-as-error", path).CombinedOutput()
	if err != nil {
		t.Errorf("validator: %v\n%s", err, out)
	}
}

func TestHeader(t *testing.T) {
	b, err := os.ReadFile(write(t, delivery(), Options{}))
	if err != nil {
		t.Fatal(err)
	}
	// OGC 12-128r17, requirements 1 and 2; offsets of the SQLite file format.
	if got := string(b[:16]); got != "SQLite format 3\x00" {
		t.Errorf("signature %q", got)
	}
	if got := binary.BigEndian.Uint32(b[60:]); got != 10300 {
		t.Errorf("user_version %d", got)
	}
	if got := string(b[68:72]); got != "GPKG" {
		t.Errorf("application_id %q", got)
	}
}

func TestSameDeliverySameBytes(t *testing.T) {
	first, err := os.ReadFile(write(t, delivery(), Options{}))
	if err != nil {
		t.Fatal(err)
	}
	second, err := os.ReadFile(write(t, delivery(), Options{}))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(first, second) {
		t.Error("two writes of one delivery differ")
	}
}

func TestValidator(t *testing.T) {
	unknown := delivery()
	unknown.CRS = vector.CRS{Horizontal: vector.USSurveyFoot}
	own := delivery()
	own.CRS.Authority, own.CRS.Code, own.CRS.Name = "", 0, ""
	noTime := delivery()
	noTime.Time = time.Time{}
	for name, d := range map[string]vector.Delivery{
		"full": delivery(), "empty": {CRS: utm32}, "unknown CRS": unknown, "own CRS": own, "no time": noTime, "nothing": {},
	} {
		t.Run(name, func(t *testing.T) { validate(t, write(t, d, Options{})) })
	}
	t.Run("WKT 2", func(t *testing.T) {
		validate(t, write(t, delivery(), Options{SRSDefinition: `PROJCRS["ETRS89 / UTM zone 32N",BASEGEOGCRS["ETRS89",DATUM["European Terrestrial Reference System 1989",ELLIPSOID["GRS 1980",6378137,298.257222101,LENGTHUNIT["metre",1]]]],CONVERSION["UTM zone 32N",METHOD["Transverse Mercator",ID["EPSG",9807]],PARAMETER["Latitude of natural origin",0,ANGLEUNIT["degree",0.0174532925199433]],PARAMETER["Longitude of natural origin",9,ANGLEUNIT["degree",0.0174532925199433]],PARAMETER["Scale factor at natural origin",0.9996,SCALEUNIT["unity",1]],PARAMETER["False easting",500000,LENGTHUNIT["metre",1]],PARAMETER["False northing",0,LENGTHUNIT["metre",1]]],CS[Cartesian,2],AXIS["(E)",east],AXIS["(N)",north],LENGTHUNIT["metre",1],ID["EPSG",25832]]`}))
	})
}

func TestRoundTrip(t *testing.T) {
	d := delivery()
	path := write(t, d, Options{})
	got, err := ReadPolygons(path, "")
	if err != nil {
		t.Fatal(err)
	}
	want := Polygons{
		Layer: "footprints", Polygons: []orb.Polygon{d.Footprints[0].Polygon, d.Footprints[1].Polygon},
		IDs: []string{d.Footprints[0].ID, d.Footprints[1].ID},
		CRS: vector.CRS{Name: utm32.Name, Authority: "EPSG", Code: 25832, WKT: wkt25832},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("polygons (-want +got):\n%s", diff)
	}
	corners, err := ReadCorners(path)
	if err != nil {
		t.Fatal(err)
	}
	nan := cmp.Comparer(func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) })
	if diff := cmp.Diff(d.Corners(), corners, nan); diff != "" {
		t.Errorf("corners (-want +got):\n%s", diff)
	}
}

func TestKnownCRSNeedsDefinition(t *testing.T) {
	d := delivery()
	d.CRS.WKT = ""
	path := filepath.Join(t.TempDir(), "a.gpkg")
	err := Write(context.Background(), path, layer.Of(d), Options{})
	if err == nil || !strings.Contains(err.Error(), "EPSG:25832") {
		t.Errorf("got %v", err)
	}
	if entries, _ := os.ReadDir(filepath.Dir(path)); len(entries) != 0 {
		t.Errorf("left %v", entries)
	}
}
