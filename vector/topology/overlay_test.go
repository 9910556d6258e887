package topology_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkt"
	"github.com/peterstace/simplefeatures/geom"
	"pgregory.net/rapid"

	"quoin/vector/topology"
)

func polygon(t testing.TB, text string) orb.Polygon {
	t.Helper()
	p, err := wkt.UnmarshalPolygon(text)
	if err != nil {
		t.Fatalf("%v in %s", err, text)
	}
	return p
}

// moved returns the polygon at coordinates of millions, where rounding shows.
func moved(p orb.Polygon, by orb.Point) orb.Polygon {
	out := p.Clone()
	for _, ring := range out {
		for i := range ring {
			ring[i] = orb.Point{ring[i][0] + by[0], ring[i][1] + by[1]}
		}
	}
	return out
}

// The cases of OGC 06-103r4, 6.1.11.1 (assertions a to f, and the figures of
// polygons and of things that are none), from memory.
func TestValidate(t *testing.T) {
	for _, c := range []struct{ name, in, rule string }{
		{"triangle", "POLYGON((0 0,4 0,0 4,0 0))", ""},
		{"hole", "POLYGON((0 0,9 0,9 9,0 9,0 0),(2 2,2 4,4 4,4 2,2 2))", ""},
		{"hole touches the exterior at a point", "POLYGON((0 0,9 0,9 9,0 9,0 0),(0 4,4 6,4 2,0 4))", ""},
		{"holes touch at a point", "POLYGON((0 0,9 0,9 9,0 9,0 0),(1 1,1 4,4 4,4 1,1 1),(4 4,4 7,7 7,7 4,4 4))", ""},
		{"clockwise", "POLYGON((0 0,0 4,4 0,0 0))", ""},
		{"straight vertex", "POLYGON((0 0,2 0,4 0,4 4,0 0))", ""},
		{"bow tie", "POLYGON((0 0,4 4,4 0,0 4,0 0))", "not simple"},
		{"spike", "POLYGON((0 0,4 0,4 4,4 6,4 4,0 4,0 0))", "not simple"},
		{"touches itself", "POLYGON((0 0,2 2,4 0,4 4,2 2,0 4,0 0))", "not simple"},
		{"hole outside", "POLYGON((0 0,4 0,4 4,0 4,0 0),(5 5,5 6,6 6,5 5))", "outside of exterior"},
		{"hole shares an edge", "POLYGON((0 0,4 0,4 4,0 4,0 0),(0 0,0 2,2 2,2 0,0 0))", "multiple points"},
		{"hole crosses", "POLYGON((0 0,4 0,4 4,0 4,0 0),(3 1,3 2,5 2,5 1,3 1))", "multiple points"},
		{"nested holes", "POLYGON((0 0,9 0,9 9,0 9,0 0),(1 1,1 8,8 8,8 1,1 1),(3 3,3 4,4 4,3 3))", "nested"},
		{"interior cut in two", "POLYGON((0 0,4 0,4 4,0 4,0 0),(0 2,2 3,4 2,2 1,0 2))", "multiple points"},
		{"interior cut in two by holes", "POLYGON((0 0,8 0,8 8,0 8,0 0),(0 4,2 5,4 4,2 3,0 4),(4 4,6 5,8 4,6 3,4 4))", "disconnected"},
		{"open", "POLYGON((0 0,4 0,4 4,0 4))", "not closed"},
		{"two positions", "POLYGON((0 0,4 0,0 0))", "at least 4"},
		{"no area", "POLYGON((0 0,4 0,2 0,0 0))", "not simple"},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, by := range []orb.Point{{}, far} {
				err := topology.Validate(moved(polygon(t, c.in), by))
				if (err == nil) != (c.rule == "") || err != nil && !strings.Contains(err.Error(), c.rule) {
					t.Errorf("moved by %v: got %v, want %q", by, err, c.rule)
				}
			}
		})
	}
}

func TestViolationNamesThePlace(t *testing.T) {
	err := topology.Validate(moved(polygon(t, "POLYGON((0 0,4 4,4 0,0 4,0 0))"), far))
	var v *topology.Violation
	if !errors.As(err, &v) {
		t.Fatalf("got %v", err)
	}
	if d := math.Hypot(v.Where[0]-far[0]-2, v.Where[1]-far[1]-2); !(d < 3) {
		t.Errorf("place %v is not near the crossing", v.Where)
	}
	if !strings.Contains(err.Error(), "at 51234") {
		t.Errorf("message %q", err)
	}
}

