package crs_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"quoin/vector"
	"quoin/vector/crs"
)

func mustParse(t testing.TB, s string) vector.CRS {
	t.Helper()
	c, err := crs.Parse(s)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// dms turns degrees, minutes and seconds into degrees.
func dms(degrees, minutes, seconds float64) float64 { return degrees + minutes/60 + seconds/3600 }

// Worked examples of IOGP Publication 373-7-2, Geomatics Guidance Note 7,
// part 2, and of the Ordnance Survey's guide to coordinate systems in Great
// Britain. Each goes from the geographic CRS on the projection's own datum, so
// that nothing but the projection is tested.
func TestForwardAgreesWithPublishedExamples(t *testing.T) {
	const footNote = 0.01 // US survey feet: the note prints two decimals
	for _, tt := range []struct {
		name, geographic, projected string
		lon, lat, east, north       float64
		tolerance                   float64 // in the unit of the projected CRS
	}{
		// The note's figures are about a centimetre high: the rigorous ones are
		// 577274.984 and 69740.492 by the note's own formulas.
		{"transverse Mercator 9807", "EPSG:4277", "EPSG:27700", 0.5, 50.5, 577274.99, 69740.50, 0.011},
		{"transverse Mercator, Caister", "EPSG:4277", "EPSG:27700", dms(1, 43, 4.5177), dms(52, 39, 27.2531), 651409.903, 313177.270, 0.001},
		{"transverse Mercator, Framingham", "EPSG:4277", "EPSG:27700", dms(1, 20, 21.1080), dms(52, 34, 26.8915), 626238.248, 302646.412, 0.001},
		{"Lambert conic 2SP 9802", "EPSG:4267", "EPSG:32040", -96, 28.5, 2963503.91, 254759.80, footNote},
		{"Lambert conic 1SP 9801", "EPSG:4242", "EPSG:24200", -dms(76, 56, 37.26), dms(17, 55, 55.80), 255966.58, 142493.51, 0.01},
		{"Mercator A 9804", "EPSG:4257", "EPSG:3002", 120, -3, 5009726.58, 569150.82, 0.01},
		{"Mercator B 9805", "EPSG:4284", "EPSG:3388", 53, 53, 165704.29, 5171848.07, 0.01},
		{"pseudo-Mercator 1024", "EPSG:4326", "EPSG:3857", -dms(100, 20, 0), dms(24, 22, 54.433), -11169055.58, 2800000.00, 0.01},
		{"Lambert azimuthal 9820", "EPSG:4258", "EPSG:3035", 5, 50, 3962799.45, 2999718.85, 0.01},
		{"Hotine oblique Mercator B 9815", "EPSG:4298", "EPSG:29873", 2.021187362 * 180 / math.Pi, 0.094025313 * 180 / math.Pi, 679245.73, 596562.78, 0.02},
		// Grid reference 31 N 448251 5411932 of a published UTM example; the
		// decimals are from memory.
		{"UTM zone 31", "EPSG:4326", "EPSG:32631", 2.2945, 48.8582, 448251.796, 5411932.678, 0.001},
	} {
		t.Run(tt.name, func(t *testing.T) {
			at := orb.Point{tt.lon, tt.lat}
			tr, err := crs.NewTransformer(mustParse(t, tt.geographic), mustParse(t, tt.projected), at, crs.Options{})
			if err != nil {
				t.Fatal(err)
			}
			got, err := tr.Forward(at)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(got[0]-tt.east) > tt.tolerance || math.Abs(got[1]-tt.north) > tt.tolerance {
				t.Errorf("got %.4f, %.4f, want %.3f, %.3f within %g", got[0], got[1], tt.east, tt.north, tt.tolerance)
			}
			back, err := tr.Inverse(got)
			if err != nil {
				t.Fatal(err)
			}
			// 10⁻¹⁰ degrees are a hundredth of a millimetre on the ground.
			tolerance := 1e-10
			if tt.projected == "EPSG:3035" {
				// What the series for the authalic latitude in PROJ 9.1 leaves.
				tolerance = 4.5e-9
			}
			if math.Abs(back[0]-at[0]) > tolerance || math.Abs(back[1]-at[1]) > tolerance {
				t.Errorf("back at %v, started at %v", back, at)
			}
		})
	}
}

// IOGP 373-7-2, pseudo-Mercator, reverse case.
func TestInverseAgreesWithPublishedExample(t *testing.T) {
	p := orb.Point{-11169055.58, 2810000.00}
	tr, err := crs.NewTransformer(mustParse(t, "EPSG:3857"), crs.WGS84(), p, crs.Options{})
	if err != nil {
		t.Fatal(err)
	}
	got, err := tr.Forward(p)
	if err != nil {
		t.Fatal(err)
	}
	// Printed to a thousandth of a second: half of it is 1.4·10⁻⁷ degrees.
	if want := (orb.Point{-dms(100, 20, 0), dms(24, 27, 48.889)}); math.Abs(got[0]-want[0]) > 1.5e-7 || math.Abs(got[1]-want[1]) > 1.5e-7 {
		t.Errorf("got %v, want %v", got, want)
	}
}

// California zone 5 exists in metres (EPSG:26945) and in US survey feet
// (EPSG:2229): one foot is 1200/3937 m (Federal Register 24 FR 5348, 1959).
func TestFeetAndMetresOfOneZoneAgree(t *testing.T) {
	feet, metres := mustParse(t, "EPSG:2229"), mustParse(t, "EPSG:26945")
	if feet.Horizontal != vector.USSurveyFoot || metres.Horizontal != vector.Metre {
		t.Fatalf("units are %v and %v", feet.Horizontal, metres.Horizontal)
	}
	p := orb.Point{6480000, 1840000}
	tr, err := crs.NewTransformer(feet, metres, p, crs.Options{})
	if err != nil {
		t.Fatal(err)
	}
	got, err := tr.Forward(p)
	if err != nil {
		t.Fatal(err)
	}
	// The dataset rounds the false origin in feet to a thousandth.
	origin := [2][2]float64{{6561666.667, 2000000}, {1640416.667, 500000}}
	for axis := range 2 {
		if want := (p[axis]-origin[axis][0])*1200/3937 + origin[axis][1]; math.Abs(got[axis]-want) > 1e-6 {
			t.Errorf("axis %d: %.6f m, want %.6f", axis, got[axis], want)
		}
	}
	// Taking the one foot for the other moves a false easting of two million
	// feet by four feet, 1.2192 m.
	if shift := 2e6 * (vector.USSurveyFoot.Metres - vector.Foot.Metres); math.Abs(shift-1.2192) > 1e-4 {
		t.Errorf("the two feet differ by %.4f m in 2 000 000", shift)
	}
}

func TestNewTransformerRefusesUnknownDatums(t *testing.T) {
	// A projection on a datum of which nothing but the ellipsoid is known.
	c := mustParse(t, `PROJCS["mine grid",GEOGCS["own",DATUM["Own datum",SPHEROID["GRS 1980",6378137,298.257222101]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]],`+
		`PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",0],PARAMETER["central_meridian",9],PARAMETER["scale_factor",1],PARAMETER["false_easting",500000],PARAMETER["false_northing",0],UNIT["metre",1]]`)
	at := orb.Point{500000, 5700000}
	if _, err := crs.NewTransformer(c, crs.WGS84(), at, crs.Options{}); !errors.Is(err, crs.ErrBallpark) {
		t.Fatalf("error is %v, want ErrBallpark", err)
	}
	tr, err := crs.NewTransformer(c, crs.WGS84(), at, crs.Options{AllowBallpark: true})
	if err != nil {
		t.Fatal(err)
	}
	if op := tr.Operation(); !op.Ballpark || !math.IsNaN(op.Accuracy) {
		t.Errorf("operation is %+v, want a ballpark one of unknown accuracy", op)
	}
}

// The grid of the Ordnance Survey's definitive transformation is not part of
// PROJ: what is used without it is good to 2 m by the EPSG dataset.
func TestOperationTellsOfAMissingGrid(t *testing.T) {
	op := operation(t, "EPSG:27700", orb.Point{577274, 69740})
	if op.Accuracy <= 1 {
		t.Skip("the grid is installed here")
	}
	if op.Ballpark || !strings.Contains(op.Better, "is not installed") {
		t.Errorf("operation is %+v", op)
	}
	if op := operation(t, "EPSG:25832", orb.Point{500000, 5700000}); op.Better != "" {
		t.Errorf("a null transformation between ETRS89 and WGS 84 has a better one: %+v", op)
	}
}

func operation(t *testing.T, from string, at orb.Point) crs.Operation {
	t.Helper()
	tr, err := crs.NewTransformer(mustParse(t, from), crs.WGS84(), at, crs.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return tr.Operation()
}

func TestNewTransformerRefusesWhatHasNoPlace(t *testing.T) {
	local := mustParse(t, `LOCAL_CS["site",UNIT["metre",1]]`)
	for name, from := range map[string]vector.CRS{"unknown": {}, "unit only": {Horizontal: vector.Metre}, "local": local} {
		if _, err := crs.NewTransformer(from, crs.WGS84(), orb.Point{}, crs.Options{}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func TestForwardRefusesWhatCannotBeTransformed(t *testing.T) {
	c := mustParse(t, "EPSG:25832")
	tr, err := crs.NewTransformer(c, crs.WGS84(), orb.Point{500000, 5700000}, crs.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []orb.Point{{math.NaN(), 0}, {math.Inf(1), 0}, {1e30, 1e30}} {
		if q, err := tr.Forward(p); err == nil {
			t.Errorf("%v became %v", p, q)
		}
	}
}

func TestInverseUndoesForward(t *testing.T) {
	tr, err := crs.NewTransformer(mustParse(t, "EPSG:2154"), crs.WGS84(), orb.Point{770500, 6277500}, crs.Options{})
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		p := orb.Point{rapid.Float64Range(100000, 1200000).Draw(t, "x"), rapid.Float64Range(6050000, 7100000).Draw(t, "y")}
		q, err := tr.Forward(p)
		if err != nil {
			t.Fatal(err)
		}
		back, err := tr.Inverse(q)
		if err != nil {
			t.Fatal(err)
		}
		if d := math.Hypot(back[0]-p[0], back[1]-p[1]); d > 1e-6 {
			t.Fatalf("%v came back %g m off", p, d)
		}
	})
}

func TestTransformersWorkSideBySide(t *testing.T) {
	at := orb.Point{770500, 6277500}
	results := make([]orb.Point, 8)
	var wait sync.WaitGroup
	for i := range results {
		wait.Go(func() {
			tr, err := crs.NewTransformer(mustParse(t, "EPSG:2154"), crs.WGS84(), at, crs.Options{})
			if err == nil {
				results[i], err = tr.Forward(at)
			}
			if err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
	for _, r := range results {
		if r != results[0] {
			t.Errorf("results differ: %v", results)
		}
	}
}

func ExampleNewTransformer() {
	lambert, err := crs.Parse("EPSG:2154")
	if err != nil {
		fmt.Println(err)
		return
	}
	at := orb.Point{700000, 6600000}
	t, err := crs.NewTransformer(lambert, crs.WGS84(), at, crs.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	p, err := t.Forward(at)
	fmt.Printf("%.9f %.9f %v, good to %g m\n", p[0], p[1], err, t.Operation().Accuracy)
	// Output: 3.000000000 46.500000000 <nil>, good to 1 m
}

func BenchmarkForward(b *testing.B) {
	at := orb.Point{770500, 6277500}
	tr, err := crs.NewTransformer(mustParse(b, "EPSG:2154"), crs.WGS84(), at, crs.Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := tr.Forward(at); err != nil {
			b.Fatal(err)
		}
	}
}
