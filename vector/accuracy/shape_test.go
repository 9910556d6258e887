package accuracy

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
)

// rectangle returns a rectangle, counter-clockwise.
func rectangle(x0, y0, x1, y1 float64) orb.Polygon {
	return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %.9f, want %.9f", what, got, want)
	}
}

// The values are derived from the definitions: PoLiS of Avbelj, Müller and
// Bamler 2015, the Hausdorff distance of the boundaries, and intersection over
// union, of a unit square and one shifted by t or grown by d a side.
func TestMeasuresOfUnitSquares(t *testing.T) {
	unit := rectangle(0, 0, 1, 1)
	const s, d = 0.05, 0.03
	root := math.Sqrt2
	for _, c := range []struct {
		name                  string
		other                 orb.Polygon
		polis, hausdorff, iou float64
	}{
		{"itself", unit, 0, 0, 1},
		{"shifted along a side", rectangle(s, 0, 1+s, 1), s / 2, s, (1 - s) / (1 + s)},
		{"shifted along the diagonal", rectangle(s, s, 1+s, 1+s), s * (3 + root) / 4, root * s, (1 - s) * (1 - s) / (2 - (1-s)*(1-s))},
		{"grown", rectangle(-d, -d, 1+d, 1+d), (d + root*d) / 2, root * d, 1 / ((1 + 2*d) * (1 + 2*d))},
	} {
		t.Run(c.name, func(t *testing.T) {
			near(t, "PoLiS", PoLiS(unit, c.other), c.polis, 1e-12)
			near(t, "Hausdorff", Hausdorff(unit, c.other), c.hausdorff, 2e-6)
			iou, err := IoU(unit, c.other)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "IoU", iou, c.iou, 1e-9)
		})
	}
}

// At coordinates of millions nothing changes.
func TestMeasuresFarFromTheOrigin(t *testing.T) {
	const e, n = 3.5e6, 5.8e6
	a, b := rectangle(e, n, e+10, n+10), rectangle(e+0.5, n, e+10.5, n+10)
	near(t, "PoLiS", PoLiS(a, b), 0.25, 1e-9)
	near(t, "Hausdorff", Hausdorff(a, b), 0.5, 2e-6)
	edge, err := BoundaryIoU(a, b, 1)
	if err != nil {
		t.Fatal(err)
	}
	// Bands of 36 m²: 10×10 less 8×8. Common: the two horizontal strips over
	// 9.5 m, 19, and of the vertical ones, 8 high, half a metre each, 8.
	near(t, "boundary IoU", edge, 27/(72-27.0), 1e-6)
}

// The place farthest from the other boundary need not be a vertex: of these two
// lines the vertices give 22.36068 and all places about 47.8 (the
// counter-example in the public documentation of a geometry library). By hand:
// on the slanted line, at t, the distances 100-90t and 100t-10 are the same at
// t = 11/19, and are 910/19.
func TestFarthestIsNoVertex(t *testing.T) {
	line := func(p ...orb.Point) []segment {
		var all []segment
		for i := 1; i < len(p); i++ {
			all = append(all, segment{p[i-1], p[i]})
		}
		return all
	}
	a := line(orb.Point{0, 0}, orb.Point{100, 0}, orb.Point{10, 100}, orb.Point{10, 100})
	b := line(orb.Point{0, 100}, orb.Point{0, 10}, orb.Point{80, 10})
	near(t, "Hausdorff", max(farthest(a, b), farthest(b, a)), 910.0/19, 2e-6)
}

// A courtyard is boundary too: one of 2×2 that is 4×4 instead is off by the
// diagonal of one metre at its corners.
func TestHausdorffOfCourtyards(t *testing.T) {
	hole := func(x0, y0, x1, y1 float64) orb.Ring {
		return orb.Ring{{x0, y0}, {x0, y1}, {x1, y1}, {x1, y0}, {x0, y0}}
	}
	a, b := rectangle(0, 0, 10, 10), rectangle(0, 0, 10, 10)
	a, b = append(a, hole(4, 4, 6, 6)), append(b, hole(3, 3, 7, 7))
	near(t, "Hausdorff", Hausdorff(a, b), math.Sqrt2, 2e-6)
	near(t, "PoLiS", PoLiS(a, b), (math.Sqrt2+1)*4/16, 1e-12)
	iou, err := IoU(a, b)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "IoU", iou, 84.0/96, 1e-9)
}

// Erosion leaves nothing of what is narrower than two bands, so that the band
// is all of it and boundary IoU is IoU.
func TestBoundaryIoUOfANarrowPolygon(t *testing.T) {
	a, b := rectangle(0, 0, 10, 0.8), rectangle(1, 0, 11, 0.8)
	edge, err := BoundaryIoU(a, b, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "boundary IoU", edge, 9.0/11, 1e-9)
}
