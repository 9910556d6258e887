package copc_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"quoin/extract/las/copc"
	"quoin/extract/las/laz"
)

// memory is a file in memory.
type memory struct{ data []byte }

func (m *memory) WriteAt(b []byte, off int64) (int, error) {
	if n := int(off) + len(b); n > len(m.data) {
		m.data = append(m.data, make([]byte, n-len(m.data))...)
	}
	return copy(m.data[off:], b), nil
}

// town returns n records of format 7 with 2 extra bytes: flat ground with a few
// boxes on it, flown in lines, and the number of each point in its colour.
func town(n int) []byte {
	rnd := rand.New(rand.NewPCG(3, 4))
	le := binary.LittleEndian
	var b []byte
	for i := range n {
		x, y := int32(i%1000*20+rnd.IntN(20)), int32(i/1000*20+rnd.IntN(20))
		z := int32(rnd.IntN(30))
		if x/3000%2 == 1 && y/2500%2 == 1 {
			z += 6000
		}
		for _, v := range []int32{x, y, z} {
			b = le.AppendUint32(b, uint32(v))
		}
		b = le.AppendUint16(b, uint16(rnd.IntN(500)))
		b = append(b, 0x11, 0, byte(2+i%5), 0, 0, 0, 7, 0)
		b = le.AppendUint64(b, math.Float64bits(1e5+float64(i)*1e-5))
		b = le.AppendUint32(b, uint32(i))
		b = append(b, 0, 0, byte(i), 9)
	}
	return b
}

const townSize = 38

func townHeader() copc.Header {
	return copc.Header{
		Format: 7, RecordLength: townSize, Scale: [3]float64{0.01, 0.01, 0.001}, Offset: [3]float64{500000, 5400000, 0},
		VLRs:     []copc.Record{{UserID: "LASF_Projection", ID: 2112, Description: "WKT", Data: []byte("LOCAL_CS[\"invented\"]\x00")}},
		EVLRs:    []copc.Record{{UserID: "example", ID: 1, Data: []byte("more")}},
		Software: "test", Day: 1, Year: 2026,
	}
}

