package copc

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"quoin/extract/las/laz"
)

// growing is a file in memory.
type growing struct{ data []byte }

func (g *growing) WriteAt(b []byte, at int64) (int, error) {
	if n := int(at) + len(b); n > len(g.data) {
		g.data = append(g.data, make([]byte, n-len(g.data))...)
	}
	return copy(g.data[at:], b), nil
}

// TestStrayPointDoesNotFillMemory builds the tree of a square kilometre with one
// point at the end of all coordinates, so far away that the first survey sees the
// others in one cell.
func TestStrayPointDoesNotFillMemory(t *testing.T) {
	const size, points, memory = 30, 120_000, 25_000
	random := rand.New(rand.NewPCG(5, 6))
	records := make([]byte, size*points)
	for i := range points {
		rec := records[i*size:]
		for axis, extent := range []int32{1_000_000, 1_000_000, 30_000} {
			binary.LittleEndian.PutUint32(rec[4*axis:], uint32(random.Int32N(extent)))
		}
		if i == points/2 {
			for axis := range 3 {
				binary.LittleEndian.PutUint32(rec[4*axis:], math.MaxInt32)
			}
		}
		rec[atReturns] = 0x11
	}
	var file growing
	w, err := NewWriter(&file, Header{Format: 6, RecordLength: size, Scale: [3]float64{0.001, 0.001, 0.001}},
		WriterOptions{Workers: 1, Memory: memory, Dir: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	defer w.Abort()
	if err := w.Write(records); err != nil {
		t.Fatal(err)
	}
	out, err := laz.NewWriter(&file, 0, w.record, laz.WriterOptions{Workers: 1})
	if err != nil {
		t.Fatal(err)
	}
	b := &builder{
		ctx: t.Context(), out: out, size: size, memory: memory, cube: w.tally.cube(w.header.Scale, w.header.Offset),
	}
	if err := b.build(w.spill); err != nil {
		t.Fatal(err)
	}
	end, err := out.Close()
	if err != nil {
		t.Fatal(err)
	}
	// A slice may grow to a little more than was asked for.
	if n := cap(b.records) / size; n > memory*5/4 {
		t.Errorf("%d points were in memory, of %d allowed", n, memory)
	}
	r, err := laz.NewReader(&reading{file.data}, end, 0, points, w.record, laz.ReaderOptions{Workers: 1, Layers: laz.AllLayers})
	if err != nil {
		t.Fatal(err)
	}
	var got []byte
	for c, err := range r.All(t.Context()) {
		if err != nil {
			t.Fatal(err)
		}
		for rec := range slices.Chunk(c.Records, size) {
			if s := b.cube.spot(rec); s.key(b.keys[c.Index].Level) != b.keys[c.Index] {
				t.Fatalf("a point of node %v is in another node", b.keys[c.Index])
			}
		}
		got = append(got, c.Records...)
	}
	if !slices.EqualFunc(inOrder(got, size), inOrder(records, size), slices.Equal) {
		t.Error("the points differ")
	}
}

// key returns the node of a level that a spot is in.
func (s spot) key(level int32) Key {
	k := Key{}
	for l := range level {
		k = k.child(int(s.octant(l)))
	}
	return k
}

// inOrder returns records in an order of their own.
func inOrder(records []byte, size int) [][]byte {
	list := slices.Collect(slices.Chunk(records, size))
	slices.SortFunc(list, slices.Compare)
	return list
}

type reading struct{ data []byte }

func (r *reading) ReadAt(b []byte, at int64) (int, error) { return copy(b, r.data[at:]), nil }
