package survey

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/control"
	"quoin/vector/crs"
)

func parse(t testing.TB, text string) vector.CRS {
	t.Helper()
	c, err := crs.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func write(t testing.TB, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// block is 300 m by 300 m in UTM zone 32.
var block = orb.Bound{Min: orb.Point{500100, 5500100}, Max: orb.Point{500400, 5500400}}

// csv writes twelve points of the block after a change.
func csv(header string, change func(orb.Point) orb.Point) string {
	var b strings.Builder
	b.WriteString(header)
	for i := range 12 {
		p := change(orb.Point{500120 + 20*float64(i), 5500150 + 17*float64(i*i%13)})
		fmt.Fprintf(&b, "p%d,%.6f,%.6f,%.3f,roof\n", i, p[1], p[0], 100+float64(i))
	}
	return b.String()
}

const header = "point,northing,easting,elevation,description\n"

func scaled(k float64) func(orb.Point) orb.Point {
	return func(p orb.Point) orb.Point { return orb.Point{p[0] * k, p[1] * k} }
}

func TestMixUpsAreNamed(t *testing.T) {
	utm32, utm33 := parse(t, "EPSG:25832"), parse(t, "EPSG:25833")
	to33, err := crs.NewTransformer(utm32, utm33, block.Center(), crs.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		text, want string
	}{
		"feet":                            {csv(header, scaled(1/0.3048)), "in feet and are read as metres"},
		"metres":                          {csv(header, scaled(0.3048)), "in metres and are read as feet"},
		"no header, feet, northing first": {csv("", scaled(1/0.3048)), "in feet"},
		"swapped feet":                    {csv(header, func(p orb.Point) orb.Point { return orb.Point{p[1] / 0.3048, p[0] / 0.3048} }), "swapped and the points are in feet"},
		"wrong zone": {csv(header, func(p orb.Point) orb.Point {
			q, err := to33.Forward(p)
			if err != nil {
				t.Fatal(err)
			}
			return q
		}), "EPSG:25833"},
		"ground":  {csv(header, scaled(1/0.99955)), "scaled by about 0.9995"},
		"swapped": {csv(header, func(p orb.Point) orb.Point { return orb.Point{p[1], p[0]} }), "the wrong way round"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Read(write(t, "c.csv", c.text), Options{Block: block, CRS: utm32})
			if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("got %v, want %q", err, c.want)
			}
		})
	}
}

func TestNothingExplainsPointsElsewhere(t *testing.T) {
	s, err := Read(write(t, "c.csv", csv(header, func(p orb.Point) orb.Point { return orb.Point{p[0] + 5e4, p[1] - 3e4} })), Options{Block: block, CRS: parse(t, "EPSG:25832")})
	if err != nil || len(s.Warnings) != 1 {
		t.Errorf("got %v, %v", s.Warnings, err)
	}
}

// TestBringsOver takes the same points in another zone, in feet, in degrees,
// and as features, and expects the same positions.
func TestBringsOver(t *testing.T) {
	utm32 := parse(t, "EPSG:25832")
	other := func(code string) func(orb.Point) orb.Point {
		tr, err := crs.NewTransformer(utm32, parse(t, code), block.Center(), crs.Options{AllowBallpark: true})
		if err != nil {
			t.Fatal(err)
		}
		return func(p orb.Point) orb.Point {
			q, err := tr.Forward(p)
			if err != nil {
				t.Fatal(err)
			}
			return q
		}
	}
	want, err := Read(write(t, "c.csv", csv(header, same)), Options{Block: block, CRS: utm32})
	if err != nil {
		t.Fatal(err)
	}
	features := func(crsName string, change func(orb.Point) orb.Point) string {
		var b strings.Builder
		b.WriteString(`{"type":"FeatureCollection","features":[`)
		for i, p := range want.Points {
			q := change(p.XY())
			if i > 0 {
				b.WriteByte(',')
			}
			fmt.Fprintf(&b, `{"type":"Feature","properties":{"point":"%s","description":"roof","coordinate_reference_system":%s},"geometry":{"type":"Point","coordinates":[%.10f,%.10f,%.3f]}}`,
				p.ID, crsName, q[0], q[1], p.Elevation)
		}
		return b.String() + "]}"
	}
	feet := func(p orb.Point) orb.Point { return orb.Point{p[0] / 0.3048, p[1] / 0.3048} }
	for name, c := range map[string]struct {
		text      string
		o         Options
		elevation float64
		notes     int
	}{
		"zone 33":         {csv(header, other("EPSG:25833")), Options{ControlCRS: parse(t, "EPSG:25833")}, 1, 2},
		"no header":       {csv("", other("EPSG:25833")), Options{ControlCRS: parse(t, "EPSG:25833")}, 1, 2},
		"feet":            {csv(header, feet), Options{Unit: vector.Foot}, 0.3048, 1},
		"GeoJSON degrees": {features("null", other("EPSG:4326")), Options{}, 1, 1},
		"GeoJSON":         {features(`"EPSG:25832"`, same), Options{}, 1, 0},
	} {
		t.Run(name, func(t *testing.T) {
			c.o.Block, c.o.CRS = block, utm32
			got, err := Read(write(t, "c", c.text), c.o)
			if err != nil {
				t.Fatal(err)
			}
			if len(got.Points) != len(want.Points) || len(got.Notes) != c.notes {
				t.Fatalf("%d points, notes %q", len(got.Points), got.Notes)
			}
			for i, p := range got.Points {
				w := want.Points[i]
				if d := math.Hypot(p.East-w.East, p.North-w.North); d > 2e-5 || math.Abs(p.Elevation-w.Elevation*c.elevation) > 1e-9 || p.Feature != control.RoofCorner {
					t.Errorf("%+v, want %+v", p, w)
				}
			}
		})
	}
}

