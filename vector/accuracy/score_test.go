package accuracy

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// footprint returns an outline with all its corners stated as adjusted, with
// the standard error s in both directions, at elevation 5.
func footprint(id string, p orb.Polygon, s float64) vector.Footprint {
	f := vector.Footprint{ID: id, Polygon: p, GroundElevation: 1, EaveHeight: 3, RidgeHeight: 5, Quality: 0.9}
	for r, ring := range p {
		for v, at := range vertices(ring) {
			f.Corners = append(f.Corners, vector.Corner{BuildingID: id, Ring: r, Vertex: v, Point: at, Elevation: 5, SigmaE: s, SigmaN: s, Kind: vector.Adjusted})
		}
	}
	return f
}

func building(id string, p orb.Polygon) Building {
	return Building{ID: id, Polygon: p, Ground: 1.25, Eave: 4.5, Ridge: 5.5}
}

func shifted(p orb.Polygon, e, n float64) orb.Polygon {
	out := p.Clone()
	for _, ring := range out {
		for i := range ring {
			ring[i][0], ring[i][1] = ring[i][0]+e, ring[i][1]+n
		}
	}
	return out
}

func scored(t *testing.T, reference []Building, delivered []vector.Footprint) (Block, Summary) {
	t.Helper()
	b, err := Score(reference, delivered, Options{Spacing: 0.5})
	if err != nil {
		t.Fatal(err)
	}
	return b, Summarise([]Block{b})
}

// Four houses of 10×6 in a row, each delivered 4 cm east and 3 cm north: 5 cm
// off, which is the block's shift and nothing else.
func TestShiftOfABlock(t *testing.T) {
	var reference []Building
	var delivered []vector.Footprint
	for i := range 4 {
		p := rectangle(float64(20*i), 0, float64(20*i+10), 6)
		reference = append(reference, building(string(rune('a'+i)), p))
		delivered = append(delivered, footprint(string(rune('A'+i)), shifted(p, 0.04, 0.03), 0.05))
	}
	b, s := scored(t, reference, delivered)
	if !b.Shifted {
		t.Fatal("sixteen corners on four houses give no shift")
	}
	near(t, "shift east", b.Shift[0], 0.04, 1e-9)
	near(t, "shift north", b.Shift[1], 0.03, 1e-9)
	near(t, "RMSE", s.Corners.RMSE, 0.05, 1e-9)
	near(t, "RMSE in spacings", s.Corners.InSpacings, 0.1, 1e-9)
	near(t, "RMSE without the shift", s.Corners.Shifted, 0, 1e-9)
	near(t, "mean normalised square over 2", s.Corners.NEES, 0, 1e-9)
	// With the shift in, each corner's square is (0.05/0.05)² = 1 < 5.99.
	if got, want := s.Corners.CoverRaw, (Share{16, 16}); got != want {
		t.Errorf("%v in the ellipse with the shift, want %v", got, want)
	}
	// Outward offsets are +4, -4, +3, -3 cm.
	near(t, "bias", s.Offsets.Bias, 0, 1e-9)
	near(t, "RMS", s.Offsets.RMS, math.Sqrt((0.04*0.04+0.03*0.03)/2), 1e-9)
	near(t, "RMS without the shift", s.Offsets.Shifted, 0, 1e-9)
	near(t, "ground", s.Ground.Bias, -0.25, 1e-12)
	near(t, "eave", s.Eave.Bias, -0.5, 1e-12)
	near(t, "ridge", s.Ridge.RMS, 0.5, 1e-12)
	if s.Exact != (Share{4, 4}) || s.CornerCompleteness != (Share{16, 16}) {
		t.Errorf("exact %v, corners %v", s.Exact, s.CornerCompleteness)
	}
}

// A house grown by 10 cm a side: every side 10 cm outward, every corner
// 10√2 cm off; one house does not tell a shift.
func TestGrownHouse(t *testing.T) {
	b, s := scored(t, []Building{building("a", rectangle(0, 0, 10, 6))},
		[]vector.Footprint{footprint("A", rectangle(-0.1, -0.1, 10.1, 6.1), 0.1)})
	if b.Shifted {
		t.Error("one house tells a shift")
	}
	near(t, "bias", s.Offsets.Bias, 0.1, 1e-9)
	near(t, "RMSE", s.Corners.RMSE, 0.1*math.Sqrt2, 1e-9)
	if !b.Pairs[0].Right {
		t.Error("not right, though IoU is above 0.9 and corners within three sigma")
	}
	near(t, "area correctness", s.AreaCorrectness, 60/(10.2*6.2), 1e-9)
	near(t, "area completeness", s.AreaCompleteness, 1, 1e-9)
}

