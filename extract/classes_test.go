package extract_test

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"quoin/extract"
	"quoin/extract/cloud"
	"quoin/extract/las"
	"quoin/extract/scene"
	"quoin/vector/geojson"
)

// classedBy writes the files of a block anew with other classes.
func classedBy(t *testing.T, files []string, folder string, class func(i int, at orb.Point) uint8) []string {
	t.Helper()
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, path := range files {
		f, err := las.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		to, n := filepath.Join(folder, filepath.Base(path)), 0
		_, err = las.Relabel(context.Background(), []*las.File{f}, to, las.RelabelOptions{Workers: 1}, func(b *cloud.Batch, classes []uint8) {
			for i := range classes {
				classes[i] = class(n, orb.Point{b.X[i], b.Y[i]})
				n++
			}
		})
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, to)
	}
	return out
}

// TestWrongClassesDoNoHarm gives one block with classes that are wrong in
// several ways and expects the buildings of the block without classes: all of
// them, and to a centimetre.
func TestWrongClassesDoNoHarm(t *testing.T) {
	spec := scene.DefaultSpec("skew")
	spec.Spacing = 0.7
	block, err := scene.Compose(spec)
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	if _, err := block.Write(context.Background(), folder, 2); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(folder, "cloud", "*.las"))
	if err != nil {
		t.Fatal(err)
	}
	delivered := func(name string, files []string) (geojson.Polygons, *extract.Record) {
		o := extract.DefaultOptions()
		o.Inputs, o.Out, o.ProjectedGeoJSON = files, filepath.Join(folder, "out-"+name), true
		record, err := extract.Run(context.Background(), o)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		got, err := geojson.ReadPolygons(filepath.Join(o.Out, "footprints-projected.geojson"))
		if err != nil {
			t.Fatal(err)
		}
		return got, record
	}
	plain, record := delivered("none", files)
	if len(plain.Polygons) < 9 || attribute(record, "classification").Present {
		t.Fatalf("%d footprints, attributes %v", len(plain.Polygons), record.Attributes)
	}
	first := plain.Polygons[0].Bound()
	tests := map[string]func(i int, at orb.Point) uint8{
		"all-ground":   func(int, orb.Point) uint8 { return 2 },
		"all-building": func(int, orb.Point) uint8 { return 6 },
		"all-noise":    func(int, orb.Point) uint8 { return 7 },
		// Any class to 31 anywhere.
		"scrambled": func(i int, at orb.Point) uint8 { return uint8(uint32(i) * 2654435761 >> 27) },
		// What a classifier with a wrong datum gives: the buildings' classes 6 m
		// beside them, noise where a shadow was.
		"shifted": func(_ int, at orb.Point) uint8 {
			for _, p := range plain.Polygons {
				if planar.PolygonContains(p, orb.Point{at[0] - 6, at[1] + 2}) {
					return 6
				}
			}
			if math.Mod(at[0], 40) < 1.5 {
				return 18
			}
			return 2
		},
		// One house for noise.
		"house-as-noise": func(_ int, at orb.Point) uint8 {
			if first.Contains(at) {
				return 7
			}
			return 1
		},
	}
	for name, class := range tests {
		got, record := delivered(name, classedBy(t, files, filepath.Join(folder, name), class))
		if len(got.Polygons) != len(plain.Polygons) {
			t.Errorf("%s: %d footprints, %d without classes", name, len(got.Polygons), len(plain.Polygons))
			continue
		}
		worst := 0.0
		for i, p := range got.Polygons {
			worst = max(worst, apart(p[0], plain.Polygons[i][0]))
		}
		if worst > 0.01 {
			t.Errorf("%s: corners differ by up to %.3f m", name, worst)
		}
		doubted := strings.Contains(name, "noise") || name == "scrambled"
		if a := attribute(record, "classification"); !a.Present || a.UsedFor != "" && doubted || record.Points.Doubted > 0 != (doubted || name == "shifted") {
			t.Errorf("%s: attribute %+v, %d points of noise doubted", name, a, record.Points.Doubted)
		}
	}
}

func attribute(r *extract.Record, name string) extract.Attribute {
	for _, a := range r.Attributes {
		if a.Name == name {
			return a
		}
	}
	return extract.Attribute{}
}

// apart returns the largest distance of a vertex of one ring from the nearest
// of the other.
func apart(a, b orb.Ring) float64 {
	worst := 0.0
	for _, p := range a {
		near := math.Inf(1)
		for _, q := range b {
			near = min(near, math.Hypot(p[0]-q[0], p[1]-q[1]))
		}
		worst = max(worst, near)
	}
	return worst
}
