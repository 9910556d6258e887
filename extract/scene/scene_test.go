package scene

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"quoin/extract/cloud"
	"quoin/extract/las"
	"quoin/extract/scene/flight"
	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
	"quoin/vector"
)

// sparse returns a spec that is quick to fly.
func sparse(composite string) Spec {
	s := DefaultSpec(composite)
	s.Spacing = 0.5
	return s
}

func compose(t *testing.T, spec Spec) *Scene {
	t.Helper()
	s, err := Compose(spec)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// write composes and writes a spec into a new folder.
func write(t *testing.T, spec Spec, workers int) (string, *Scene, Summary) {
	t.Helper()
	dir := t.TempDir()
	s := compose(t, spec)
	sum, err := s.Write(context.Background(), dir, workers)
	if err != nil {
		t.Fatal(err)
	}
	return dir, s, sum
}

// points reads all points of the clouds, in order.
func points(t *testing.T, paths []string) *cloud.Batch {
	t.Helper()
	all := &cloud.Batch{}
	for _, path := range paths {
		f, err := las.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		for b, err := range f.Batches(context.Background()) {
			if err != nil {
				t.Fatal(err)
			}
			all.X, all.Y, all.Z = append(all.X, b.X...), append(all.Y, b.Y...), append(all.Z, b.Z...)
			all.Class, all.Time = append(all.Class, b.Class...), append(all.Time, b.Time...)
			all.Return, all.Red = append(all.Return, b.Return...), append(all.Red, b.Red...)
		}
	}
	return all
}

func TestSameBytesForAnyWorkers(t *testing.T) {
	spec := sparse("gardens")
	a, _, _ := write(t, spec, 1)
	b, _, _ := write(t, spec, 3)
	files := 0
	err := filepath.WalkDir(a, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		files++
		rel, _ := filepath.Rel(a, path)
		one, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		three, err := os.ReadFile(filepath.Join(b, rel))
		if err != nil {
			return err
		}
		if !bytes.Equal(one, three) {
			t.Errorf("%s differs", rel)
		}
		return nil
	})
	if err != nil || files < 10 {
		t.Errorf("%d files compared, error %v", files, err)
	}
}

// The three units hold one block: back in metres its points agree within a
// millimetre, half a step of the coordinates in either file.
func TestUnitsAgree(t *testing.T) {
	metric := sparse("suburb")
	_, m, sum := write(t, metric, 2)
	want := points(t, sum.Clouds)
	for _, unit := range []vector.Unit{vector.Foot, vector.USSurveyFoot} {
		spec := metric
		spec.Unit = unit
		_, s, sum := write(t, spec, 2)
		got := points(t, sum.Clouds)
		if len(got.X) != len(want.X) {
			t.Fatalf("%s: %d points, in metres %d", unit.Name, len(got.X), len(want.X))
		}
		for i := range got.X {
			dx := got.X[i]*unit.Metres - s.datum.origin.X - (want.X[i] - m.datum.origin.X)
			dy := got.Y[i]*unit.Metres - s.datum.origin.Y - (want.Y[i] - m.datum.origin.Y)
			dz := got.Z[i]*unit.Metres - want.Z[i]
			if d := max(math.Abs(dx), math.Abs(dy), math.Abs(dz)); d > 0.001 {
				t.Fatalf("%s: point %d is %.5f m off", unit.Name, i, d)
			}
		}
		f, err := las.Open(sum.Clouds[0])
		if err != nil {
			t.Fatal(err)
		}
		if crs := f.Info().CRS; crs.Horizontal != unit && crs.WKT == "" {
			t.Errorf("%s: the file says %v", unit.Name, crs)
		}
	}
}

// For every building of every kind of block: two millimetres inside each side
// of the true roof edge a ray from above meets it, two outside it does not.
// Circles are followed by chords.
func TestTruthIsWhatRaysSee(t *testing.T) {
	for _, kind := range Composites() {
		s := compose(t, sparse(kind.Name))
		bare := solid.NewWorld(s.World.Terrain, onlyBuildings(s))
		for i, b := range s.Buildings {
			off := 0.002
			if len(b.Arcs) > 0 {
				off = 0.005
			}
			for _, fault := range disagreements(bare, b, int32(i), off) {
				t.Errorf("%s: %s %s: %s", kind.Name, b.Kind, b.ID, fault)
			}
		}
	}
}

func onlyBuildings(s *Scene) []solid.Body {
	var bodies []solid.Body
	for _, b := range s.World.Bodies {
		if int(b.Object) < len(s.Buildings) {
			bodies = append(bodies, b)
		}
	}
	return bodies
}

