package control

import (
	"strings"
	"testing"

	"quoin/vector"
)

func TestDefaultCodes(t *testing.T) {
	for description, want := range map[string]Feature{
		"": NoFeature, "corner 12": NoFeature, "roof corner A-1": RoofCorner, "RC": RoofCorner,
		"roof corner over ground floor": RoofCorner, "Wall NE": WallCorner, "brick corner": WallCorner,
		"GND": Ground, "ground, grass": VegetatedGround, "kerb": Ground, "drip edge SW": RoofCorner, "checkonly": CheckOnly,
	} {
		if got := DefaultCodes().Feature(description); got != want {
			t.Errorf("%q is %q, want %q", description, got, want)
		}
	}
}

func TestReadCodes(t *testing.T) {
	codes, err := readCodes(strings.NewReader("# ours\nE1,roof corner\nW;Wall Corner\n\nG7\tground\n"))
	if err != nil {
		t.Fatal(err)
	}
	for description, want := range map[string]Feature{"e1 north": RoofCorner, "W": WallCorner, "g7": Ground, "roof": NoFeature} {
		if got := codes.Feature(description); got != want {
			t.Errorf("%q is %q, want %q", description, got, want)
		}
	}
	for text, want := range map[string]string{
		"": "empty", "RC": "line 1", "\nRC,chimney": "line 2: feature \"chimney\"", "two words,ground": "one word",
	} {
		if _, err := readCodes(strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: got %v, want %q", text, err, want)
		}
	}
}

func TestRolesAndSigmas(t *testing.T) {
	points, err := FromTable(
		[]string{"point", "northing", "easting", "role", "sigma_h", "sigma_n", "sigma_u", "georeferencing", "colour"},
		[][]string{
			{"a", "1", "2", "", "0.01", "", "0.02", "", "red"},
			{"b", "1", "2", "Control", "0.01", "0.03", "", "no", ""},
			{"c", "1", "2", "control", "", "", "", "yes", ""},
		})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []Point{
		{Role: "", Sigma: [3]float64{0.01, 0.01, 0.02}},
		{Role: vector.RoleControl, Sigma: [3]float64{0.01, 0.03, 0}},
		{Role: vector.RoleGeoreferencing},
	} {
		if got := points[i]; got.Role != want.Role || got.Sigma != want.Sigma {
			t.Errorf("point %d: %+v", i, got)
		}
	}
	for _, row := range [][]string{
		{"a", "1", "2", "boss", "", "", "", ""}, {"a", "1", "2", "", "-1", "", "", ""}, {"a", "1", "2", "", "x", "", "", ""}, {"a", "1", "2", "", "", "", "", "maybe"},
	} {
		if _, err := FromTable([]string{"point", "n", "e", "role", "sigma", "sdn", "sdu", "georeferencing"}, [][]string{row}); err == nil {
			t.Errorf("%q was taken", row)
		}
	}
}

// TestOnlyChecksTest holds that what may adjust, what the cloud was fitted to,
// and what is no roof corner stay out of every figure.
func TestOnlyChecksTest(t *testing.T) {
	var corners []vector.Corner
	var points []Point
	for i := range 8 {
		c := vector.Corner{BuildingID: "b", Vertex: i}
		c.Point[0] = float64(20 * i)
		corners = append(corners, c)
		points = append(points, Point{ID: string(rune('a' + i)), East: float64(20*i) + 0.5})
	}
	points[0].Role, points[1].Role = vector.RoleControl, vector.RoleGeoreferencing
	points[2].Feature, points[3].Feature = WallCorner, Ground
	points[4].Role, points[4].Feature = vector.RoleControl, CheckOnly
	points[5].Description = "roof of B"
	r := Stats(Match(corners, points, 1))
	if r.Surveyed != 8 || r.Others != 4 || r.Matched != 4 || r.Used != 4 || r.All.East.N != 4 || len(r.Unmatched) != 0 {
		t.Errorf("got %+v", r)
	}
}

func TestDescriptionMayNameTheBuilding(t *testing.T) {
	corners := []vector.Corner{{BuildingID: "near"}, {BuildingID: "far"}}
	corners[1].Point[0] = 0.5
	points := []Point{{ID: "p", Description: "gutter, FAR"}}
	if got := Match(corners, points, 1)[0]; got.BuildingID != "far" {
		t.Errorf("matched to %q", got.BuildingID)
	}
	if got := Match(corners, points, 0.3)[0]; got.Used || !strings.Contains(got.Reason, "names another building") {
		t.Errorf("got %+v", got)
	}
}