// A side of 10 m turned by moving one end 10 cm: atan(0.1/10).
func TestTurn(t *testing.T) {
	moved := orb.Polygon{{{0, 0}, {10, 0.1}, {10, 6}, {0, 6}, {0, 0}}}
	b, _ := scored(t, []Building{building("a", rectangle(0, 0, 10, 6))}, []vector.Footprint{footprint("A", moved, 0.1)})
	near(t, "turn", b.Pairs[0].Sides[0].Turn, math.Atan(0.01)*180/math.Pi, 1e-9)
	near(t, "offset", b.Pairs[0].Sides[0].Offset, -0.05, 1e-3)
}

// A jog that is missed costs two corners; a jog too many gives two extra ones.
func TestCornersMissedAndExtra(t *testing.T) {
	jog := orb.Polygon{{{0, 0}, {10, 0}, {10, 3}, {13, 3}, {13, 6}, {0, 6}, {0, 0}}}
	plain := rectangle(0, 0, 13, 6)
	b, s := scored(t, []Building{building("a", jog)}, []vector.Footprint{footprint("A", plain, 0.1)})
	// (10,0), (10,3) and (13,3) have no partner within 1.5 m, (13,0) is extra.
	if p := b.Pairs[0]; len(p.Missing) != 3 || len(p.Extra) != 1 || len(p.Corners) != 3 || p.Exact || p.Right {
		t.Errorf("missing %v, extra %v, %d matched, exact %v, right %v", p.Missing, p.Extra, len(p.Corners), p.Exact, p.Right)
	}
	if s.CornerCompleteness != (Share{3, 6}) || s.CornerCorrectness != (Share{3, 4}) {
		t.Errorf("completeness %v, correctness %v", s.CornerCompleteness, s.CornerCorrectness)
	}
}

// A node where a neighbour's wall ends is no corner.
func TestStraightNode(t *testing.T) {
	node := orb.Polygon{{{0, 0}, {4, 0}, {10, 0}, {10, 6}, {0, 6}, {0, 0}}}
	b, _ := scored(t, []Building{building("a", rectangle(0, 0, 10, 6))}, []vector.Footprint{footprint("A", node, 0.1)})
	if !b.Pairs[0].Exact || len(b.Pairs[0].Corners) != 4 {
		t.Errorf("exact %v, %d corners", b.Pairs[0].Exact, len(b.Pairs[0].Corners))
	}
}

// A half-round apse counts with neither its own vertices nor the delivered
// ones along it; the two square corners remain.
func TestRoundPart(t *testing.T) {
	apse := func(n int) orb.Polygon {
		ring := orb.Ring{{0, 0}, {10, 0}}
		for i := range n + 1 {
			sin, cos := math.Sincos(math.Pi * float64(i) / float64(n))
			ring = append(ring, orb.Point{5 + 5*cos, 6 + 5*sin})
		}
		return orb.Polygon{append(ring, ring[0])}
	}
	reference := building("a", apse(32))
	reference.Arcs = []Arc{{orb.Point{5, 6}, 5}}
	b, s := scored(t, []Building{reference}, []vector.Footprint{footprint("A", apse(7), 0.1)})
	p := b.Pairs[0]
	if len(p.Corners) != 2 || len(p.Missing) != 0 || len(p.Extra) != 0 || !p.Exact {
		t.Errorf("%d matched, missing %v, extra %v", len(p.Corners), p.Missing, p.Extra)
	}
	if s.Offsets.N != 3 {
		t.Errorf("%d straight sides, want 3", s.Offsets.N)
	}
}

