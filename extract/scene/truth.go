package scene

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"

	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
)

// A collection is a GeoJSON FeatureCollection in projected coordinates, with
// the CRS and unit as foreign members (RFC 7946, section 6.1).
type collection struct {
	Type     string    `json:"type"`
	Note     string    `json:"note"`
	CRS      string    `json:"crs_code"`
	Unit     string    `json:"unit"`
	Features []feature `json:"features"`
}

type feature struct {
	Type       string   `json:"type"`
	Geometry   geometry `json:"geometry"`
	Properties any      `json:"properties"`
}

type geometry struct {
	Type        string         `json:"type"`
	Coordinates [][][2]float64 `json:"coordinates"`
}

// buildingTruth is what is true of a building. Elevations and heights are in
// the CRS's vertical unit, areas in its horizontal unit squared.
type buildingTruth struct {
	ID           string         `json:"id"`
	Kind         string         `json:"kind"`
	RoofType     string         `json:"roof_type"`
	Area         float64        `json:"area"`
	AreaM2       float64        `json:"area_m2"`
	GroundMin    float64        `json:"ground_min"`
	GroundMax    float64        `json:"ground_max"`
	GroundMean   float64        `json:"ground_mean"`
	Eave         float64        `json:"eave_elevation"`
	Ridge        float64        `json:"ridge_elevation"`
	Highest      float64        `json:"highest_elevation"`
	Open         bool           `json:"open_roof"`
	Neighbours   []string       `json:"party_wall_with"`
	Visible      float64        `json:"visible_share"`
	SidesVisible [][]float64    `json:"sides_visible"`
	GroundSeen   [][]float64    `json:"sides_ground_seen"`
	EdgeHeights  [][]float64    `json:"vertex_elevations"`
	AtEdge       bool           `json:"at_block_edge"`
	Arcs         []arcTruth     `json:"arcs"`
	WallLine     [][][2]float64 `json:"wall_line"`
}

type arcTruth struct {
	Centre [2]float64 `json:"centre"`
	Radius float64    `json:"radius"`
}

// thingTruth is what is true of what is no building.
type thingTruth struct {
	Kind   string  `json:"kind"`
	Height float64 `json:"height"`
}

const projectedNote = "coordinates are in the projected CRS of crs_code, not longitude and latitude"

// writeTruth writes everything under truth but the classes.
func (s *Scene) writeTruth(dir string, sum Summary) error {
	buildings := make([]feature, len(s.Buildings))
	for i, b := range s.Buildings {
		buildings[i] = feature{"Feature", s.polygon(b.RoofEdge), s.truthOf(b, i)}
	}
	if err := s.writeLayer(filepath.Join(dir, "footprints.geojson"), buildings); err != nil {
		return err
	}
	var things []feature
	for _, t := range s.Things {
		things = append(things, feature{
			"Feature", s.polygon(house.Region{t.Outline}), thingTruth{t.Kind, rounded(s.datum.length(t.Height), 1e-3)},
		})
	}
	if err := s.writeLayer(filepath.Join(dir, "held.geojson"), things); err != nil {
		return err
	}
	return writeFile(filepath.Join(dir, "README"), func(w io.Writer) error { return s.describe(w, sum) })
}

func (s *Scene) writeLayer(path string, features []feature) error {
	if features == nil {
		features = []feature{}
	}
	all := collection{"FeatureCollection", projectedNote, s.datum.crs.String(), s.Spec.Unit.Symbol, features}
	return writeFile(path, func(w io.Writer) error {
		e := json.NewEncoder(w)
		e.SetIndent("", " ")
		return e.Encode(all)
	})
}

