package ground

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"quoin/extract/cloud"
)

var update = flag.Bool("update", false, "rewrite the golden surface")

// TestGolden holds the surface of a house, a tree and a wall on a slope, in
// millimetres, so that no change of method passes unseen.
func TestGolden(t *testing.T) {
	w := &world{size: 30, canopy: 0.3, terrain: func(x, y float64) float64 { return 10 + 0.2*x + 1.4*step(y-24) }}
	w.pads = []pad{{12, 12, 10, 8, 0.4, 12.4, 0.7}}
	w.roofs = []roof{{x: 12, y: 12, w: 9, h: 7, turn: 0.4, eave: 15, pitch: 0.6}}
	w.trees = []ball{{24, 10, 3, 8}}
	b, o := scanned(w, 5, 1)
	o.Cell = 1
	s := estimate(t, b, cloud.Rect{MaxX: 30, MaxY: 30}, o)
	var out strings.Builder
	for i, z := range s.Z.Values {
		mark := " "
		if s.Interpolated.Values[i] {
			mark = "?"
		}
		fmt.Fprintf(&out, "%7.3f%s", z, mark)
		if i%s.Z.Cols == s.Z.Cols-1 {
			out.WriteByte('\n')
		}
	}
	file := filepath.Join("testdata", "house.golden")
	if *update {
		if err := os.WriteFile(file, []byte(out.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if out.String() != string(want) {
		t.Errorf("the surface has changed; -update rewrites %s, for a look at the difference", file)
	}
}