// Detection by Rutzinger's rule: covered by half or more is found. Three true
// houses, of which one is found, one half covered, one missed; and a false one.
func TestDetection(t *testing.T) {
	reference := []Building{
		building("a", rectangle(0, 0, 10, 6)), building("b", rectangle(20, 0, 30, 6)), building("c", rectangle(40, 0, 43, 3)),
	}
	delivered := []vector.Footprint{
		footprint("A", rectangle(0, 0, 10, 6), 0.1), footprint("B", rectangle(20, 0, 25.5, 6), 0.1), footprint("D", rectangle(60, 0, 64, 4), 0.1),
	}
	b, s := scored(t, reference, delivered)
	for i, want := range []struct{ completeness, correctness Share }{
		{Share{0, 1}, Share{0, 0}}, {Share{0, 0}, Share{1, 2}}, {Share{2, 2}, Share{1, 1}}, {Share{2, 3}, Share{2, 3}},
	} {
		if d := s.Classes[i]; d.Completeness != want.completeness || d.Correctness != want.correctness {
			t.Errorf("%s: completeness %v, correctness %v", d.Class.Name, d.Completeness, d.Correctness)
		}
	}
	near(t, "area completeness", s.AreaCompleteness, 93.0/129, 1e-9)
	near(t, "area correctness", s.AreaCorrectness, 93.0/109, 1e-9)
	near(t, "area quality", s.AreaQuality, 93.0/(129+16), 1e-9)
	if missed, wrong := b.Missed(), b.False(); len(missed) != 1 || missed[0].ID != "c" || len(wrong) != 1 || wrong[0].ID != "D" {
		t.Errorf("missed %v, false %v", missed, wrong)
	}
}

// What is ignored counts nowhere, nor does what was delivered there.
func TestIgnored(t *testing.T) {
	cut := building("a", rectangle(0, 0, 10, 6))
	cut.Ignored = true
	b, s := scored(t, []Building{cut}, []vector.Footprint{footprint("A", rectangle(2, 0, 10, 6), 0.1)})
	if len(b.Reference) != 0 || len(b.Delivered) != 0 || len(b.Pairs) != 0 || s.CornerCompleteness.N != 0 {
		t.Errorf("%+v", b)
	}
}

// Two houses that share a wall of 6 m: delivered with the same wall to the bit,
// with a gap of 8 cm, and as one.
func TestPartyWalls(t *testing.T) {
	a, c := building("a", rectangle(0, 0, 10, 6)), building("c", rectangle(10, 0, 18, 6))
	a.Neighbours, c.Neighbours = []string{"c"}, []string{"a"}
	for _, test := range []struct {
		name      string
		delivered []vector.Footprint
		split     bool
		gap       float64
		shared    bool
	}{
		{"shared", []vector.Footprint{footprint("A", rectangle(0, 0, 9.9, 6), 0.1), footprint("C", rectangle(9.9, 0, 18, 6), 0.1)}, true, 0, true},
		{"gap", []vector.Footprint{footprint("A", rectangle(0, 0, 9.95, 6), 0.1), footprint("C", rectangle(10.03, 0, 18, 6), 0.1)}, true, 0.08, false},
		{"one", []vector.Footprint{footprint("A", rectangle(0, 0, 18, 6), 0.1)}, false, math.NaN(), false},
	} {
		t.Run(test.name, func(t *testing.T) {
			b, _ := scored(t, []Building{a, c}, test.delivered)
			if len(b.PartyWalls) != 1 {
				t.Fatalf("%d walls, want 1", len(b.PartyWalls))
			}
			// As one, the larger half still makes a pair: its IoU is 10/18.
			w := b.PartyWalls[0]
			near(t, "length", w.Length, 6, 1e-9)
			if !w.Found || w.Split != test.split || w.Shared != test.shared {
				t.Errorf("%+v", w)
			}
			if test.split {
				near(t, "gap", w.Gap, test.gap, 1e-9)
			}
		})
	}
}

// A hall in two footprints is divided; two houses in one are merged.
func TestMergedAndDivided(t *testing.T) {
	b, _ := scored(t, []Building{
		building("hall", rectangle(0, 0, 30, 20)), building("a", rectangle(50, 0, 60, 6)), building("b", rectangle(60, 0, 69, 6)),
	}, []vector.Footprint{
		footprint("H", rectangle(0, 0, 20, 20), 0.1), footprint("I", rectangle(20, 0, 30, 20), 0.1), footprint("AB", rectangle(50, 0, 69, 6), 0.1),
	})
	if want := (Share{1, 2}); b.Merged != want {
		t.Errorf("merged %d of %d, want 1 of 2", b.Merged.Count, b.Merged.N)
	}
	// Of their common footprint a has more than half, b less.
	if want := (Share{1, 2}); b.Divided != want {
		t.Errorf("divided %d of %d, want 1 of 2", b.Divided.Count, b.Divided.N)
	}
}