// truthOf gathers the truth about a building.
func (s *Scene) truthOf(b *house.Building, object int) buildingTruth {
	unit := s.Spec.Unit.Metres
	up := func(z float64) float64 { return rounded(s.datum.length(z), 1e-4) }
	low, high, mean := s.groundAlong(b.RoofEdge)
	t := buildingTruth{
		ID: b.ID, Kind: b.Kind, RoofType: b.Roof,
		Area: rounded(b.RoofEdge.Area()/unit/unit, 1e-4), AreaM2: rounded(b.RoofEdge.Area(), 1e-4),
		GroundMin: up(low), GroundMax: up(high), GroundMean: up(mean),
		Eave: up(b.Eave), Ridge: up(b.Ridge), Highest: up(b.Highest), Open: b.Open,
		Neighbours: append([]string{}, b.Neighbours...), Arcs: []arcTruth{},
		AtEdge: !s.inside(b.RoofEdge), WallLine: s.polygon(b.WallLine).Coordinates,
	}
	for _, a := range b.Arcs {
		t.Arcs = append(t.Arcs, arcTruth{s.place(a.Centre), rounded(a.Radius/unit, 1e-5)})
	}
	t.SidesVisible = s.visible(b, object)
	t.Visible = overallInPlace(b.RoofEdge, t.SidesVisible)
	t.GroundSeen = s.groundSeen(b)
	overallInPlace(b.RoofEdge, t.GroundSeen)
	for _, ring := range b.RoofEdge {
		heights := make([]float64, len(ring))
		for i, p := range ring {
			heights[i] = up(b.EdgeAt(p))
		}
		t.EdgeHeights = append(t.EdgeHeights, heights)
	}
	return t
}

// overallInPlace returns the share of all sides together, and rounds those of the
// sides to a thousandth in place.
func overallInPlace(r house.Region, shares [][]float64) float64 {
	var seen, all float64
	for k, ring := range r {
		for i, p := range ring {
			l := ring[(i+1)%len(ring)].Sub(p).Length()
			seen, all = seen+l*shares[k][i], all+l
			shares[k][i] = rounded(shares[k][i], 1e-3)
		}
	}
	return rounded(seen/all, 1e-3)
}

// groundAlong returns the lowest, highest and mean terrain along an outline.
func (s *Scene) groundAlong(r house.Region) (low, high, mean float64) {
	low, high = math.Inf(1), math.Inf(-1)
	n := 0
	for i, p := range r[0] {
		d := r[0][(i+1)%len(r[0])].Sub(p)
		steps := int(d.Length()/0.25) + 1
		for k := range steps {
			z := s.World.Terrain.Elevation(p.Add(d.Scale(float64(k) / float64(steps))))
			low, high, mean = min(low, z), max(high, z), mean+z
			n++
		}
	}
	return low, high, mean / float64(n)
}

func (s *Scene) inside(r house.Region) bool {
	low, high := r.Bounds()
	return low.X >= s.Low.X && low.Y >= s.Low.Y && high.X <= s.High.X && high.Y <= s.High.Y
}

// polygon returns a region as closed GeoJSON rings in CRS units.
func (s *Scene) polygon(r house.Region) geometry {
	g := geometry{Type: "Polygon", Coordinates: [][][2]float64{}}
	for _, ring := range r {
		var out [][2]float64
		for _, p := range ring {
			out = append(out, s.place(p))
		}
		g.Coordinates = append(g.Coordinates, append(out, out[0]))
	}
	return g
}

// place returns CRS coordinates to a hundredth of a millimetre.
func (s *Scene) place(p solid.Point) [2]float64 {
	c := s.datum.position(p)
	return [2]float64{rounded(c[0], 1e-5), rounded(c[1], 1e-5)}
}

func rounded(v, step float64) float64 { return math.Round(v*math.Round(1/step)) / math.Round(1/step) }

// writeFile writes a file under a temporary name and renames it.
func writeFile(path string, write func(io.Writer) error) error {
	f, err := os.Create(path + ".partial")
	if err != nil {
		return err
	}
	if err = write(f); err == nil {
		err = f.Close()
	} else {
		_ = f.Close()
	}
	if err == nil {
		err = os.Rename(path+".partial", path)
	}
	if err != nil {
		_ = os.Remove(path + ".partial")
		return fmt.Errorf("write %s: %w", path, err)
	}
	return nil
}
