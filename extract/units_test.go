package extract_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"quoin/extract"
	"quoin/extract/las"
	"quoin/extract/scene"
	"quoin/vector"
	"quoin/vector/geojson"
)

// inUnit writes the files of a block in metres anew, without a CRS, in another
// unit.
func inUnit(t *testing.T, files []string, folder string, unit vector.Unit) []string {
	t.Helper()
	ctx := context.Background()
	var out []string
	for i, path := range files {
		f, err := las.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		// A tenth of a millimetre, or a thousandth of a foot.
		h := las.Header{Version: 4, Format: 1, Scale: [3]float64{0.0003, 0.0003, 0.0003}}
		if unit == vector.Metre {
			h.Scale = [3]float64{0.0001, 0.0001, 0.0001}
		}
		for axis, v := range f.Header().Offset {
			h.Offset[axis] = math.Floor(v / unit.Metres)
		}
		path := filepath.Join(folder, fmt.Sprintf("%s-%d.las", unit.Symbol, i))
		w, err := las.Create(path, h)
		if err != nil {
			t.Fatal(err)
		}
		for b, err := range f.Batches(ctx) {
			if err != nil {
				t.Fatal(err)
			}
			for k := range b.X {
				b.X[k], b.Y[k], b.Z[k] = b.X[k]/unit.Metres, b.Y[k]/unit.Metres, b.Z[k]/unit.Metres
			}
			if err := w.Write(b); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		out = append(out, path)
	}
	return out
}

// TestUnitsGiveTheSameFootprints takes one simulated block through in metres,
// international feet and US survey feet, with its control in metres each time,
// and expects the same corners to a millimetre. What is left between them is
// the rounding of the stored coordinates, 0.05 mm, and of corners, 0.1 mm.
func TestUnitsGiveTheSameFootprints(t *testing.T) {
	spec := scene.DefaultSpec("yard")
	spec.Spacing, spec.Format = 0.2, 1
	block, err := scene.Compose(spec)
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	if _, err := block.Write(context.Background(), folder, 2); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(folder, "cloud", "*.las"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no cloud in %s: %v", folder, err)
	}
	var first geojson.Polygons
	for _, unit := range []vector.Unit{vector.Metre, vector.Foot, vector.USSurveyFoot} {
		o := extract.DefaultOptions()
		o.Inputs, o.Out = inUnit(t, files, folder, unit), filepath.Join(folder, "out-"+unit.Symbol)
		o.Unit, o.ProjectedGeoJSON = unit, true
		o.Control, o.Survey.Unit = filepath.Join(folder, "control.csv"), vector.Metre
		record, err := extract.Run(context.Background(), o)
		if err != nil {
			t.Fatal(err)
		}
		if summary := record.Summary(); !strings.Contains(summary, " matched to a corner") || strings.Contains(summary, " 0 matched") {
			t.Errorf("%s: control is not brought to the unit:\n%s", unit.Name, summary)
		}
		got, err := geojson.ReadPolygons(filepath.Join(o.Out, "footprints-projected.geojson"))
		if err != nil {
			t.Fatal(err)
		}
		if unit == vector.Metre {
			first = got
			if len(first.Polygons) == 0 {
				t.Fatal("no footprints")
			}
			continue
		}
		if len(got.Polygons) != len(first.Polygons) {
			t.Fatalf("%d footprints in %s, %d in metres", len(got.Polygons), unit.Name, len(first.Polygons))
		}
		worst := 0.0
		for i, p := range got.Polygons {
			if len(p[0]) != len(first.Polygons[i][0]) {
				t.Fatalf("building %d: %d vertices in %s, %d in metres", i, len(p[0]), unit.Name, len(first.Polygons[i][0]))
			}
			for k, q := range p[0] {
				w := first.Polygons[i][0][k]
				worst = max(worst, math.Hypot(q[0]*unit.Metres-w[0], q[1]*unit.Metres-w[1]))
			}
		}
		if worst > 0.001 {
			t.Errorf("%s: corners differ by up to %.4f m", unit.Name, worst)
		}
		t.Logf("%s: corners differ by up to %.5f m", unit.Name, worst)
		if _, err := os.Stat(filepath.Join(o.Out, "accuracy-statement.txt")); err != nil {
			t.Error(err)
		}
	}
}