// disagreements says where rays and the roof edge do not agree.
func disagreements(w *solid.World, b *house.Building, object int32, off float64) (faults []string) {
	for _, ring := range b.RoofEdge {
		for i, p := range ring {
			d := ring[(i+1)%len(ring)].Sub(p)
			in := solid.Point{X: -d.Y, Y: d.X}.Scale(off / d.Length())
			for _, u := range []float64{0.08, 0.4, 0.93} {
				at := p.Add(d.Scale(u))
				if hit := fromAbove(w, at.Add(in)); hit.Object != object {
					faults = append(faults, fmt.Sprintf("inside side %d at %.2f another thing is seen", i, u))
				}
				if hit := fromAbove(w, at.Sub(in)); hit.Object == object && hit.Surface.Class != solid.Balcony {
					faults = append(faults, fmt.Sprintf("outside side %d at %.2f it is seen", i, u))
				}
			}
		}
	}
	return faults
}

func fromAbove(w *solid.World, p solid.Point) solid.Hit {
	hit, _ := w.Look(solid.Ray{Origin: p.Up(300), Dir: solid.Vec{Z: -1}}, 1, 600)
	return hit
}

// A class a point, and roof points where the truth has a roof.
func TestClassesFitTheCloud(t *testing.T) {
	dir, s, sum := write(t, sparse("street"), 2)
	var classes []byte
	for _, path := range sum.Clouds {
		name := strings.TrimSuffix(filepath.Base(path), ".las") + ".bin"
		b, err := os.ReadFile(filepath.Join(dir, "truth", "classes", name))
		if err != nil {
			t.Fatal(err)
		}
		classes = append(classes, b...)
	}
	cloud := points(t, sum.Clouds)
	if len(classes) != len(cloud.X) || int64(len(classes)) != sum.Points {
		t.Fatalf("%d classes, %d points, %d said", len(classes), len(cloud.X), sum.Points)
	}
	var roofs, astray int
	for i, c := range classes {
		if cloud.Class[i] != 1 {
			t.Fatalf("point %d of an unlabelled cloud has class %d", i, cloud.Class[i])
		}
		if solid.Class(c) != solid.Roof {
			continue
		}
		roofs++
		p := solid.Point{X: cloud.X[i] - s.datum.origin.X, Y: cloud.Y[i] - s.datum.origin.Y}
		near := false
		for _, b := range s.Buildings {
			near = near || b.RoofEdge.Contains(p) || distanceToEdge(b.RoofEdge, p) < 0.15
		}
		if !near {
			astray++
		}
	}
	if roofs < 3000 || astray > 0 {
		t.Errorf("%d roof points, %d of them beside every roof", roofs, astray)
	}
}

func TestLabels(t *testing.T) {
	share := func(labels Labelling) (building, wrong float64) {
		spec := sparse("street")
		spec.Labels = labels
		dir, _, sum := write(t, spec, 2)
		cloud := points(t, sum.Clouds[:1])
		truth, err := os.ReadFile(filepath.Join(dir, "truth", "classes", "line_01.bin"))
		if err != nil {
			t.Fatal(err)
		}
		for i, c := range cloud.Class {
			if c == 6 {
				building++
			}
			if c != published(solid.Class(truth[i])) {
				wrong++
			}
			if c > 18 {
				t.Fatalf("the cloud has class %d", c)
			}
		}
		n := float64(len(cloud.Class))
		return building / n, wrong / n
	}
	if building, wrong := share(Labelled); building < 0.05 || wrong != 0 {
		t.Errorf("true labels: %.3f building, %.3f wrong", building, wrong)
	}
	if _, wrong := share(Mislabelled); wrong < 0.2 || wrong > 0.45 {
		t.Errorf("wrong labels: %.3f are wrong, want about a third", wrong)
	}
}

