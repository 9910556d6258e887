package statement

import (
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/assess"
	"quoin/vector/control"
)

var update = flag.Bool("update", false, "rewrite the golden statements")

var utm = vector.CRS{Name: "ETRS89 / UTM zone 32N", Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 25832, Horizontal: vector.Metre, Vertical: vector.Metre}

// survey returns an invented block with n surveyed corners of houses spread
// over it, differing by noise of sigma and an offset.
func survey(n int, sigma float64, offset orb.Point, surveySigma float64) (vector.Delivery, []control.Point) {
	dice := rand.New(rand.NewPCG(11, uint64(n)))
	d := vector.Delivery{CRS: utm, Time: time.Date(2024, 5, 1, 0, 0, 0, 0, time.UTC), Lineage: "Invented for a test <&>."}
	var points []control.Point
	for i := range n {
		q := orb.Point{500050 + 100*float64(i%7), 5500050 + 100*float64(i/7%7)}
		id := fmt.Sprintf("b%02d", i)
		corner := vector.Corner{
			BuildingID: id, Point: q, Elevation: 108, SigmaE: sigma / 1.2, SigmaN: sigma / 1.2, SigmaU: 0.02, AngleDeg: 90, Kind: vector.Adjusted,
		}
		d.Footprints = append(d.Footprints, vector.Footprint{ID: id, Corners: []vector.Corner{corner}, Polygon: orb.Polygon{{q, {q[0] + 10, q[1]}, {q[0], q[1] + 8}, q}}})
		points = append(points, control.Point{
			ID: fmt.Sprint(101 + i), East: q[0] - offset[0] + sigma*dice.NormFloat64(), North: q[1] - offset[1] + sigma*dice.NormFloat64(),
			Elevation: 108 + 0.02*dice.NormFloat64(), Sigma: [3]float64{surveySigma, surveySigma, surveySigma}, Feature: control.RoofCorner,
		})
	}
	return d, points
}

func assessed(d vector.Delivery, points []control.Point, target float64) (vector.Delivery, *assess.Assessment) {
	d.Checks = control.Match(d.Corners(), points, 1/d.CRS.Horizontal.Metres)
	assess.CheckGround(d.Checks, func(orb.Point) (float64, bool) { return 100, true })
	a := assess.Assess(d.Checks, d.Corners(), assess.Options{
		CRS: d.CRS, Area: orb.Bound{Min: orb.Point{500000, 5500000}, Max: orb.Point{500700, 5500700}}, TargetClass: target, Floor: assess.DefaultFloor,
	})
	d.Footprints = a.SetNetwork(d.Footprints)
	return d, &a
}

func contents(t testing.TB) map[string]Content {
	t.Helper()
	list := map[string]Content{}
	add := func(name string, d vector.Delivery, a *assess.Assessment) {
		list[name] = Content{Delivery: d, CRS: d.CRS, Assessment: a, Version: "0.0.0"}
	}
	d, points := survey(49, 0.03, orb.Point{}, 0.005)
	untested := Content{Delivery: d, CRS: utm, Version: "0.0.0", Internal: []string{"Swaths put edges 0.012 m apart."}, Certificate: true}
	list["untested"] = untested
	m, a := assessed(d, points, 0.10)
	add("met", m, a)
	m, a = assessed(d, points, 0.03)
	add("notmet", m, a)
	d, points = survey(9, 0.03, orb.Point{0.15, -0.1}, 0)
	points[3].North += 0.6
	m, a = assessed(d, points, 0.10)
	add("few", m, a)
	d, points = survey(24, 0.03, orb.Point{0.2, 0.1}, 0.01)
	for i := range 6 {
		points[4*i].Role = vector.RoleControl
	}
	points = append(points, control.Point{ID: "g1", East: 500100, North: 5500100, Elevation: 99.97, Feature: control.Ground, Sigma: [3]float64{0, 0, 0.01}},
		control.Point{ID: "g2", East: 500300, North: 5500100, Elevation: 99.9, Feature: control.VegetatedGround})
	before := control.Match(d.Corners(), points, 1)
	j, err := assess.NewAdjustment(assess.ShiftOnly, before)
	if err != nil {
		t.Fatal(err)
	}
	m, a = assessed(j.Delivery(d), points, 0.10)
	stats := control.Stats(before).Kept
	j.Before, j.After, a.Adjustment = &stats, &a.Kept, j
	add("adjusted", m, a)
	far := []control.Point{{ID: "1", East: 1, North: 2, Elevation: math.NaN()}}
	m, a = assessed(d, far, 0)
	add("nothing matched", m, a)
	return list
}

