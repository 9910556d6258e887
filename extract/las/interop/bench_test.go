package interop

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"runtime"
	"strconv"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"quoin/extract/las"
	"quoin/extract/las/laz"
)

// benchPoints is the number of points of the files timed: twelve chunks.
const benchPoints = 600_000

// sample writes a file of a format and returns its path.
func sample(b *testing.B, format uint8, suffix string) string {
	b.Helper()
	s := newScan(format, 0, 1)
	path := filepath.Join(b.TempDir(), "sample"+suffix)
	write(b, path, s.header(format), s.records(benchPoints))
	return path
}

func workers() []int {
	if n := runtime.GOMAXPROCS(0); n > 1 {
		return []int{1, n}
	}
	return []int{1}
}

func perSecond(b *testing.B) {
	b.ReportMetric(float64(benchPoints)*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mpoints/s")
}

// A meter finds the run that took the least processor time, which other
// programs on the machine change less than they do the time on the clock.
type meter struct{ from, best time.Duration }

func (m *meter) start() { m.from = processorTime() }

func (m *meter) stop() {
	if used := processorTime() - m.from; m.best == 0 || used < m.best {
		m.best = used
	}
}

// report gives points by processor time: how fast one core is at it.
func (m *meter) report(b *testing.B) {
	b.ReportMetric(benchPoints/m.best.Seconds()/1e6, "Mpoints/cpu-s")
}

func processorTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// BenchmarkDecode reads LAZ files of each format as raw records.
func BenchmarkDecode(b *testing.B) {
	for format := range uint8(las.MaxFormat + 1) {
		if format == 4 || format == 5 || format > 8 {
			continue // of wave packets nothing is made up here
		}
		path := sample(b, format, ".laz")
		for _, n := range workers() {
			b.Run(fmt.Sprintf("format=%d/workers=%d", format, n), func(b *testing.B) { readAll(b, path, n) })
		}
	}
}

// BenchmarkColumns reads LAZ files by column, all of them and few.
func BenchmarkColumns(b *testing.B) {
	path := sample(b, 7, ".laz")
	f, err := las.Open(path)
	if err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct {
		name    string
		columns las.Columns
	}{
		{"all", las.AllColumns},
		{"time+class+flags+source", las.Time | las.Class | las.Flags | las.Source},
		{"none", 0},
	} {
		b.Run("columns="+c.name, func(b *testing.B) {
			var m meter
			for b.Loop() {
				m.start()
				got := 0
				for batch, err := range f.Only(c.columns).Batches(context.Background()) {
					if err != nil {
						b.Fatal(err)
					}
					got += batch.Len()
				}
				if got != benchPoints {
					b.Fatalf("read %d points", got)
				}
				m.stop()
			}
			perSecond(b)
			m.report(b)
		})
	}
}

// BenchmarkRaw reads the same points as plain LAS.
func BenchmarkRaw(b *testing.B) {
	for _, format := range formats {
		path := sample(b, format, ".las")
		b.Run(fmt.Sprintf("format=%d", format), func(b *testing.B) { readAll(b, path, 1) })
	}
}

func readAll(b *testing.B, path string, n int) {
	f, err := las.Open(path)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	var m meter
	for b.Loop() {
		m.start()
		got := 0
		for records, err := range f.Workers(n).Records(context.Background()) {
			if err != nil {
				b.Fatal(err)
			}
			got += len(records)
		}
		if h := f.Header(); got != benchPoints*h.RecordLength() {
			b.Fatalf("read %d bytes", got)
		}
		m.stop()
	}
	perSecond(b)
	m.report(b)
}

// BenchmarkEncode compresses the same points, and drops them.
func BenchmarkEncode(b *testing.B) {
	for _, format := range formats {
		s := newScan(format, 0, 1)
		records := s.records(benchPoints)
		rec, err := laz.NewRecord(int(format), s.length)
		if err != nil {
			b.Fatal(err)
		}
		for _, n := range workers() {
			b.Run(fmt.Sprintf("format=%d/workers=%d", format, n), func(b *testing.B) {
				b.ReportAllocs()
				var m meter
				size := int64(0)
				for b.Loop() {
					m.start()
					size = encode(b, rec, records, n)
					m.stop()
				}
				perSecond(b)
				m.report(b)
				b.ReportMetric(float64(size)/benchPoints, "bytes/point")
			})
		}
	}
}

// dropped takes bytes and keeps none.
type dropped struct{}

func (dropped) WriteAt(b []byte, _ int64) (int, error) { return len(b), nil }

func encode(b *testing.B, rec laz.Record, records []byte, workers int) int64 {
	w, err := laz.NewWriter(dropped{}, 0, rec, laz.WriterOptions{Workers: workers})
	if err == nil {
		err = w.Write(records)
	}
	if err != nil {
		b.Fatal(err)
	}
	size, err := w.Close()
	if err != nil {
		b.Fatal(err)
	}
	return size
}

// BenchmarkPeer has laz-perf 0.0.7 read the same files; what counts is the
// metric, which leaves out the start of node and the reading of the file.
func BenchmarkPeer(b *testing.B) {
	p := newPeer(b)
	for _, format := range formats {
		path := sample(b, format, ".laz")
		b.Run(fmt.Sprintf("format=%d", format), func(b *testing.B) {
			best := 0.0
			for b.Loop() {
				v, err := strconv.ParseFloat(p.run(b, "time", "3", path)[0], 64)
				if err != nil {
					b.Fatal(err)
				}
				best = max(best, v)
			}
			b.ReportMetric(best, "Mpoints/cpu-s")
		})
	}
}

// BenchmarkSecondCore tells what part of a second core's worth two workers
// get: their gain over one, beside that of a loop that does nothing but spin.
func BenchmarkSecondCore(b *testing.B) {
	if runtime.GOMAXPROCS(0) < 2 {
		b.Skip("there is one core only")
	}
	path := sample(b, 6, ".laz")
	decode := func(n int) time.Duration {
		f, err := las.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		from := time.Now()
		for _, err := range f.Workers(n).Records(context.Background()) {
			if err != nil {
				b.Fatal(err)
			}
		}
		return time.Since(from)
	}
	gains := map[bool]float64{}
	for b.Loop() {
		for _, spins := range []bool{false, true} {
			work := decode
			if spins {
				work = spin
			}
			one, two := time.Hour, time.Hour
			for range 5 {
				one, two = min(one, work(1)), min(two, work(2))
			}
			gains[spins] = max(gains[spins], one.Seconds()/two.Seconds())
		}
	}
	b.ReportMetric(gains[true], "spin-gain")
	b.ReportMetric(gains[false], "decode-gain")
	b.ReportMetric(gains[false]/gains[true], "share")
}

// spin counts to a number, on n cores in equal parts.
func spin(n int) time.Duration {
	const turns = 400_000_000
	from := time.Now()
	var sum atomic.Uint64
	done := make(chan struct{})
	for range n {
		go func() {
			v := uint64(1)
			for range turns / n {
				v = v*6364136223846793005 + 1442695040888963407
			}
			sum.Add(v)
			done <- struct{}{}
		}()
	}
	for range n {
		<-done
	}
	return time.Since(from)
}

// TestSteadyStateDoesNotAllocate reads a file twice as long as another: what is
// allocated must not grow with the points.
func TestSteadyStateDoesNotAllocate(t *testing.T) {
	for _, format := range []uint8{1, 3, 6, 8} {
		s := newScan(format, 0, 1)
		records := s.records(200_000)
		var perRun [2]float64
		for i, n := range []int{100_000, 200_000} {
			path := filepath.Join(t.TempDir(), "a.laz")
			write(t, path, s.header(format), records[:n*s.length])
			f, err := las.Open(path)
			if err != nil {
				t.Fatal(err)
			}
			perRun[i] = testing.AllocsPerRun(1, func() {
				var got bytes.Reader
				for r, err := range f.Records(context.Background()) {
					if err != nil {
						t.Fatal(err)
					}
					got.Reset(r)
				}
			})
		}
		// Two more chunks may cost a few allocations each, points none.
		if more := perRun[1] - perRun[0]; more > 20 {
			t.Errorf("format %d: 100000 more points cost %g more allocations", format, more)
		}
	}
}