func TestValidateOddInput(t *testing.T) {
	nan := math.NaN()
	for name, p := range map[string]orb.Polygon{
		"nil": nil, "no rings": {}, "empty ring": {{}}, "one position": {{{1, 1}}}, "NaN": {{{0, 0}, {1, nan}, {1, 1}, {0, 0}}},
		"infinite": {{{0, 0}, {math.Inf(1), 0}, {1, 1}, {0, 0}}}, "empty hole": {{{0, 0}, {1, 0}, {1, 1}, {0, 0}}, {}},
		"one place": {{{1, 1}, {1, 1}, {1, 1}, {1, 1}}},
	} {
		t.Run(name, func(t *testing.T) {
			var v *topology.Violation
			if err := topology.Validate(p); !errors.As(err, &v) {
				t.Errorf("got %v", err)
			}
		})
	}
}

func TestOverlay(t *testing.T) {
	a := polygon(t, "POLYGON((0 0,4 0,4 4,0 4,0 0))")
	for _, c := range []struct {
		name, b                                 string
		intersection, difference, union         float64
		intersections, differences, unionPieces int
	}{
		{"overlap", "POLYGON((2 2,6 2,6 6,2 6,2 2))", 4, 12, 28, 1, 1, 1},
		{"apart", "POLYGON((6 0,8 0,8 2,6 2,6 0))", 0, 16, 20, 0, 1, 2},
		{"share an edge", "POLYGON((4 0,8 0,8 4,4 4,4 0))", 0, 16, 32, 0, 1, 1},
		{"touch at a corner", "POLYGON((4 4,8 4,8 8,4 8,4 4))", 0, 16, 32, 0, 1, 2},
		{"inside", "POLYGON((1 1,2 1,2 2,1 2,1 1))", 1, 15, 16, 1, 1, 1},
		{"equal", "POLYGON((0 0,4 0,4 4,0 4,0 0))", 16, 0, 16, 1, 0, 1},
		{"across", "POLYGON((1 -1,2 -1,2 5,1 5,1 -1))", 4, 12, 18, 1, 2, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := polygon(t, c.b)
			for _, by := range []orb.Point{{}, far} {
				for _, op := range []struct {
					name   string
					do     func(a, b orb.Polygon) (orb.MultiPolygon, error)
					area   float64
					pieces int
				}{
					{"intersection", topology.Intersection, c.intersection, c.intersections},
					{"difference", topology.Difference, c.difference, c.differences},
					{"union", topology.Union, c.union, c.unionPieces},
				} {
					got, err := op.do(moved(a, by), moved(b, by))
					if err != nil {
						t.Fatal(err)
					}
					var area float64
					for _, p := range got {
						area += topology.Area(p)
						if err := topology.Validate(p); err != nil || !topology.Oriented(p) {
							t.Errorf("%s: %v of %v", op.name, err, p)
						}
					}
					if math.Abs(area-op.area) > 1e-9 || len(got) != op.pieces {
						t.Errorf("%s: %d pieces of %v, want %d of %v", op.name, len(got), area, op.pieces, op.area)
					}
				}
			}
		})
	}
}

// star draws a valid polygon: vertices at rising directions about a centre, at
// least 1 away from it, and perhaps a hole, at most 0.4 away.
func star(t *rapid.T, label string) orb.Polygon {
	n := rapid.IntRange(3, 12).Draw(t, label+" n")
	e, no := rapid.Float64Range(-5, 5).Draw(t, label+" e"), rapid.Float64Range(-5, 5).Draw(t, label+" n")
	var ring orb.Ring
	for i := range n {
		r := rapid.Float64Range(1, 8).Draw(t, label+" r")
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		ring = append(ring, orb.Point{far[0] + e + r*cos, far[1] + no + r*sin})
	}
	p := orb.Polygon{append(ring, ring[0])}
	if reach := rapid.Float64Range(-0.4, 0.4).Draw(t, label+" hole"); reach > 0.01 {
		var hole orb.Ring
		for i := range n {
			sin, cos := math.Sincos(-2 * math.Pi * float64(i) / float64(n))
			hole = append(hole, orb.Point{far[0] + e + reach*cos, far[1] + no + reach*sin})
		}
		p = append(p, append(hole, hole[0]))
	}
	return p
}