func write(t testing.TB, h copc.Header, o copc.WriterOptions, records []byte) ([]byte, copc.Stats) {
	t.Helper()
	var m memory
	o.Dir = t.TempDir()
	w, err := copc.NewWriter(&m, h, o)
	if err != nil {
		t.Fatal(err)
	}
	// In runs of odd lengths.
	for rest := records; len(rest) > 0; {
		n := min(len(rest), 7777*h.RecordLength)
		if err := w.Write(rest[:n]); err != nil {
			t.Fatal(err)
		}
		rest = rest[n:]
	}
	stats, err := w.Close(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if left, err := os.ReadDir(o.Dir); err != nil || len(left) > 0 {
		t.Errorf("%d temporary files are left, error %v", len(left), err)
	}
	return m.data, stats
}

// sorted returns records in an order of their own.
func sorted(records []byte, size int) [][]byte {
	list := slices.Collect(slices.Chunk(records, size))
	slices.SortFunc(list, bytes.Compare)
	return list
}

// TestWrite writes a cloud with all points in memory and with few, and reads it
// both by the octree and as an ordinary LAZ file.
func TestWrite(t *testing.T) {
	records := town(400000)
	want := sorted(records, townSize)
	for name, memory := range map[string]int{"in memory": 1 << 20, "through files": 60000} {
		t.Run(name, func(t *testing.T) {
			data, stats := write(t, townHeader(), copc.WriterOptions{Workers: 1, Memory: memory}, records)
			again, _ := write(t, townHeader(), copc.WriterOptions{Workers: 3, Memory: memory}, records)
			if !bytes.Equal(data, again) {
				t.Error("the bytes depend on the number of workers")
			}
			r, err := copc.NewReader(bytes.NewReader(data), int64(len(data)))
			if err != nil {
				t.Fatal(err)
			}
			got, err := read(t, r, everything())
			if err != nil {
				t.Fatal(err)
			}
			if !slices.EqualFunc(sorted(got, townSize), want, bytes.Equal) {
				t.Fatal("the points differ")
			}
			if stats.Points != 400000 || r.Count() != 400000 || stats.Nodes < 15 || stats.Levels < 3 {
				t.Errorf("%+v, %d points", stats, r.Count())
			}
			plain, err := laz.NewReader(bytes.NewReader(data), int64(len(data)), int64(binary.LittleEndian.Uint32(data[96:])),
				r.Count(), r.Record(), laz.DefaultReaderOptions())
			if err != nil || plain.Damage() != nil {
				t.Fatal(err, plain.Damage())
			}
			var inOrder []byte
			for c, err := range plain.All(t.Context()) {
				if err != nil {
					t.Fatal(err)
				}
				inOrder = append(inOrder, c.Records...)
			}
			if !bytes.Equal(inOrder, got) {
				t.Error("read as LAZ the points differ")
			}
			checkTree(t, r)
			nodes, err := r.Nodes(everything())
			if err != nil {
				t.Fatal(err)
			}
			checkWindow(t, r, nodes, got)
		})
	}
}

// checkTree checks that points are inside their nodes, that those of inner
// nodes are not much denser than they should be, and what the header says.
func checkTree(t *testing.T, r *copc.Reader) {
	t.Helper()
	for p, err := range r.Read(t.Context(), everything()) {
		if err != nil {
			t.Fatal(err)
		}
		cube := r.Info().Cube(p.Node.Key)
		for i := range 3 {
			cube.Min[i] -= 1e-6
			cube.Max[i] += 1e-6
		}
		for rec := range slices.Chunk(p.Records, townSize) {
			if v := xyz(r, rec); !inside(cube, v) {
				t.Fatalf("node %v: point %v is outside %v", p.Node.Key, v, cube)
			}
		}
		if p.Node.Points > 128*128*3 && p.Node.Points > laz.DefaultChunkSize {
			t.Errorf("node %v has %d points", p.Node.Key, p.Node.Points)
		}
	}
	if i := r.Info(); i.MinTime != 1e5 || math.Abs(i.MaxTime-1e5-3.99999) > 1e-9 {
		t.Errorf("times from %v to %v", i.MinTime, i.MaxTime)
	}
}

// checkWindow compares a window with a search of all points, of which nodes
// have those that follow one another.
func checkWindow(t *testing.T, r *copc.Reader, nodes []copc.Node, all []byte) {
	t.Helper()
	q := everything()
	q.Box = copc.Box{Min: [3]float64{500030, 5400020, -1}, Max: [3]float64{500050.5, 5400060, 3}}
	q.Spacing = r.Info().Spacing / 2
	var want []byte
	at := 0
	for _, n := range nodes {
		for range n.Points {
			if rec := all[at : at+townSize]; n.Key.Level < 2 && inside(q.Box, xyz(r, rec)) {
				want = append(want, rec...)
			}
			at += townSize
		}
	}
	got, err := read(t, r, q)
	if err != nil {
		t.Fatal(err)
	}
	if len(want) == 0 || !bytes.Equal(got, want) {
		t.Errorf("window: %d points, want %d", len(got)/townSize, len(want)/townSize)
	}
	needed, err := r.Nodes(q)
	if err != nil {
		t.Fatal(err)
	}
	if len(needed) >= len(nodes) {
		t.Errorf("a window reads all %d nodes", len(nodes))
	}
}

// TestWriteOddClouds writes clouds that have no extent, no points, or no end of
// copies.
func TestWriteOddClouds(t *testing.T) {
	one := town(1)
	copies := bytes.Repeat(one, 120000)
	for name, records := range map[string][]byte{
		"none": nil, "one": one, "copies": copies, "line": line(70000), "corners": corners(),
	} {
		t.Run(name, func(t *testing.T) {
			for _, memory := range []int{1 << 20, 50000} {
				data, stats := write(t, townHeader(), copc.WriterOptions{Workers: 2, Memory: memory}, records)
				r, err := copc.NewReader(bytes.NewReader(data), int64(len(data)))
				if err != nil {
					t.Fatal(err)
				}
				got, err := read(t, r, everything())
				if err != nil {
					t.Fatal(err)
				}
				if !slices.EqualFunc(sorted(got, townSize), sorted(records, townSize), bytes.Equal) {
					t.Fatalf("%d points, want %d, %+v", len(got)/townSize, len(records)/townSize, stats)
				}
			}
		})
	}
}

// line returns points along x alone.
func line(n int) []byte {
	b := town(n)
	for i := range n {
		binary.LittleEndian.PutUint32(b[i*townSize:], uint32(i))
		copy(b[i*townSize+4:], make([]byte, 8))
	}
	return b
}

// corners returns points at the ends of all coordinates.
func corners() []byte {
	b := town(8)
	for i := range 8 {
		for axis := range 3 {
			v := int32(math.MinInt32)
			if i>>axis&1 == 1 {
				v = math.MaxInt32
			}
			binary.LittleEndian.PutUint32(b[i*townSize+4*axis:], uint32(v))
		}
	}
	return b
}

// TestHeaderIsWritten looks at the records around the points.
func TestHeaderIsWritten(t *testing.T) {
	h := townHeader()
	h.VLRs = append(h.VLRs, copc.Record{UserID: "copc", ID: 1}, copc.Record{UserID: "laszip encoded", ID: 22204})
	h.EVLRs = append(h.EVLRs, copc.Record{UserID: "copc", ID: 1000, Data: []byte("old")})
	data, _ := write(t, h, copc.WriterOptions{Workers: 1, Memory: 100}, town(50))
	le := binary.LittleEndian
	if !copc.IsCOPC(data) {
		t.Error("it isn't COPC")
	}
	if n := le.Uint32(data[100:]); n != 3 {
		t.Errorf("%d records before the points, want 3", n)
	}
	if !bytes.Contains(data, []byte("LOCAL_CS[\"invented\"]")) {
		t.Error("the CRS is missing")
	}
	if le.Uint16(data[6:])&16 == 0 || data[104] != 7|128 || le.Uint64(data[247:]) != 50 || le.Uint64(data[255:]) != 50 {
		t.Error("the header is wrong")
	}
	// Two extended records end the file.
	at, n := le.Uint64(data[235:]), le.Uint32(data[243:])
	for range n {
		at += 60 + le.Uint64(data[at+20:])
	}
	if n != 2 || at != uint64(len(data)) {
		t.Errorf("%d extended records end at %d of %d", n, at, len(data))
	}
}

func TestWriteErrors(t *testing.T) {
	for name, change := range map[string]func(*copc.Header, *copc.WriterOptions){
		"format":   func(h *copc.Header, _ *copc.WriterOptions) { h.Format = 9 },
		"length":   func(h *copc.Header, _ *copc.WriterOptions) { h.RecordLength = 35 },
		"scale":    func(h *copc.Header, _ *copc.WriterOptions) { h.Scale[1] = 0 },
		"offset":   func(h *copc.Header, _ *copc.WriterOptions) { h.Offset[1] = math.NaN() },
		"workers":  func(_ *copc.Header, o *copc.WriterOptions) { o.Workers = 0 },
		"memory":   func(_ *copc.Header, o *copc.WriterOptions) { o.Memory = 0 },
		"long VLR": func(h *copc.Header, _ *copc.WriterOptions) { h.VLRs[0].Data = make([]byte, 70000) },
		"name":     func(h *copc.Header, _ *copc.WriterOptions) { h.VLRs[0].UserID = "seventeen letters" },
	} {
		h, o := townHeader(), copc.DefaultWriterOptions()
		change(&h, &o)
		if _, err := copc.NewWriter(&memory{}, h, o); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	w, err := copc.NewWriter(&memory{}, townHeader(), copc.WriterOptions{Workers: 1, Memory: 10, Dir: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(town(1)[1:]); err == nil {
		t.Error("a piece of a record can be written")
	}
	if err := w.Write(town(100)); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := w.Close(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled, the error is %v", err)
	}
	if err := w.Write(town(1)); err == nil {
		t.Error("can be written after Close")
	}
}

var _ io.WriterAt = (*memory)(nil)