// Outlines that are no polygon are counted and score nothing.
func TestInvalidAndOverlapping(t *testing.T) {
	bow := orb.Polygon{{{0, 0}, {10, 6}, {10, 0}, {0, 6}, {0, 0}}}
	b, _ := scored(t, []Building{building("a", rectangle(0, 0, 10, 6))}, []vector.Footprint{
		footprint("A", bow, 0.1), footprint("B", rectangle(20, 0, 30, 6), 0.1), footprint("C", rectangle(29, 0, 39, 6), 0.1),
	})
	if b.Invalid != 1 || b.Overlaps != 1 || len(b.Pairs) != 0 || len(b.Delivered) != 2 {
		t.Errorf("%+v", b)
	}
	near(t, "overlap", b.OverlapArea, 6, 1e-9)
}

// The reference must be valid.
func TestInvalidReference(t *testing.T) {
	if _, err := Score([]Building{building("a", orb.Polygon{{{0, 0}, {10, 6}, {10, 0}, {0, 6}, {0, 0}}})}, nil, Options{Spacing: 1}); err == nil {
		t.Error("a bow tie is no building")
	}
}

// Corners at a side that is not seen count apart, and the median does not
// follow one that is far off.
func TestSeenAndHidden(t *testing.T) {
	var reference []Building
	var delivered []vector.Footprint
	for i := range 4 {
		x := float64(20 * i)
		b := building(string(rune('a'+i)), rectangle(x, 0, x+10, 6))
		// The first side is hidden by half: two corners.
		b.Visible = [][]float64{{0.5, 1, 1, 1}}
		reference = append(reference, b)
		p := rectangle(x, 0, x+10, 6)
		if i == 0 {
			p[0][2] = orb.Point{x + 10, 6.4}
		}
		delivered = append(delivered, footprint(string(rune('A'+i)), p, 0.1))
	}
	b, s := scored(t, reference, delivered)
	if s.Seen.N != 8 || s.Hidden.N != 8 {
		t.Errorf("%d seen, %d hidden, want 8 and 8", s.Seen.N, s.Hidden.N)
	}
	near(t, "RMSE of those seen", s.Seen.RMSE, 0.4/math.Sqrt(8), 1e-9)
	near(t, "RMSE of those hidden", s.Hidden.RMSE, 0, 1e-9)
	near(t, "median", s.Seen.MedianInSpacings, 0, 1e-9)
	// 40 cm is not beyond two spacings of half a metre.
	if s.Seen.Gross.Count != 0 {
		t.Errorf("%d gross corners, want none", s.Seen.Gross.Count)
	}
	near(t, "turn at a corner", b.Pairs[0].Corners[0].Bend, 90, 1e-9)
}

// A corner 1.1 m off at a spacing of 0.5 m is gross; whether the outline says
// that it needs a look is counted apart.
func TestGrossCorners(t *testing.T) {
	off := orb.Polygon{{{0, 0}, {31.1, 0}, {30, 20}, {0, 20}, {0, 0}}}
	flagged := footprint("A", off, 0.1)
	flagged.Review = []vector.Reason{vector.ReviewOccluded}
	reference := []Building{building("a", rectangle(0, 0, 30, 20))}
	if _, s := scored(t, reference, []vector.Footprint{flagged}); s.Corners.Gross != (Share{1, 4}) || s.GrossUnflagged.N != 0 {
		t.Errorf("flagged: %v and %v", s.Corners.Gross, s.GrossUnflagged)
	}
	if _, s := scored(t, reference, []vector.Footprint{footprint("A", off, 0.1)}); s.GrossUnflagged != (Share{1, 4}) {
		t.Errorf("not flagged: %v", s.GrossUnflagged)
	}
}

// A corner that turns by 20 degrees is blunt, by 70 it is not.
func TestBluntCorners(t *testing.T) {
	sin, cos := math.Sincos(20 * math.Pi / 180)
	p := orb.Polygon{{{0, 0}, {10, 0}, {10 + 10*cos, 10 * sin}, {10 + 10*cos, 12}, {0, 12}, {0, 0}}}
	_, s := scored(t, []Building{building("a", p)}, []vector.Footprint{footprint("A", p, 0.1)})
	if s.Blunt.N != 1 || s.Seen.N != 4 {
		t.Errorf("%d blunt and %d other corners, want 1 and 4", s.Blunt.N, s.Seen.N)
	}
}