// Areas add up: |a∩b| + |a∪b| = |a| + |b| and |a∖b| + |a∩b| = |a|.
func TestOverlayAreasAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := star(t, "a"), star(t, "b")
		if rapid.Bool().Draw(t, "near coincidence") {
			b = moved(a, orb.Point{rapid.Float64Range(-1e-6, 1e-6).Draw(t, "de"), rapid.Float64Range(-1e-9, 1e-9).Draw(t, "dn")})
		}
		sum := func(do func(a, b orb.Polygon) (orb.MultiPolygon, error)) float64 {
			got, err := do(a, b)
			if err != nil {
				t.Fatal(err)
			}
			var area float64
			for _, p := range got {
				area += topology.Area(p)
				if err := topology.Validate(p); err != nil {
					t.Fatalf("%v: %v of %v and %v", err, p, a, b)
				}
			}
			return area
		}
		both, either, rest := sum(topology.Intersection), sum(topology.Union), sum(topology.Difference)
		areaA, areaB := topology.Area(a), topology.Area(b)
		// Vertices come out within half a diagonal of a grid of 2⁻²⁴ (64 ulp of
		// some million metres), so areas within that times the outlines' length.
		tolerance := 1e-9 + (perimeter(a)+perimeter(b))*math.Ldexp(math.Sqrt2, -24)
		if math.Abs(both+either-areaA-areaB) > tolerance {
			t.Fatalf("∩ %v + ∪ %v, a %v + b %v", both, either, areaA, areaB)
		}
		if math.Abs(rest+both-areaA) > tolerance {
			t.Fatalf("∖ %v + ∩ %v, a %v", rest, both, areaA)
		}
	})
}

func perimeter(p orb.Polygon) float64 {
	var sum float64
	for _, ring := range p {
		for i, q := range ring[1:] {
			sum += math.Hypot(q[0]-ring[i][0], q[1]-ring[i][1])
		}
	}
	return sum
}

// Set operations against those of simplefeatures, on outlines in general
// position, where it is sound.
func TestOverlayAgainstSimpleFeatures(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	random := func() orb.Polygon {
		n := 3 + r.IntN(12)
		e, no := r.Float64()*6, r.Float64()*6
		var ring orb.Ring
		for i := range n {
			sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.8*r.Float64()) / float64(n))
			reach := 1 + 7*r.Float64()
			ring = append(ring, orb.Point{far[0] + e + reach*cos, far[1] + no + reach*sin})
		}
		return orb.Polygon{append(ring, ring[0])}
	}
	for range 500 {
		a, b := random(), random()
		if topology.Validate(a) != nil || topology.Validate(b) != nil {
			continue
		}
		for _, op := range []struct {
			name   string
			ours   func(a, b orb.Polygon) (orb.MultiPolygon, error)
			theirs func(a, b geom.Geometry) (geom.Geometry, error)
		}{
			{"intersection", topology.Intersection, geom.Intersection},
			{"difference", topology.Difference, geom.Difference},
			{"union", topology.Union, geom.Union},
		} {
			got, err := op.ours(a, b)
			if err != nil {
				t.Fatal(err)
			}
			var area float64
			var holes int
			for _, p := range got {
				area += topology.Area(p)
				holes += len(p) - 1
				if err := topology.Validate(p); err != nil || !topology.Oriented(p) {
					t.Fatalf("%s: %v: %v", op.name, err, texts([]orb.Polygon{a, b, p}))
				}
			}
			want, err := op.theirs(simple(t, a), simple(t, b))
			if err != nil {
				t.Fatal(err)
			}
			pieces, theirHoles := 0, 0
			for _, g := range want.Dump() {
				if p, ok := g.AsPolygon(); ok && !p.IsEmpty() {
					pieces++
					theirHoles += p.NumInteriorRings()
				}
			}
			if math.Abs(area-want.Area()) > 1e-5 || len(got) != pieces || holes != theirHoles {
				t.Errorf("%s: %d pieces, %d holes, area %v; simplefeatures %d, %d, %v: %v", op.name, len(got), holes, area, pieces, theirHoles, want.Area(), texts([]orb.Polygon{a, b}))
			}
		}
	}
}