// Control differs from the true corners by the survey's noise, and by a
// blunder where truth/README names one.
func TestControl(t *testing.T) {
	spec := sparse(Demo)
	spec.Blunders = 2
	dir, s, sum := write(t, spec, 2)
	f, err := os.Open(sum.Control)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	marks := s.marks()
	ground, walls := s.groundMarks(), s.wallMarks()
	if len(rows) != len(marks)+len(ground)+len(walls)+1 || len(marks) < 12 || len(ground) < 20 || len(walls) < 4 {
		t.Fatalf("%d rows for %d corners, %d places on the ground, %d on walls", len(rows), len(marks), len(ground), len(walls))
	}
	if got := strings.Join(rows[0], ","); got != "point,northing,easting,elevation,description,role,sigma_h,sigma_u" {
		t.Errorf("header %s", got)
	}
	for i, m := range ground {
		row := rows[len(marks)+1+i]
		z, _ := strconv.ParseFloat(row[3], 64)
		if d := math.Abs(z - s.World.Terrain.Elevation(solid.Point{X: m.at.X, Y: m.at.Y})); d > 0.05 || row[5] != "check" || row[7] != "0.0100" {
			t.Errorf("point %v is %.3f m off the ground", row, d)
		}
	}
	readme, err := os.ReadFile(filepath.Join(dir, "truth", "README"))
	if err != nil {
		t.Fatal(err)
	}
	named := string(readme[bytes.Index(readme, []byte("blunder:")):])
	named = named[:strings.IndexByte(named, '\n')]
	blunders, sum2 := 0, 0.0
	for i, m := range marks {
		row := rows[i+1]
		n, _ := strconv.ParseFloat(row[1], 64)
		e, _ := strconv.ParseFloat(row[2], 64)
		d := math.Hypot(e-s.datum.origin.X-m.at.X, n-s.datum.origin.Y-m.at.Y)
		if strings.Contains(named, row[0]) {
			blunders++
			if d < 0.7 {
				t.Errorf("point %s is named a blunder and is %.3f m off", row[0], d)
			}
			continue
		}
		if d > 0.06 {
			t.Errorf("point %s is %.3f m off", row[0], d)
		}
		sum2 += d * d
	}
	if blunders != 2 {
		t.Errorf("%d blunders are named, want 2 (%s)", blunders, named)
	}
	// Two axes of one centimetre.
	if rms := math.Sqrt(sum2 / float64(len(marks)-2)); rms < 0.008 || rms > 0.021 {
		t.Errorf("the survey is off by %.4f m rms, want about 0.014", rms)
	}
}

