package gpkg

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"
	"pgregory.net/rapid"

	ownwkb "quoin/vector/wkb"
)

var square = orb.Polygon{{{0, 0}, {10, 0}, {10, 10}, {0, 10}, {0, 0}}}

// OGC 12-128r17, section 2.1.3: a header of 8 bytes, an XY envelope of 32, and
// 93 bytes of well-known binary for a polygon of 5 positions (1 + 4 + 4 + 4 +
// 5·16); a point of 21 bytes has no envelope.
func TestBlobSizesAndFlags(t *testing.T) {
	for _, c := range []struct {
		name  string
		g     orb.Geometry
		size  int
		flags byte
	}{
		{"polygon", square, 133, 0x03},
		{"point", orb.Point{1, 2}, 29, 0x01},
	} {
		b, err := encode(c.g, nil, 25832)
		if err != nil {
			t.Fatal(err)
		}
		if len(b) != c.size || cap(b) != c.size || b[3] != c.flags || string(b[:3]) != "GP\x00" {
			t.Errorf("%s: %d bytes of %d, header % x", c.name, len(b), cap(b), b[:8])
		}
		if got := int32(binary.LittleEndian.Uint32(b[4:])); got != 25832 {
			t.Errorf("%s: srs_id %d", c.name, got)
		}
	}
}

func TestEnvelopeOrder(t *testing.T) {
	b, err := encode(orb.Polygon{{{1, 3}, {2, 3}, {2, 4}, {1, 3}}}, nil, -1)
	if err != nil {
		t.Fatal(err)
	}
	var got [4]float64
	for i := range got {
		got[i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8+8*i:]))
	}
	// [minx, maxx, miny, maxy]
	if want := [4]float64{1, 2, 3, 4}; got != want {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestEncodeRefusesWhatIsInNoLayer(t *testing.T) {
	if b, err := encode(nil, nil, 0); b != nil || err != nil {
		t.Errorf("nil gives %v, %v", b, err)
	}
	if _, err := encode(orb.MultiPoint{{0, 0}}, nil, 0); err == nil {
		t.Error("several points are taken")
	}
}

// Well-known binary against another library's.
func TestWKBAgainstOrb(t *testing.T) {
	for _, g := range []orb.Geometry{orb.Point{1.5, -2}, square, orb.Polygon{square[0], {{1, 1}, {1, 2}, {2, 2}, {1, 1}}}} {
		want, err := wkb.Marshal(g, binary.LittleEndian)
		if err != nil {
			t.Fatal(err)
		}
		b, err := encode(g, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		if got := b[len(b)-len(want):]; !bytes.Equal(got, want) {
			t.Errorf("got % x, want % x", got, want)
		}
		for _, order := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
			other, err := wkb.Marshal(g, order)
			if err != nil {
				t.Fatal(err)
			}
			back, _, err := ownwkb.Decode(other)
			if err != nil || !orb.Equal(back, g) {
				t.Errorf("%v: got %v, %v", order, back, err)
			}
		}
	}
}

func TestDecodeOthersGeometries(t *testing.T) {
	le := func(code uint32, rest ...float64) []byte {
		b := binary.LittleEndian.AppendUint32([]byte{1}, code)
		for _, v := range rest {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
		}
		return b
	}
	gp := func(flags byte, envelope int, g []byte) []byte {
		return append(append([]byte{'G', 'P', 0, flags, 0, 0, 0, 0}, make([]byte, envelope)...), g...)
	}
	multi, err := wkb.Marshal(orb.MultiPolygon{square, square}, binary.LittleEndian)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		in   []byte
		want orb.Geometry
		err  string
	}{
		{"point Z, envelope XYZ", gp(0x05, 48, le(1001, 1, 2, 3)), orb.Point{1, 2}, ""},
		{"point M, envelope XYM", gp(0x07, 48, le(2001, 1, 2, 3)), orb.Point{1, 2}, ""},
		{"point ZM, envelope XYZM", gp(0x09, 64, le(3001, 1, 2, 3, 4)), orb.Point{1, 2}, ""},
		{"multipolygon", gp(0x01, 0, multi), orb.MultiPolygon{square, square}, ""},
		{"empty point", gp(0x11, 0, le(1, math.NaN(), math.NaN())), nil, ""},
		{"line", gp(0x01, 0, append(le(2), append([]byte{2, 0, 0, 0}, le(0, 1, 2, 3, 4)[5:]...)...)), orb.LineString{{1, 2}, {3, 4}}, ""},
		{"line of a billion positions", gp(0x01, 0, append(le(2), 0, 0, 0, 0x40)), nil, "ends too early"},
		{"curve polygon", gp(0x01, 0, le(10)), nil, "type 10, neither"},
		{"unknown type", gp(0x01, 0, le(4001)), nil, "unknown type 4001"},
		{"line in a multipolygon", gp(0x01, 0, append(le(6), append([]byte{1, 0, 0, 0}, append(le(2), 0, 0, 0, 0)...)...)), nil, "part of type 2"},
		{"byte order 7", gp(0x01, 0, []byte{7, 0, 0, 0, 0}), nil, "byte order 7"},
		{"version 1", []byte{'G', 'P', 1, 1, 0, 0, 0, 0}, nil, "version 1"},
		{"extended", gp(0x21, 0, nil), nil, "extended"},
		{"envelope 5", gp(0x0B, 64, nil), nil, "not a GeoPackage geometry"},
		{"envelope cut off", gp(0x03, 31, nil), nil, "not a GeoPackage geometry"},
		{"other", []byte("PG\x00\x01\x00\x00\x00\x00"), nil, "not a GeoPackage geometry"},
		{"nothing", nil, nil, "not a GeoPackage geometry"},
		{"no body", gp(0x01, 0, nil), nil, "ends too early"},
		{"a billion rings", gp(0x01, 0, append(le(3), 0, 0, 0, 0x40)), nil, "ends too early"},
		{"a billion positions", gp(0x01, 0, append(le(3), 1, 0, 0, 0, 0, 0, 0, 0x40)), nil, "ends too early"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := decode(c.in)
			if (err == nil) != (c.err == "") || err != nil && !strings.Contains(err.Error(), c.err) {
				t.Fatalf("got %v, %v; want the error %q", got, err, c.err)
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestBlobRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		position := rapid.Custom(func(t *rapid.T) orb.Point {
			return orb.Point{rapid.Float64().Draw(t, "x"), rapid.Float64().Draw(t, "y")}
		})
		p := orb.Polygon{}
		for range rapid.IntRange(1, 4).Draw(t, "rings") {
			p = append(p, rapid.SliceOfN(position, 1, 9).Draw(t, "ring"))
		}
		b, err := encode(p, nil, rapid.IntRange(-1, 200000).Draw(t, "srs"))
		if err != nil {
			t.Fatal(err)
		}
		got, err := decode(b)
		if err != nil || !orb.Equal(got, p) {
			t.Fatalf("got %v, %v; want %v", got, err, p)
		}
	})
}

func FuzzDecode(f *testing.F) {
	for _, g := range []orb.Geometry{orb.Point{1, 2}, square} {
		b, err := encode(g, nil, 25832)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	z, err := hex.DecodeString("47500001000000000106000000010000000103000000010000000100000000000000000000000000000000000000")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(z)
	f.Fuzz(func(t *testing.T, in []byte) {
		g, err := decode(in)
		if err != nil && g != nil {
			t.Fatalf("both %v and %v", g, err)
		}
	})
}
