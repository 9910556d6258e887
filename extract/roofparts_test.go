package extract_test

import (
	"context"
	"math"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"quoin/extract"
	"quoin/extract/scene"
	"quoin/vector/gpkg"
	"quoin/vector/topology"
)

// TestRoofPartsTileTheFootprints takes a simulated street through the whole
// job: the parts of each roof are valid, cover the footprint once, and have the
// bits of its corners.
func TestRoofPartsTileTheFootprints(t *testing.T) {
	spec := scene.DefaultSpec("street")
	spec.Spacing, spec.Seed = 0.45, 5
	block, err := scene.Compose(spec)
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	if _, err := block.Write(context.Background(), folder, 2); err != nil {
		t.Fatal(err)
	}
	o := extract.DefaultOptions()
	if o.Inputs, err = filepath.Glob(filepath.Join(folder, "cloud", "*.las")); err != nil {
		t.Fatal(err)
	}
	o.Out = filepath.Join(folder, "out")
	if _, err := extract.Run(context.Background(), o); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(o.Out, "footprints.gpkg")
	footprints, err := gpkg.ReadPolygons(path, "footprints")
	if err != nil {
		t.Fatal(err)
	}
	parts, err := gpkg.ReadPolygons(path, "roof_parts")
	if err != nil {
		t.Fatal(err)
	}
	if len(parts.Polygons) < 2*len(footprints.Polygons)-4 || len(footprints.Polygons) < 10 {
		t.Errorf("%d parts of %d footprints: most roofs have two slopes and more", len(parts.Polygons), len(footprints.Polygons))
	}
	of := make(map[string][]orb.Polygon)
	for i, id := range parts.IDs {
		of[id] = append(of[id], parts.Polygons[i])
	}
	for i, id := range footprints.IDs {
		checkTiling(t, id, footprints.Polygons[i], of[id])
	}
}

func checkTiling(t *testing.T, id string, footprint orb.Polygon, parts []orb.Polygon) {
	t.Helper()
	sum, corners := 0.0, make(map[orb.Point]bool)
	for _, p := range parts {
		if err := topology.Validate(p); err != nil {
			t.Errorf("%s: %v", id, err)
		}
		sum += topology.Area(p)
		for _, ring := range p {
			for _, q := range ring {
				corners[q] = true
			}
		}
	}
	if area := topology.Area(footprint); math.Abs(sum-area) > 0.02 {
		t.Errorf("%s: parts of %.3f m² in a footprint of %.3f m²", id, sum, area)
	}
	if pairs, err := topology.Overlaps(parts); err != nil {
		t.Error(err)
	} else {
		for _, p := range pairs {
			if p.Area > 0.02 {
				t.Errorf("%s: parts %d and %d overlap by %.3f m²", id, p.I, p.J, p.Area)
			}
		}
	}
	for _, ring := range footprint {
		for _, q := range ring {
			if !corners[q] {
				t.Errorf("%s: no part has the corner %v", id, q)
			}
		}
	}
}
