package plate_test

import (
	"encoding/xml"
	"errors"
	"fmt"
	"image"
	"image/color"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/plate"
)

// house is an L of 10 by 8 with a bay of 4 by 3 left out, far from the origin of
// the CRS.
func house() vector.Footprint {
	x, y := 500000.0, 5600000.0
	ring := orb.Ring{{x, y}, {x + 10, y}, {x + 10, y + 5}, {x + 6, y + 5}, {x + 6, y + 8}, {x, y + 8}, {x, y}}
	f := vector.Footprint{
		ID: "abc<&>", Polygon: orb.Polygon{ring}, AreaSigma: 0.3, EaveHeight: 3.2, RidgeHeight: 6.5,
		Review: []vector.Reason{vector.ReviewOccluded, vector.ReviewVegetation},
	}
	for i, p := range ring[:6] {
		f.Corners = append(f.Corners, vector.Corner{BuildingID: f.ID, Vertex: i, Point: p, SigmaE: 0.02, SigmaN: 0.01, Kind: vector.Adjusted})
		f.Sides = append(f.Sides, vector.Side{Edge: i, From: p, To: ring[i+1], SigmaLength: 0.02})
	}
	f.Corners[2].Kind = vector.Extended
	return f
}

func sheet() plate.Sheet {
	return plate.Sheet{
		CRS:    vector.CRS{Authority: "EPSG", Code: 25832, Horizontal: vector.Metre, Vertical: vector.Metre},
		Source: "The image <b>.tif",
	}
}

func under(b orb.Bound, pixels int) plate.Underlay {
	m := image.NewRGBA(image.Rect(0, 0, pixels, pixels))
	for i := range pixels {
		m.SetRGBA(i, i, color.RGBA{255, 0, 0, 255})
	}
	return plate.Underlay{Image: m, Bound: b}
}

// wellFormed reads a plate as XML and has it refer to nothing outside.
func wellFormed(t *testing.T, text string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(text))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Fatalf("no XML: %v\n%s", err, text)
		}
		start, ok := token.(xml.StartElement)
		for i := 0; ok && i < len(start.Attr); i++ {
			a := start.Attr[i]
			if a.Name.Local == "href" && !strings.HasPrefix(a.Value, "data:image/") && !strings.HasPrefix(a.Value, "#") {
				t.Errorf("refers to %s", a.Value)
			}
			if strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
				t.Errorf("%s is %s", a.Name.Local, a.Value)
			}
		}
	}
}

// TestBuilding has the plate of a house say and show what is known of it.
func TestBuilding(t *testing.T) {
	s, f := sheet(), house()
	b := plate.Building{
		Footprint: f, Number: 7, Under: under(s.BuildingBound(f), 20),
		Marks: []plate.Mark{
			{Point: orb.Point{500001, 5600001}, Inside: true},
			{Point: orb.Point{500001, 5599999.5}},
			{Point: orb.Point{500009, 5600007}, Inside: true}, // in the bay: on the wrong side
		},
		Checks: []vector.CornerCheck{{ControlID: "P<1>", BuildingID: f.ID, Surveyed: orb.Point{500000.02, 5600000}, DeltaE: -0.02, DeltaN: 0, Used: true}},
	}
	text := s.Building(b)
	wellFormed(t, text)
	for _, want := range []string{
		"Building 7 · abc&lt;&amp;&gt;", "10.00 ± 0.02 m", "8.00 ± 0.02 m", "4.00 ± 0.02 m",
		"Area 68.0 ± 0.3 m²", "6 corners, 1 carried on; standard error to 0.020 m", "Eave 3.20 m, ridge 6.50 m above ground",
		"To look at: occluded, vegetation", "Ringed: 1 of 3 on the wrong side", "EPSG:25832", "The image &lt;b&gt;.tif", "P&lt;1&gt;",
		"no boundary survey", "roof look", `image/png;base64`,
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the plate does not say %q", want)
		}
	}
	if again := s.Building(b); again != text {
		t.Error("the same building gives another plate")
	}
}

var outline = regexp.MustCompile(`class="roof look" d="M([-\d.]+) ([-\d.]+)L([-\d.]+) ([-\d.]+)`)

// TestScale draws positions where they lie: a square of 10 m and an eighth around
// it is 14 m wide, as 2 m are the least.
func TestScale(t *testing.T) {
	text := sheet().Building(plate.Building{Footprint: house()})
	m := outline.FindStringSubmatch(text)
	if m == nil {
		t.Fatal("no outline")
	}
	var v [4]float64
	for i := range v {
		v[i], _ = strconv.ParseFloat(m[i+1], 64)
	}
	// The house is 10 by 8: its south-west corner lies 2 m from the left, 3 m from
	// the lower edge of the map.
	const unit = 1000 / 14.
	for i, want := range []float64{2 * unit, 1000 - 3*unit, 12 * unit, 1000 - 3*unit} {
		if math.Abs(v[i]-want) > 0.011 {
			t.Errorf("coordinate %d is %v, want %v", i, v[i], want)
		}
	}
	// A fifth of 14 m is 2.8: the bar is 2 m.
	if bar := fmt.Sprintf("h%.2f", 2*unit); !strings.Contains(text, bar) || !strings.Contains(text, ">2 m<") {
		t.Errorf("no bar of 2 m, %s", bar)
	}
}

// TestMeasured rounds lengths by their standard errors.
func TestMeasured(t *testing.T) {
	f := house()
	for _, c := range []struct {
		sigma float64
		want  string
	}{{0.004, "10.000 ± 0.004 m"}, {0.02, "10.00 ± 0.02 m"}, {0.3, "10.0 ± 0.3 m"}, {2, "10 ± 2 m"}, {0, "10.00 m"}, {math.NaN(), "10.00 m"}} {
		f.Sides[0].SigmaLength = c.sigma
		if text := sheet().Building(plate.Building{Footprint: f}); !strings.Contains(text, ">"+c.want+"<") {
			t.Errorf("σ %v: no %q", c.sigma, c.want)
		}
	}
}