func TestGoldenStatements(t *testing.T) {
	for name, c := range contents(t) {
		path := filepath.Join("..", "..", "testdata", "statement", strings.ReplaceAll(name, " ", "-")+".txt")
		got := Text(c)
		if *update {
			if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(string(want), got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

// TestClaimsNothingThatWasNotMet goes through the sentences that claim a
// standard: they stand where the standard is met, and nowhere else.
func TestClaimsNothingThatWasNotMet(t *testing.T) {
	const nssdaClaim, asprsClaim = "horizontal accuracy at 95% confidence level.", "was tested to meet"
	for name, c := range contents(t) {
		text := strings.Join(strings.Fields(Text(c)), " ")
		wantNSSDA, wantASPRS := false, false
		switch name {
		case "met":
			wantNSSDA, wantASPRS = true, true
		case "notmet":
			wantNSSDA = true
		}
		if strings.Contains(text, nssdaClaim) != wantNSSDA || strings.Contains(text, asprsClaim) != wantASPRS {
			t.Errorf("%s claims what it should not, or not what it could:\n%s", name, text)
		}
		_, after, _ := strings.Cut(text, "Edition 2 (2023) ---")
		edition, _, _ := strings.Cut(after, "Points ------")
		if strings.Contains(edition, "95") {
			t.Errorf("%s has a value at 95 %% under Edition 2: %s", name, edition)
		}
		if strings.Contains(text, "licensed professional in responsible charge") != c.Certificate {
			t.Errorf("%s: the professional's block is there unasked, or is missing", name)
		}
		if strings.Contains(text, "NaN") {
			t.Errorf("%s says NaN:\n%s", name, text)
		}
	}
}

// TestFeet: the same block in US survey feet says so in the NSSDA's sentence,
// and Edition 2 stays in centimetres.
func TestFeet(t *testing.T) {
	d, points := survey(49, 0.03, orb.Point{}, 0.005)
	k := vector.USSurveyFoot.Metres
	d.CRS.Horizontal, d.CRS.Vertical = vector.USSurveyFoot, vector.USSurveyFoot
	for i := range d.Footprints {
		c := &d.Footprints[i].Corners[0]
		c.Point, c.Elevation = orb.Point{c.Point[0] / k, c.Point[1] / k}, c.Elevation/k
		c.SigmaE, c.SigmaN, c.SigmaU = c.SigmaE/k, c.SigmaN/k, c.SigmaU/k
		p := &points[i]
		p.East, p.North, p.Elevation = p.East/k, p.North/k, p.Elevation/k
		for axis := range p.Sigma {
			p.Sigma[axis] /= k
		}
	}
	_, inFeet := assessed(d, points, 0.10)
	m, points := survey(49, 0.03, orb.Point{}, 0.005)
	_, inMetres := assessed(m, points, 0.10)
	if f, w := float64(inFeet.Class.Product)*k, float64(inMetres.Class.Product); math.Abs(f-w) > 1e-8 || inFeet.Class.Reached != inMetres.Class.Reached || inFeet.Consistency.Verdict != inMetres.Consistency.Verdict {
		t.Errorf("feet give %v, metres %v", f, w)
	}
	text := Text(Content{Delivery: d, CRS: d.CRS, Assessment: inFeet})
	if !strings.Contains(text, "US survey feet horizontal accuracy at") || !strings.Contains(text, "10-cm") {
		t.Error(text)
	}
}

// TestMetadataIsWellFormed reads the XML and looks for the two measures.
func TestMetadataIsWellFormed(t *testing.T) {
	for name, c := range contents(t) {
		m := Metadata(c)
		decoder := xml.NewDecoder(strings.NewReader(m.Text))
		elements := map[string]int{}
		for {
			token, err := decoder.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v\n%s", name, err, m.Text)
			}
			if e, ok := token.(xml.StartElement); ok {
				elements[e.Name.Local]++
				if !strings.HasPrefix(e.Name.Space, "http://standards.iso.org/iso/191") {
					t.Errorf("%s is in %q", e.Name.Local, e.Name.Space)
				}
			}
		}
		quantities := 3
		if c.Assessment == nil || c.Assessment.Matched == 0 {
			quantities = 0
		}
		if elements["MD_Metadata"] != 1 || elements["DQ_DescriptiveResult"] != 1 || elements["DQ_QuantitativeResult"] != quantities {
			t.Errorf("%s: %v", name, elements)
		}
	}
}

func ExampleSections() {
	for _, s := range Sections(Content{CRS: utm}) {
		fmt.Printf("%s: %s\n", s.Title, s.Lines[0])
	}
	// Output:
	// Data: Building footprints, roof edges seen from above, gutter lip included: 0 buildings in EPSG:25832 (ETRS89 / UTM zone 32N).
	// Not tested: Not tested: no surveyed points were given. No accuracy in the coordinate reference system is stated, and none follows from what is said below.
	// Cautions: These outlines are roof edges, not walls, and no boundary survey.
}

// TestVerticalSentenceNeedsItsPoints: the NSSDA's sentence for the ground
// stands from 20 points on.
func TestVerticalSentenceNeedsItsPoints(t *testing.T) {
	for n, want := range map[int]bool{19: false, 20: true} {
		var points []control.Point
		for i := range n {
			points = append(points, control.Point{ID: fmt.Sprint(i), Elevation: 100 + 0.1*float64(1-2*(i%2)), Feature: control.Ground})
		}
		d, a := assessed(vector.Delivery{CRS: utm}, points, 0)
		text := strings.Join(strings.Fields(Text(Content{Delivery: d, CRS: utm, Assessment: a})), " ")
		if got := strings.Contains(text, "Tested 0.196 meters vertical accuracy at 95% confidence level."); got != want {
			t.Errorf("%d points: %v\n%s", n, got, text)
		}
	}
}
