package extract_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"quoin/extract"
	"quoin/extract/las"
	"quoin/extract/scene"
)

// copies is how often the demo block, of three million points, is laid side by
// side for BenchmarkMemory.
var copies = flag.Int("copies", 1, "copies of the demo block for BenchmarkMemory")

// tile is the side in metres of the squares that copies lie on.
const tile = 256

// beside writes a copy of a block, moved by whole tiles, as one file; its swaths
// and its flight are others.
func beside(b *testing.B, files []string, number, side int, path string) {
	b.Helper()
	first, err := las.Open(files[0])
	if err != nil {
		b.Fatal(err)
	}
	h := first.Header()
	w, err := las.Create(path, las.Header{
		Version: 4, Format: h.Format, Scale: h.Scale, Offset: h.Offset, CRS: h.CRS, Encoding: h.Encoding, Created: h.Created,
	})
	if err != nil {
		b.Fatal(err)
	}
	for _, name := range files {
		f, err := las.Open(name)
		if err != nil {
			b.Fatal(err)
		}
		for batch, err := range f.Batches(b.Context()) {
			if err != nil {
				b.Fatal(err)
			}
			for i := range batch.X {
				batch.X[i] += float64(number%side) * tile
				batch.Y[i] += float64(number/side) * tile
				batch.Source[i] += uint16(number * 16)
				batch.Time[i] += float64(number) * 5000
			}
			if err := w.Write(batch); err != nil {
				b.Fatal(err)
			}
		}
	}
	if err := w.Close(); err != nil {
		b.Fatal(err)
	}
}

// anonymous returns the memory that is the process's own, in bytes: what the
// system can't take back.
func anonymous() int64 {
	data, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	var kilobytes int64
	for line := range strings.Lines(string(data)) {
		if rest, ok := strings.CutPrefix(line, "RssAnon:"); ok {
			fmt.Sscan(rest, &kilobytes)
		}
	}
	return kilobytes << 10
}

// BenchmarkMemory runs the whole job with 512 MiB allowed and reports the most
// memory of its own that it had, and the most in all. With -copies 9 and more
// points neither grows with them; docs/performance.md has the figures.
func BenchmarkMemory(b *testing.B) {
	folder := b.TempDir()
	s, err := scene.Compose(scene.DefaultSpec(scene.Demo))
	if err != nil {
		b.Fatal(err)
	}
	sum, err := s.Write(b.Context(), filepath.Join(folder, "one"), 2)
	if err != nil {
		b.Fatal(err)
	}
	o := extract.DefaultOptions()
	o.Out, o.Memory = filepath.Join(folder, "delivery"), 512<<20
	side := int(math.Ceil(math.Sqrt(float64(*copies))))
	for i := range *copies {
		path := filepath.Join(folder, fmt.Sprintf("copy-%d.las", i))
		beside(b, sum.Clouds, i, side, path)
		o.Inputs = append(o.Inputs, path)
	}
	debug.FreeOSMemory()
	debug.SetMemoryLimit(o.Memory)
	var own atomic.Int64
	stop := make(chan bool)
	go func() {
		for {
			select {
			case <-stop:
				return
			case <-time.After(5 * time.Millisecond):
				own.Store(max(own.Load(), anonymous()))
			}
		}
	}()
	var record *extract.Record
	for b.Loop() {
		if record, err = extract.Run(b.Context(), o); err != nil {
			b.Fatal(err)
		}
	}
	close(stop)
	b.ReportMetric(float64(record.Points.Kept), "points")
	b.ReportMetric(float64(own.Load())/(1<<20), "own-MiB")
	b.ReportMetric(float64(record.Stages[len(record.Stages)-1].PeakMemory)/(1<<20), "peak-MiB")
	b.ReportMetric(float64(record.Results.Footprints), "footprints")
}
