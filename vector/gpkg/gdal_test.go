package gpkg

import (
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
)

// python runs a script with Debian's python3-gdal and returns what it prints.
func python(t *testing.T, script string, args ...string) string {
	t.Helper()
	if !hasGDAL() {
		t.Skip("python3-gdal is not installed: the file was not put to GDAL")
	}
	out, err := exec.Command(interpreter, append([]string{"-W", "ignore", "-c", "from osgeo import gdal, ogr, osr\ngdal.UseExceptions()\nogr.UseExceptions()\nimport sys\n" + script}, args...)...).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return strings.TrimSpace(string(out))
}

// GDAL reads every layer: geometry, values, NULLs, text beyond ASCII, CRS.
func TestGDALReadsTheLayers(t *testing.T) {
	path := write(t, delivery(), Options{})
	got := python(t, `
d = ogr.Open(sys.argv[1])
for l in d:
    s = l.GetSpatialRef()
    if not s:
        print(l.GetName(), ogr.GeometryTypeToName(l.GetGeomType()), l.GetFeatureCount())
        continue
    print(l.GetName(), ogr.GeometryTypeToName(l.GetGeomType()), l.GetFeatureCount(), s.GetAuthorityCode(None), l.TestCapability("FastSpatialFilter"))
l = d.GetLayer("footprints")
print([round(v, 4) for v in l.GetExtent()])
f = l.GetFeature(2)
print(f["building_id"], f["reference"], f["area_m2"], f["perimeter_m"], f["quality"], f["review"], f.GetGeometryRef().ExportToWkt())
f = d.GetLayer("held_back").GetFeature(1)
print(f["reason"], f["height"], f["point_count"])
f = d.GetLayer("corner_checks").GetFeature(2)
print(f["control_id"], f["building_id"], f["delta_e"], f["used"], f["reason"])
f = d.GetLayer("corners").GetFeature(1)
print(f["vertex"], f["elevation"], f["cov_en"], f["sigma_u"], f["kind"])
f = d.GetLayer("sides").GetFeature(1)
print(f["edge"], f["length"], f["overhang"], f["facade_points"], f.GetGeometryRef().ExportToWkt())
l.SetSpatialFilterRect(500031, 5800001, 500032, 5800002)
print([f["building_id"] for f in l])
`, path)
	want := `footprints Polygon 2 25832 True
corners Point 16 25832 True
corner_checks Point 2 25832 True
held_back Polygon 1 25832 True
sides Line String 1 25832 True
wall_outlines Polygon 1 25832 True
arcs Point 0 25832 True
roof_parts Polygon 0 25832 True
image_checks Point 0 25832 True
adjustments None 0
[500000.0, 500040.0001, 5800000.0, 5800010.0]
b2 Žižkova <ü> roofEdge 96.0 48.0 0.9 sparse,vegetation POLYGON ((500030.0001 5800000.0,500040.0001 5800000.0,500040.0001 5800010.0,500030.0001 5800010.0,500030.0001 5800000.0),(500034.0001 5800004.0,500034.0001 5800006.0,500036.0001 5800006.0,500036.0001 5800004.0,500034.0001 5800004.0))
small None 9
102 None None False no corner within the radius
0 36.75 -0.0001 None adjusted
0 10.0 0.5 14 LINESTRING (500000 5800000,500010 5800000)
['b2 Žižkova <ü>']`
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// GDAL takes the title of a column, its description with the unit, and its
// list of values from the schema extension, and the lineage from the metadata.
func TestGDALReadsSchemaAndMetadata(t *testing.T) {
	got := python(t, `
d = gdal.OpenEx(sys.argv[1])
k = d.GetLayerByName("corners").GetLayerDefn()
k = k.GetFieldDefn(k.GetFieldIndex("kind"))
print(k.GetDomainName(), sorted(d.GetFieldDomain(k.GetDomainName()).GetEnumeration()))
def query(sql):
    l = d.ExecuteSQL(sql)
    f = l.GetNextFeature()
    out = [f.GetField(i) for i in range(f.GetFieldCount())]
    d.ReleaseResultSet(l)
    return out
print(query("SELECT title, description FROM gpkg_data_columns WHERE table_name = 'corners' AND column_name = 'sigma_e'"))
print(query("SELECT count(*) FROM pragma_table_info('footprints') c LEFT JOIN gpkg_data_columns g ON g.table_name = 'footprints' AND g.column_name = c.name WHERE g.title IS NULL OR g.description IS NULL"))
import xml.etree.ElementTree as e
m = e.fromstring(query("SELECT metadata FROM gpkg_metadata")[0].encode())
print(m.find("{http://purl.org/dc/terms/}provenance").text)
`, write(t, delivery(), Options{}))
	want := `corners_kind ['adjusted', 'extended']
['Standard error east', 'Standard error of the easting, relative to the cloud. Unit: metre.']
[0]
Two flight lines over an invented place & nothing else.`
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// The triggers keep the index in step when another program edits the file.
func TestEditingKeepsTheIndex(t *testing.T) {
	path := write(t, delivery(), Options{})
	got := python(t, `
d = ogr.Open(sys.argv[1], 1)
def index():
    r = d.ExecuteSQL("SELECT id, minx, maxx FROM rtree_footprints_geom ORDER BY id")
    out = [(f["id"], round(f["minx"], 2), round(f["maxx"], 2)) for f in r]
    d.ReleaseResultSet(r)
    return out
print(index())
l = d.GetLayer("footprints")
f = l.GetFeature(1)
f.SetGeometry(ogr.CreateGeometryFromWkt("POLYGON((0 0,4 0,4 4,0 0))"))
l.SetFeature(f)
print(index())
g = ogr.Feature(l.GetLayerDefn())
g.SetGeometry(ogr.CreateGeometryFromWkt("POLYGON((8 0,16 0,16 4,8 0))"))
l.CreateFeature(g)
print(index())
d.ExecuteSQL("UPDATE footprints SET fid = 32 WHERE fid = 3")
d.ExecuteSQL("UPDATE footprints SET geom = NULL WHERE fid = 1")
l.DeleteFeature(2)
print(index())
`, path)
	// The index holds 32-bit numbers: at 500 000 they are 1/32 apart.
	want := `[(1, 500000.0, 500010.0), (2, 500030.0, 500040.03)]
[(1, 0.0, 4.0), (2, 500030.0, 500040.03)]
[(1, 0.0, 4.0), (2, 500030.0, 500040.03), (3, 8.0, 16.0)]
[(32, 8.0, 16.0)]`
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	validate(t, path)
}

// Files of another program: a layer of multipolygons with Z and a key of
// another name, beside a layer of lines.
func TestReadingAFileOfGDAL(t *testing.T) {
	path := filepath.Join(t.TempDir(), "odd name?.gpkg")
	python(t, `
s = osr.SpatialReference()
s.ImportFromEPSG(25832)
d = ogr.GetDriverByName("GPKG").CreateDataSource(sys.argv[1])
d.CreateLayer("roads", s, ogr.wkbLineString)
l = d.CreateLayer('he said "roof"', s, ogr.wkbMultiPolygon25D, ["FID=key", "GEOMETRY_NAME=shape"])
f = ogr.Feature(l.GetLayerDefn())
f.SetGeometry(ogr.CreateGeometryFromWkt("MULTIPOLYGON Z(((0 0 9,4 0 9,4 4 9,0 0 9)),((8 0 9,9 0 9,9 9 9,8 0 9)))"))
l.CreateFeature(f)
l.CreateFeature(ogr.Feature(l.GetLayerDefn()))
`, path)
	got, err := ReadPolygons(path, "")
	if err != nil {
		t.Fatal(err)
	}
	if got.CRS.WKT == "" || got.CRS.Code != 25832 || got.CRS.Authority != "EPSG" {
		t.Errorf("CRS %+v", got.CRS)
	}
	got.CRS.WKT, got.CRS.Name = "", ""
	want := Polygons{
		Layer:    `he said "roof"`,
		Polygons: []orb.Polygon{{{{0, 0}, {4, 0}, {4, 4}, {0, 0}}}, {{{8, 0}, {9, 0}, {9, 9}, {8, 0}}}},
		IDs:      []string{"1", "1"}, CRS: got.CRS,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if _, err := ReadPolygons(path, "walls"); err == nil || !strings.Contains(err.Error(), `no layer "walls": it has the layers he said "roof", roads`) {
		t.Errorf("got %v", err)
	}
	if _, err := ReadPolygons(path, "roads"); err != nil {
		t.Errorf("an empty layer of lines: %v", err)
	}
	if _, err := ReadCorners(path); err == nil || !strings.Contains(err.Error(), "no layer of corners") {
		t.Errorf("got %v", err)
	}
}
