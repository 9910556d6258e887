package laz_test

import (
	"bytes"
	"fmt"
	"runtime"
	"syscall"
	"testing"
	"time"

	"quoin/extract/las/laz"
)

const benchPoints = 500000

// cpu returns the processor time that the process has taken.
func cpu(b *testing.B) time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// measure runs work, which is done on points, and reports points by the clock
// and by processor time, which other programs disturb less.
func measure(b *testing.B, points int, work func()) {
	work() // memory that is used again and again is taken once
	b.ReportAllocs()
	before, n := cpu(b), 0
	for b.Loop() {
		work()
		n++
	}
	took := cpu(b) - before
	b.ReportMetric(float64(points*n)/b.Elapsed().Seconds()/1e6, "Mpts/s")
	b.ReportMetric(float64(points*n)/took.Seconds()/1e6, "Mpts/cpu-s")
}

func workers() []int {
	if n := runtime.GOMAXPROCS(0); n > 1 {
		return []int{1, n}
	}
	return []int{1}
}

func BenchmarkDecode(b *testing.B) {
	for _, format := range []int{0, 1, 2, 3, 6, 7, 8} {
		records := scan(format, benchPoints)
		rec := record(format, recordSizes[format])
		file := pack(b, rec, 0, records, 1)
		for _, w := range workers() {
			b.Run(fmt.Sprintf("format=%d/workers=%d", format, w), func(b *testing.B) {
				decodeAll(b, file, rec, laz.ReaderOptions{Workers: w, Layers: laz.AllLayers})
			})
		}
		if format == 6 {
			b.Run("format=6/workers=1/layers=xyz", func(b *testing.B) {
				decodeAll(b, file, rec, laz.ReaderOptions{Workers: 1, Layers: laz.LayerZ | laz.LayerClassification})
			})
		}
	}
}

func decodeAll(b *testing.B, file []byte, rec laz.Record, o laz.ReaderOptions) {
	r, err := laz.NewReader(bytes.NewReader(file), int64(len(file)), 0, benchPoints, rec, o)
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(benchPoints * rec.RecordLength()))
	measure(b, benchPoints, func() {
		for _, err := range r.All(b.Context()) {
			if err != nil {
				b.Fatal(err)
			}
		}
	})
}

// discard is a file that keeps nothing.
type discard struct{}

func (discard) WriteAt(b []byte, _ int64) (int, error) { return len(b), nil }

func BenchmarkEncode(b *testing.B) {
	for _, format := range []int{0, 1, 2, 3, 6, 7, 8} {
		records := scan(format, benchPoints)
		rec := record(format, recordSizes[format])
		for _, n := range workers() {
			b.Run(fmt.Sprintf("format=%d/workers=%d", format, n), func(b *testing.B) {
				b.SetBytes(int64(len(records)))
				measure(b, benchPoints, func() {
					w, err := laz.NewWriter(discard{}, 0, rec, laz.WriterOptions{Workers: n})
					if err != nil {
						b.Fatal(err)
					}
					if err := w.Write(records); err != nil {
						b.Fatal(err)
					}
					if _, err := w.Close(); err != nil {
						b.Fatal(err)
					}
				})
			})
		}
	}
}