// simple returns the polygon for simplefeatures, near the origin.
func simple(t *testing.T, p orb.Polygon) geom.Geometry {
	t.Helper()
	g, err := geom.UnmarshalWKT(wkt.MarshalString(moved(p, orb.Point{-far[0], -far[1]})))
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// Two outlines that differ by a rounding have no difference.
func TestOverlayOfNearlyTheSame(t *testing.T) {
	a := moved(polygon(t, "POLYGON((0.1952900675 0.804709933,0.2877997838 0.812271603,0.7877997838 1.175542868,1.40583377 1.175542868,1.8516432921 0.851643292,2 1,1 2,0 1,0.1952900675 0.804709933))"), far)
	b := a.Clone()
	for i := range b[0] {
		b[0][i][0], b[0][i][1] = math.Nextafter(b[0][i][0], 0), math.Nextafter(b[0][i][1], 1e9)
	}
	if rest, err := topology.Difference(a, b); err != nil || len(rest) != 0 {
		t.Errorf("difference %v, %v", rest, err)
	}
	both, err := topology.Union(a, b)
	if err != nil || len(both) != 1 || math.Abs(topology.Area(both[0])-topology.Area(a)) > 1e-6 {
		t.Errorf("union %v, %v", both, err)
	}
}

func TestOverlayWithNothing(t *testing.T) {
	a := polygon(t, "POLYGON((0 0,4 0,4 4,0 4,0 0))")
	for name, c := range map[string]struct {
		do   func(a, b orb.Polygon) (orb.MultiPolygon, error)
		want int
	}{"intersection": {topology.Intersection, 0}, "difference": {topology.Difference, 1}, "union": {topology.Union, 1}} {
		if got, err := c.do(a, nil); err != nil || len(got) != c.want {
			t.Errorf("%s: got %v, %v", name, got, err)
		}
	}
	if got, err := topology.Difference(nil, a); err != nil || len(got) != 0 {
		t.Errorf("got %v, %v", got, err)
	}
	if _, err := topology.Union(a, orb.Polygon{{{math.NaN(), 0}, {1, 0}, {1, 1}, {0, 0}}}); err == nil {
		t.Error("NaN is taken")
	}
}

func TestOverlaps(t *testing.T) {
	in := []orb.Polygon{
		polygon(t, "POLYGON((0 0,4 0,4 4,0 4,0 0))"),
		polygon(t, "POLYGON((4 0,8 0,8 4,4 4,4 0))"), // shares an edge with 0
		polygon(t, "POLYGON((3 3,5 3,5 5,3 5,3 3))"), // over 0 and 1
		polygon(t, "POLYGON((20 0,29 0,29 9,20 9,20 0),(21 1,21 8,28 8,28 1,21 1))"),
		polygon(t, "POLYGON((22 2,27 2,27 7,22 7,22 2))"), // in the courtyard of 3
		nil,
	}
	want := []topology.Pair{{I: 0, J: 2, Area: 1}, {I: 1, J: 2, Area: 1}}
	for _, by := range []orb.Point{{}, far} {
		var there []orb.Polygon
		for _, p := range in {
			there = append(there, moved(p, by))
		}
		got, err := topology.Overlaps(there)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got, cmpopts.EquateApprox(0, 1e-9)); diff != "" {
			t.Errorf("(-want +got):\n%s", diff)
		}
	}
}

// A party wall at an odd angle whose two sides have other vertices: rounding
// puts them nanometres into each other, which is no overlap.
func TestTouchIsNoOverlap(t *testing.T) {
	a := moved(polygon(t, "POLYGON((0 0,7 3,4 10,-3 7,0 0))"), far)
	p, q := between(a[0][1], a[0][2], 0.3), between(a[0][1], a[0][2], 0.77)
	b := orb.Polygon{{p, {p[0] + 5, p[1] + 2}, {q[0] + 5, q[1] + 2}, q, p}}
	pairs, err := topology.Overlaps([]orb.Polygon{a, b})
	if err != nil || len(pairs) != 0 {
		t.Errorf("got %v, %v", pairs, err)
	}
}

func TestOrient(t *testing.T) {
	p := polygon(t, "POLYGON((0 0,0 9,9 9,9 0,0 0),(2 2,4 2,4 4,2 4,2 2))")
	got := topology.Orient(p)
	if topology.Oriented(p) || !topology.Oriented(got) {
		t.Errorf("got %v of %v", got, p)
	}
	if got[0][0] != p[0][0] || topology.Area(got) != 77 || topology.Area(p) != 77 {
		t.Errorf("got %v", got)
	}
	if topology.SignedArea(p[0]) != -81 || topology.SignedArea(orb.Ring{{1, 1}, {2, 2}}) != 0 {
		t.Error("signed areas are wrong")
	}
}