// TestCorner shows the difference at a surveyed point to scale.
func TestCorner(t *testing.T) {
	s, f := sheet(), house()
	c := plate.Corner{
		CornerCheck: vector.CornerCheck{
			ControlID: "12", BuildingID: f.ID, Surveyed: orb.Point{500010.03, 5600000.04}, SurveySigma: [3]float64{0.01, 0.01, 0},
			DeltaE: -0.03, DeltaN: -0.04, Used: true,
		},
		Corner: &f.Corners[1], Footprints: []vector.Footprint{f},
	}
	c.Under = under(s.CornerBound(c), 300)
	text := s.Corner(c)
	wellFormed(t, text)
	// 2 m are 1000 units wide, so the line is 15 to the left and 20 down, and the
	// ellipses have axes of √(−2 ln 0.05) = 2.4477 standard errors.
	for _, want := range []string{
		"Surveyed point 12", "east -0.030, north -0.040 m", "Distance 0.050 m", "l-15 20", "image/jpeg;base64",
		`class="error" rx="24.48" ry="12.24"`, `class="survey" rx="12.24" ry="12.24"`,
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the plate does not say %q:\n%s", want, text)
		}
	}
	c.Corner, c.BuildingID, c.Reason = nil, "", "no corner within 1 m"
	c.DeltaE, c.DeltaN = math.NaN(), math.NaN()
	text = s.Corner(c)
	wellFormed(t, text)
	if !strings.Contains(text, "no corner within 1 m") {
		t.Error("the reason is not given")
	}
}

// TestBlock maps all footprints with their numbers.
func TestBlock(t *testing.T) {
	f := house()
	d := vector.Delivery{Footprints: []vector.Footprint{f, f}, Checks: []vector.CornerCheck{{Surveyed: f.Polygon[0][0], Used: true}, {Surveyed: f.Polygon[0][1]}}}
	b := orb.Bound{Min: orb.Point{499990, 5599990}, Max: orb.Point{500050, 5600010}}
	text := sheet().Block(plate.Block{Delivery: d, Bound: b})
	wellFormed(t, text)
	for _, want := range []string{">1<", ">2<", "2 footprints, 2 to look at", "2 surveyed points, 1 used", `width="1000" height="333.33"`} {
		if !strings.Contains(text, want) {
			t.Errorf("the map does not say %q", want)
		}
	}
}

// TestReference uses an image of the page, and leaves the style to it.
func TestReference(t *testing.T) {
	s, f := sheet(), house()
	u := under(orb.Bound{Min: orb.Point{499990, 5599990}, Max: orb.Point{500030, 5600030}}, 400)
	u.Reference = "plan"
	text := s.Building(plate.Building{Footprint: f, Under: u})
	wellFormed(t, text)
	if !strings.Contains(text, `<use href="#plan"`) || strings.Contains(text, "data:") || strings.Contains(text, "<style>") {
		t.Error("the plate does not use the page's image and style")
	}
	if plate.Style() == "" {
		t.Error("no style")
	}
}

// TestNothingKnown draws a footprint of which nothing else is known.
func TestNothingKnown(t *testing.T) {
	f := vector.Footprint{ID: "x", Polygon: house().Polygon, EaveHeight: math.NaN(), RidgeHeight: math.NaN(), AreaSigma: math.NaN()}
	wellFormed(t, plate.Sheet{}.Building(plate.Building{Footprint: f}))
	wellFormed(t, plate.Sheet{}.Block(plate.Block{Bound: f.Polygon.Bound()}))
}

func ExampleSheet_BuildingBound() {
	f := vector.Footprint{Polygon: orb.Polygon{{{0, 0}, {40, 0}, {40, 10}, {0, 10}, {0, 0}}}}
	fmt.Println(plate.Sheet{}.BuildingBound(f))
	// Output: {[-5 -20] [45 30]}
}

// TestImageEdges lays an image edge 6 cm outward of the lower side of a square of
// 10 m: drawn below it, exaggerated by a stated factor, with its offset and residual.
func TestImageEdges(t *testing.T) {
	s := plate.Sheet{CRS: vector.CRS{Horizontal: vector.Metre, Vertical: vector.Metre}}
	f := vector.Footprint{ID: "a", Polygon: orb.Polygon{{{0, 0}, {10, 0}, {10, 10}, {0, 10}, {0, 0}}}}
	b := plate.Building{Footprint: f, Number: 1, Seen: []plate.ImageEdge{{From: orb.Point{0, 0}, To: orb.Point{10, 0}, Offset: 0.06, Residual: -0.013, Sigma: 0.004, Pixel: 0.1}}}
	svg := s.Building(b)
	// 14 m are 1000 units: the edge is at 1000·12/14 = 857.14, and 0.06 m ten times
	// too far are 0.06·10·1000/14 = 42.9: more than 22, so that it is five times.
	for _, want := range []string{
		`class="seen" d="M142.86 878.57L857.14 878.57"`, "+6.0 cm, +0.6 px [-1.3]",
		"drawn 5 times too far off", "edges seen 1, 0.13 px (0.013 m) RMS off",
	} {
		if !strings.Contains(svg, want) {
			t.Errorf("no %q in the plate", want)
		}
	}
	if b.Seen = nil; strings.Contains(s.Building(b), "Green:") {
		t.Error("a legend for nothing")
	}
}