// TestElevationsFollowTheUnitOfTheirCRS: points in a state plane in US survey
// feet have their elevations in such feet too, unless something says otherwise.
func TestElevationsFollowTheUnitOfTheirCRS(t *testing.T) {
	cloud := parse(t, "EPSG:6526")
	cloud.Vertical = vector.Metre
	k := vector.USSurveyFoot.Metres
	area := orb.Bound{Min: orb.Point{150000, 200000}, Max: orb.Point{150100, 200100}}
	text := fmt.Sprintf("point,n,e,z,sigma\na,%.5f,%.5f,%.5f,0.1\n", 200050/k, 150050/k, 30/k)
	s, err := Read(write(t, "c.csv", text), Options{Block: area, CRS: cloud, ControlCRS: parse(t, "EPSG:6527")})
	if err != nil {
		t.Fatal(err)
	}
	p := s.Points[0]
	if math.Hypot(p.East-150050, p.North-200050) > 1e-4 || math.Abs(p.Elevation-30) > 1e-5 || math.Abs(p.Sigma[0]-0.1*k) > 1e-9 {
		t.Errorf("got %+v", p)
	}
	if !strings.Contains(strings.Join(s.Notes, "; "), "taken to be in US survey foot") {
		t.Errorf("notes %q", s.Notes)
	}
}

// TestBallparkIsRefused: between the realisations of NAD83 of 1986 and 2011
// PROJ knows no transformation without the grids of the NGS.
func TestBallparkIsRefused(t *testing.T) {
	o := Options{Block: block, CRS: parse(t, "EPSG:6344"), ControlCRS: parse(t, "EPSG:26915")}
	path := write(t, "c", csv(header, same))
	if _, err := Read(path, o); err == nil || !strings.Contains(err.Error(), "--accept-ballpark") {
		t.Errorf("got %v", err)
	}
	o.AllowBallpark = true
	s, err := Read(path, o)
	if err != nil || !strings.Contains(strings.Join(s.Warnings, "; "), "without knowledge of how the datums lie") {
		t.Errorf("got %q, %v", s.Warnings, err)
	}
}

func TestGeoreferencing(t *testing.T) {
	o := Options{Block: block, CRS: parse(t, "EPSG:25832"), Georeferencing: []string{"p3"}, SigmaH: 0.02, SigmaU: 0.03}
	path := write(t, "c", csv(header, same))
	s, err := Read(path, o)
	if err != nil || s.Points[3].Role != vector.RoleGeoreferencing || s.Points[2].Role == vector.RoleGeoreferencing || s.Points[0].Sigma != [3]float64{0.02, 0.02, 0.03} {
		t.Errorf("got %+v, %v", s.Points, err)
	}
	o.Georeferencing = []string{"p99"}
	if _, err := Read(path, o); err == nil || !strings.Contains(err.Error(), "p99") {
		t.Errorf("got %v", err)
	}
}

