package wkb_test

import (
	"encoding/binary"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	orbwkb "github.com/paulmach/orb/encoding/wkb"
	"pgregory.net/rapid"

	"quoin/vector/wkb"
)

func shapes() []orb.Geometry {
	ring := orb.Ring{{0, 0}, {4, 0}, {4, 4}, {0, 0}}
	return []orb.Geometry{orb.Point{1.5, -2}, orb.LineString{{0, 1}, {2, 3}}, orb.Polygon{ring, {{1, 1}, {2, 1}, {2, 2}, {1, 1}}}}
}

// Flat geometries are written as the library orb writes them, and are as long as
// Size says.
func TestFlatAgreesWithOrb(t *testing.T) {
	for _, g := range shapes() {
		want, err := orbwkb.Marshal(g, binary.LittleEndian)
		if err != nil {
			t.Fatal(err)
		}
		got, err := wkb.Append(nil, g, nil)
		if err != nil || !slices.Equal(got, want) || len(got) != wkb.Size(g, nil) {
			t.Errorf("%v: got %x, want %x, %v", g, got, want, err)
		}
	}
}

// A point with an elevation by ISO 13249-3: type 1001, three ordinates.
func TestPointZ(t *testing.T) {
	got, err := wkb.Append(nil, orb.Point{1, 2}, []float64{3})
	want := []byte{1, 0xE9, 3, 0, 0, 0, 0, 0, 0, 0, 0, 0xF0, 0x3F, 0, 0, 0, 0, 0, 0, 0, 0x40, 0, 0, 0, 0, 0, 0, 8, 0x40}
	if err != nil || !slices.Equal(got, want) {
		t.Errorf("got %x, %v", got, err)
	}
}

// What is written with elevations is read with them.
func TestRoundTripWithZ(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.Float64Range(-1e7, 1e7)
		point := rapid.Custom(func(t *rapid.T) orb.Point { return orb.Point{number.Draw(t, "x"), number.Draw(t, "y")} })
		var p orb.Polygon
		var z []float64
		for range rapid.IntRange(1, 3).Draw(t, "rings") {
			ring := orb.Ring(rapid.SliceOfN(point, 4, 9).Draw(t, "ring"))
			p = append(p, ring)
			for range ring {
				z = append(z, number.Draw(t, "z"))
			}
		}
		b, err := wkb.Append(nil, p, z)
		if err != nil || len(b) != wkb.Size(p, z) {
			t.Fatalf("%d bytes, want %d, %v", len(b), wkb.Size(p, z), err)
		}
		g, up, err := wkb.Decode(b)
		if err != nil || !orb.Equal(g, p) || !slices.Equal(up, z) {
			t.Fatalf("got %v %v, %v", g, up, err)
		}
	})
}

func TestAppendRefuses(t *testing.T) {
	if _, err := wkb.Append(nil, orb.LineString{{0, 0}, {1, 1}}, []float64{1}); err == nil {
		t.Error("two positions with one elevation are taken")
	}
	if _, err := wkb.Append(nil, orb.MultiPoint{{0, 0}}, nil); err == nil {
		t.Error("several points are taken")
	}
}

// FuzzDecode holds that no bytes make the reader panic or ask for much memory, and
// that what it takes has an elevation for each position or for none.
func FuzzDecode(f *testing.F) {
	for _, g := range shapes() {
		b, err := wkb.Append(nil, g, nil)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Add([]byte{1, 0xEB, 3, 0, 0, 0xFF, 0xFF, 0xFF, 0xFF})
	f.Fuzz(func(t *testing.T, b []byte) {
		g, _, err := wkb.Decode(b)
		if err == nil && g == nil {
			t.Error("neither geometry nor error")
		}
	})
}
