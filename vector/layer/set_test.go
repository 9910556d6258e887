package layer_test

import (
	"slices"
	"testing"

	"quoin/vector/layer"
)

// Corners and footprints take the corners' elevations, roof parts those of their
// plane: the part of the small delivery is level to the east and rises by 0.36397 a
// metre to the north of (e + 5, n + 5), where it is at 38. Walls stay flat, and so
// does the set that was raised.
func TestRaised(t *testing.T) {
	flat := layer.Of(small())
	s := flat.Raised()
	want := map[string][]float64{
		"footprints": slices.Repeat([]float64{36.75}, 10),
		"corners":    {36.75},
		"sides":      {36.75, 36.75},
		"roof_parts": {36.1802, 36.1802, 39.8199, 39.8199, 36.1802, 37.636, 38.364, 38.364, 37.636, 37.636},
	}
	for name, z := range want {
		table, _ := s.Table(name)
		if got := table.Elevations(0); !slices.Equal(got, z) {
			t.Errorf("%s: got %v, want %v", name, got, z)
		}
	}
	walls, _ := s.Table("wall_outlines")
	before, _ := flat.Table("footprints")
	if withZ, placed := walls.Solid(); withZ != 0 || placed == 0 || before.Z != nil {
		t.Errorf("%d of %d walls are raised; the set itself %v", withZ, placed, before.Z != nil)
	}
}