func TestTruthLayers(t *testing.T) {
	dir, s, _ := write(t, sparse("rows"), 2)
	var all struct {
		CRS      string `json:"crs_code"`
		Features []struct {
			Geometry   geometry
			Properties buildingTruth
		}
	}
	b, err := os.ReadFile(filepath.Join(dir, "truth", "footprints.geojson"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, &all); err != nil {
		t.Fatal(err)
	}
	if all.CRS != "EPSG:25831+5730" || len(all.Features) != len(s.Buildings) {
		t.Fatalf("CRS %s, %d features", all.CRS, len(all.Features))
	}
	party := 0
	for i, f := range all.Features {
		p := f.Properties
		if p.ID != s.Buildings[i].ID || p.Ridge < p.Eave || p.Eave < p.GroundMax || p.GroundMean < p.GroundMin || p.GroundMean > p.GroundMax {
			t.Errorf("building %s: %+v", p.ID, p)
		}
		if got := s.Buildings[i].RoofEdge.Area(); math.Abs(got-p.AreaM2) > 1e-3 {
			t.Errorf("building %s: area %.4f, region %.4f", p.ID, p.AreaM2, got)
		}
		party += len(p.Neighbours)
	}
	if party < 40 {
		t.Errorf("%d party walls are told", party/2)
	}
}

// Party walls are one line in the truth of both houses.
func TestPartyWallsAreShared(t *testing.T) {
	s := compose(t, sparse("rows"))
	byID := map[string]*house.Building{}
	for _, b := range s.Buildings {
		byID[b.ID] = b
	}
	for _, b := range s.Buildings {
		for _, id := range b.Neighbours {
			if l := sharedLength(b.RoofEdge[0], byID[id].RoofEdge[0]); l < 5 {
				t.Errorf("%s and %s share %.2f m of outline", b.ID, id, l)
			}
		}
	}
}

// sharedLength returns how much of a's outline runs on b's.
func sharedLength(a, b []solid.Point) (shared float64) {
	for i, p := range a {
		d := a[(i+1)%len(a)].Sub(p)
		n := int(d.Length() / 0.05)
		for k := range n {
			if distanceToEdge(house.Region{b}, p.Add(d.Scale((float64(k)+0.5)/float64(n)))) < 1e-6 {
				shared += d.Length() / float64(n)
			}
		}
	}
	return shared
}

// Trees over roofs are told: some sides of the treed block are partly hidden,
// those of the open yard are not.
func TestVisibility(t *testing.T) {
	hidden := func(composite string) (worst float64, sides int) {
		s := compose(t, sparse(composite))
		worst = 1
		for i, b := range s.Buildings {
			shares := s.visible(b, i)
			for _, ring := range shares {
				for _, v := range ring {
					if worst = min(worst, v); v < 0.9 {
						sides++
					}
				}
			}
		}
		return worst, sides
	}
	if worst, sides := hidden("gardens"); worst > 0.7 || sides < 3 {
		t.Errorf("gardens: least visible side %.2f, %d sides hidden", worst, sides)
	}
	if worst, _ := hidden("wings"); worst < 0.99 {
		t.Errorf("wings: a side is only %.2f visible", worst)
	}
}

// The ground is in sight all around a house on its own, and not at the foot of
// the walls inside a narrow courtyard.
func TestGroundSeen(t *testing.T) {
	least := func(composite string) float64 {
		s := compose(t, sparse(composite))
		worst := 1.0
		for _, b := range s.Buildings {
			for _, ring := range s.groundSeen(b) {
				for _, v := range ring {
					worst = min(worst, v)
				}
			}
		}
		return worst
	}
	if open := least("fair"); open < 0.9 {
		t.Errorf("fair: the ground is seen beside %.2f of a side", open)
	}
	if closed := least("courts"); closed > 0.8 {
		t.Errorf("courts: the ground is seen beside %.2f of every side", closed)
	}
}

func TestFormats(t *testing.T) {
	for _, format := range []uint8{0, 1, 2, 3, 6, 7, 8} {
		spec := sparse("yard")
		spec.Spacing, spec.Format = 0.9, format
		_, _, sum := write(t, spec, 2)
		f, err := las.Open(sum.Clouds[0])
		if err != nil {
			t.Fatal(err)
		}
		h, info := f.Header(), f.Info()
		if h.Format != format || info.CRS.Code != 25831 && info.CRS.WKT == "" || h.Count == 0 {
			t.Errorf("format %d: %d points of format %d in %v", format, h.Count, h.Format, info.CRS)
		}
	}
}

func TestComposeRefuses(t *testing.T) {
	for name, change := range map[string]func(*Spec){
		"unknown block":   func(s *Spec) { s.Composite = "castle" },
		"no spacing":      func(s *Spec) { s.Spacing = 0 },
		"NaN spacing":     func(s *Spec) { s.Spacing = math.NaN() },
		"huge extent":     func(s *Spec) { s.Extent = [2]float64{1e6, 100} },
		"unknown unit":    func(s *Spec) { s.Unit = vector.Unit{Symbol: "li", Metres: 500} },
		"waveforms":       func(s *Spec) { s.Format = 4 },
		"unknown labels":  func(s *Spec) { s.Labels = "some" },
		"unknown scanner": func(s *Spec) { s.Scanner = "kite" },
		"too dense":       func(s *Spec) { s.Spacing = 0.02 },
	} {
		spec := DefaultSpec("suburb")
		change(&spec)
		if _, err := Compose(spec); err == nil || strings.Contains(err.Error(), "\n\n") {
			t.Errorf("%s: error %v", name, err)
		}
	}
}

func TestOverrides(t *testing.T) {
	spec := sparse("suburb")
	spec.Errors = &flight.Errors{Range: 0.05, Tau: 1, DriftTau: 1}
	spec.Divergence = &[2]float64{0.003, 0.001}
	spec.Height, spec.MaxPulses, spec.Scanner = 55, 20000, flight.OscillatingMirror
	s := compose(t, spec)
	sc := s.Plan.Scanner
	if sc.Errors != *spec.Errors || sc.Divergence != *spec.Divergence || sc.Height != 55 || sc.Kind != flight.OscillatingMirror {
		t.Errorf("scanner %+v", sc)
	}
	if got := s.Plan.Density * 100 * 100; math.Abs(got-20000) > 1 {
		t.Errorf("%.0f pulses are planned, want 20000", got)
	}
}

// What is stopped leaves no cloud under a final name.
func TestCancelledWriteLeavesNoCloud(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	dir := t.TempDir()
	if _, err := compose(t, sparse("suburb")).Write(ctx, dir, 2); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want cancelled", err)
	}
	left, _ := filepath.Glob(filepath.Join(dir, "cloud", "*"))
	if len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
}

// The cloud says nothing of noise or beam: its header and records name only
// the CRS and the makers.
func TestCloudKeepsItsSecrets(t *testing.T) {
	_, _, sum := write(t, sparse("forest"), 2)
	f, err := las.Open(sum.Clouds[0])
	if err != nil {
		t.Fatal(err)
	}
	h := f.Header()
	if h.SystemID != "simulated flight" || h.Software != "quoin demo" || h.ExtraBytes != 0 || len(h.EVLRs) != 0 {
		t.Errorf("header %q %q, %d extra bytes, %d EVLRs", h.SystemID, h.Software, h.ExtraBytes, len(h.EVLRs))
	}
	for _, v := range h.VLRs {
		if v.UserID != "LASF_Projection" {
			t.Errorf("record %s %d", v.UserID, v.RecordID)
		}
	}
}

func BenchmarkWrite(b *testing.B) {
	s, err := Compose(sparse("street"))
	if err != nil {
		b.Fatal(err)
	}
	var n int64
	for b.Loop() {
		sum, err := s.Write(context.Background(), b.TempDir(), 2)
		if err != nil {
			b.Fatal(err)
		}
		n += sum.Points
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "points/s")
}

func BenchmarkCompose(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Compose(DefaultSpec(Demo)); err != nil {
			b.Fatal(err)
		}
	}
}
