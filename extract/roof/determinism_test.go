package roof

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"quoin/extract/cloud"
)

// mixed is a world with something of everything.
func mixed() *world {
	return &world{size: 50, solids: []solid{
		{-8, -6, 9, 13, 0.4, gable(4, 0.7, 9), 0},
		{10, 8, 8, 10, 1, flat(4), 1},
		{10, -14, 2.5, 8, 0.3, flat(3.5), -1},
		{-14, 14, 3, 12, 0.3, bumpy(2.2, 0.08), -1},
	}, crowns: []crown{{-2, -2, 6, 3, 3, 1.5}, {2, 14, 5, 2.5, 3, 2}}}
}

// moved returns the survey with its points in another order, moved by whole
// steps.
func (s *survey) moved(dx, dy float64, r *rand.Rand) *survey {
	points := slices.Clone(s.block.Points)
	for i := range points {
		points[i].X += steps(dx)
		points[i].Y += steps(dy)
	}
	r.Shuffle(len(points), func(i, j int) { points[i], points[j] = points[j], points[i] })
	t := &survey{measures: s.measures}
	t.block, _ = cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, points)
	t.hag = make([]float32, t.block.Len())
	for i := range t.hag {
		t.hag[i] = float32(t.block.Points[i].Up()) // the ground is level
	}
	return t
}

func TestSameForAnyOrderOfPoints(t *testing.T) {
	s := mixed().survey(scan{density: 10, noise: 0.02, seed: 4})
	a := s.moved(0, 0, rand.New(rand.NewPCG(1, 1))).segment(DefaultOptions())
	b := s.moved(0, 0, rand.New(rand.NewPCG(2, 2))).segment(DefaultOptions())
	if diff := cmp.Diff(a.buildings, b.buildings, cmp.AllowUnexported(Building{}, stack{}, box{})); diff != "" {
		t.Errorf("another order of points gives other buildings: %s", diff)
	}
	if diff := cmp.Diff(a.held, b.held); diff != "" {
		t.Errorf("another order of points holds back other things: %s", diff)
	}
	if !slices.Equal(a.kinds, b.kinds) || !slices.Equal(a.features, b.features) {
		t.Error("another order of points gives other kinds")
	}
}

// TestSameAcrossUnits moves a world from the middle of a unit to where four
// meet.
func TestSameAcrossUnits(t *testing.T) {
	s := mixed().survey(scan{density: 10, noise: 0.02, seed: 4})
	r := rand.New(rand.NewPCG(1, 1))
	inside, across := s.moved(128, 128, r), s.moved(256, 512, r)
	if len(inside.block.Units()) != 1 || len(across.block.Units()) != 4 {
		t.Fatalf("%d and %d units, want 1 and 4", len(inside.block.Units()), len(across.block.Units()))
	}
	a, b := inside.segment(DefaultOptions()), across.segment(DefaultOptions())
	if len(a.buildings) != 2 || len(b.buildings) != 2 || len(a.held) != len(b.held) {
		t.Fatalf("%d and %d buildings, want 2; %d and %d held back", len(a.buildings), len(b.buildings), len(a.held), len(b.held))
	}
	for i := range a.buildings {
		p, q := inside.places(a.buildings[i].Roof, 128, 128), across.places(b.buildings[i].Roof, 256, 512)
		if !slices.Equal(p, q) {
			t.Errorf("building %d: %d and %d roof returns, want the same", i, len(p), len(q))
		}
		if x, y := a.buildings[i].First, b.buildings[i].First; x.Row-128 != y.Row-512 || x.Col-128 != y.Col-256 {
			t.Errorf("first square metre %v and %v, want the same place", x, y)
		}
	}
}

// places returns where points lie, in steps, moved back and sorted.
func (s *survey) places(ids []int32, dx, dy float64) [][3]int32 {
	list := make([][3]int32, len(ids))
	for i, id := range ids {
		p := s.block.Points[id]
		list[i] = [3]int32{p.X - steps(dx), p.Y - steps(dy), p.Z}
	}
	slices.SortFunc(list, func(a, b [3]int32) int { return slices.Compare(a[:], b[:]) })
	return list
}