// FuzzRead holds that no file makes the reader panic, and that what it takes
// has finite coordinates and a name.
func FuzzRead(f *testing.F) {
	f.Add([]byte(csv(header, same)))
	f.Add([]byte(csv("", same)))
	f.Add([]byte(`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"point":1,"role":"control"},"geometry":{"type":"Point","coordinates":[500200,5500200,1]}}]}`))
	f.Add([]byte("point;n;e;role;sigma\na;1;2;control;0,01"))
	path := filepath.Join(f.TempDir(), "c")
	f.Fuzz(func(t *testing.T, b []byte) {
		if err := os.WriteFile(path, b, 0o644); err != nil {
			t.Fatal(err)
		}
		s, err := Read(path, Options{Block: block, CRS: vector.CRS{Horizontal: vector.Metre, Vertical: vector.Metre}})
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Errorf("more than one line: %q", err)
			}
			return
		}
		for _, p := range s.Points {
			if math.IsNaN(p.East+p.North) || math.IsInf(p.East+p.North, 0) || p.ID == "" {
				t.Errorf("%+v", p)
			}
		}
	})
}

// Elevations come over to the block's vertical datum where the way is known
// (DHHN92 to EVRF2007: 21.7 mm at this block, PROJ's cs2cs), and are left out, with
// a warning that says so, where it is not.
func TestElevationsComeOver(t *testing.T) {
	identity := func(p orb.Point) orb.Point { return p }
	path := write(t, "c.csv", csv(header, identity))
	plain, err := Read(path, Options{Block: block, CRS: parse(t, "EPSG:25832+5783")})
	if err != nil {
		t.Fatal(err)
	}
	over, err := Read(path, Options{Block: block, CRS: parse(t, "EPSG:25832+5621"), ControlCRS: parse(t, "EPSG:25832+5783")})
	if err != nil {
		t.Fatal(err)
	}
	d := over.Points[0].Elevation - plain.Points[0].Elevation
	if math.Abs(d-0.0217) > 1e-4 || len(over.Warnings) != 0 || !strings.Contains(strings.Join(over.Notes, " "), "elevations of surveyed points are taken over by") {
		t.Errorf("moved by %v, notes %q, warnings %q", d, over.Notes, over.Warnings)
	}
	none, err := Read(path, Options{Block: block, CRS: parse(t, "EPSG:25832+5703"), ControlCRS: parse(t, "EPSG:25832+5783")})
	if err != nil {
		t.Fatal(err)
	}
	if p := none.Points[0]; !math.IsNaN(p.Elevation) || p.XY() != plain.Points[0].XY() || !strings.Contains(strings.Join(none.Warnings, " "), "are not compared") {
		t.Errorf("%+v, warnings %q", p, none.Warnings)
	}
}

// Heights above the ellipsoid come over by the geoid model of the block's vertical
// CRS: 48.24 m of EGM96 at the first point (PROJ's cs2cs 9.1, EPSG:25832 promoted
// to three dimensions to EPSG:25832+5773). Feet are taken to metres first.
func TestEllipsoidalElevationsComeOver(t *testing.T) {
	path := write(t, "c.csv", csv(header, func(p orb.Point) orb.Point { return p }))
	egm, err := Read(path, Options{Block: block, CRS: parse(t, "EPSG:25832+5773"), Ellipsoidal: true})
	if err != nil {
		t.Fatal(err)
	}
	if z := egm.Points[0].Elevation; math.Abs(z-51.76) > 0.006 || len(egm.Warnings) != 0 {
		t.Errorf("elevation %v, warnings %q", z, egm.Warnings)
	}
	feet := write(t, "f.csv", csv(header, scaled(1/vector.Foot.Metres)))
	inFeet, err := Read(feet, Options{Block: block, CRS: parse(t, "EPSG:25832+5773"), Unit: vector.Foot, Ellipsoidal: true})
	if err != nil {
		t.Fatal(err)
	}
	want := 100*vector.Foot.Metres + egm.Points[0].Elevation - 100
	if z := inFeet.Points[0].Elevation; math.Abs(z-want) > 1e-3 {
		t.Errorf("elevation %v, want %v", z, want)
	}
	for name, c := range map[string]string{"no model": "EPSG:25832+5783", "not named": "EPSG:25832"} {
		none, err := Read(path, Options{Block: block, CRS: parse(t, c), Ellipsoidal: true})
		if err != nil {
			t.Fatal(err)
		}
		if !math.IsNaN(none.Points[0].Elevation) || !strings.Contains(strings.Join(none.Warnings, " "), "are not compared") {
			t.Errorf("%s: %+v, warnings %q", name, none.Points[0], none.Warnings)
		}
	}
}