// TestDescribeLooksNoFurtherThanItSays describes a core alone and as part of
// the whole.
func TestDescribeLooksNoFurtherThanItSays(t *testing.T) {
	s := mixed().survey(scan{density: 10, noise: 0.02, seed: 4})
	whole := make([]Feature, s.block.Len())
	Describe(s.block, s.hag, s.block.Bounds(), s.measures, whole)
	rapid.Check(t, func(t *rapid.T) {
		x, y := rapid.Float64Range(-20, 10).Draw(t, "x"), rapid.Float64Range(-20, 10).Draw(t, "y")
		core := cloud.Rect{MinX: x, MinY: y, MaxX: x + rapid.Float64Range(0, 20).Draw(t, "w"), MaxY: y + 7}
		reach := core.Pad(0.01 + wider*max(0.6, 2*s.measures.Spacing))
		var points []cloud.Point
		for i := range s.block.In(reach) {
			points = append(points, s.block.Points[i])
		}
		part := &survey{}
		part.block, _ = cloud.NewBlock(s.block.Frame, points)
		hag := make([]float32, part.block.Len())
		for i := range hag {
			hag[i] = float32(part.block.Points[i].Up())
		}
		alone := make([]Feature, part.block.Len())
		Describe(part.block, hag, core, s.measures, alone)
		var want, got []Feature
		for i := range s.block.In(core) {
			want = append(want, whole[i])
		}
		for i := range part.block.In(core) {
			got = append(got, alone[i])
		}
		if !slices.Equal(got, want) {
			t.Fatalf("features of a core depend on points far from it")
		}
	})
}

// TestGatherEqualsASearchOfAll compares clusters with a flood over all pairs
// of cells, and checks that they stand apart.
func TestGatherEqualsASearchOfAll(t *testing.T) {
	m := cloud.Measures{Spacing: 0.2}
	rapid.Check(t, func(t *rapid.T) {
		g := cloud.Grid{Cell: 0.5, Row0: -5, Col0: -7, Rows: 24, Cols: 30}
		taken := make([]bool, g.Len())
		for range rapid.IntRange(0, 90).Draw(t, "n") {
			taken[rapid.IntRange(0, g.Len()-1).Draw(t, "cell")] = true
		}
		u := newUnion(g.Len())
		for a := range taken {
			for b := range a {
				dr, dc := a/g.Cols-b/g.Cols, a%g.Cols-b%g.Cols
				if taken[a] && taken[b] && max(dr, -dr) <= reach && max(dc, -dc) <= reach {
					u.join(int32(a), int32(b))
				}
			}
		}
		list := runs(g, func(c int) bool { return taken[c] })
		r := rand.New(rand.NewPCG(1, 1))
		r.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
		of := make(map[int32]int)
		cells := 0
		for k, c := range Gather(list, m) {
			for _, run := range c.Runs {
				for col := run.Lo; col < run.Hi; col++ {
					i := int(run.Row-int32(g.Row0))*g.Cols + int(col) - g.Col0
					root := u.root(int32(i))
					if other, ok := of[root]; ok && other != k {
						t.Fatalf("cell %d is in clusters %d and %d", i, k, other)
					}
					of[root] = k
					cells++
				}
			}
			if first := c.First(); first != (Cell{c.Runs[0].Row, c.Runs[0].Lo}) || c.Bounds.Empty() {
				t.Fatalf("first cell %v, bounds %v", first, c.Bounds)
			}
		}
		want := 0
		for _, b := range taken {
			if b {
				want++
			}
		}
		seen := make(map[int]bool)
		for _, k := range of {
			if seen[k] {
				t.Fatalf("cluster %d holds two sets", k)
			}
			seen[k] = true
		}
		if cells != want {
			t.Fatalf("%d cells in clusters, want %d", cells, want)
		}
	})
}

func TestDegenerateInput(t *testing.T) {
	at := func(x, y, z float64) cloud.Point { return cloud.Pack(x, y, z, cloud.Attributes{}) }
	var line, stack, sheet []cloud.Point
	for i := range 400 {
		f := float64(i)
		line = append(line, at(f*0.1, 0, 5))
		stack = append(stack, at(0, 0, 1+f*0.02))
		sheet = append(sheet, at(math.Mod(f, 20)*0.5, math.Floor(f/20)*0.5, 4))
	}
	for name, points := range map[string][]cloud.Point{
		"none": nil, "one": {at(1, 1, 5)}, "two": {at(1, 1, 5), at(1, 2, 5)},
		"a line": line, "a stack": stack, "a sheet": sheet,
	} {
		for _, m := range []cloud.Measures{
			{Density: 4, Spacing: 0.5, SigmaZ: 0.02, Sigma: 0.02}, {}, {Spacing: math.Inf(1), SigmaZ: math.Inf(1)}, {Spacing: 1e-9},
		} {
			b, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, slices.Clone(points))
			s := &survey{block: b, hag: make([]float32, b.Len()), measures: m}
			for i := range s.hag {
				s.hag[i] = float32(b.Points[i].Up())
			}
			r := s.segment(DefaultOptions())
			if name != "a sheet" && len(r.buildings) > 0 {
				t.Errorf("%s gives %d buildings, want none", name, len(r.buildings))
			}
			for i := range s.hag {
				s.hag[i] = float32(math.NaN())
			}
			if r := s.segment(DefaultOptions()); len(r.buildings)+len(r.held) > 0 {
				t.Errorf("%s at unknown heights gives %d buildings, %d held back", name, len(r.buildings), len(r.held))
			}
		}
	}
}
