package swath

import (
	"cmp"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"quoin/extract/cloud"
)

// windowTicks is the length of a time window in ticks of 0.1 µs: half a
// second, in which a drone flies 4 m and an aircraft 30 m. Sensor positions
// are estimated at the ends of windows.
const windowTicks = 5_000_000

// windowSeconds is the same in seconds.
const windowSeconds = windowTicks * 1e-7

// gapWindows is how many windows without a point split a source into two
// lines: 5 s, longer than a dropout over water, shorter than a turn.
const gapWindows = 10

// chunkSize is the number of points in a unit of work over all points. It is
// fixed, so that ordered results do not depend on the number of workers.
const chunkSize = 1 << 16

// A window is what one source measured in half a second.
type window struct {
	number uint32 // since tick 0
	points uint32
	echoes uint32 // first and last returns of pulses with several
}

// A line is an uninterrupted run of one source: a flight line, or a flight
// with turns when the block covers those too.
type line struct {
	source      uint16
	first, last uint32   // numbers of its first and last window
	windows     []window // those that hold points, in order
}

// window returns the place of a window in the line's list.
func (l *line) window(number uint32) int {
	i, _ := slices.BinarySearchFunc(l.windows, number, func(w window, n uint32) int { return cmp.Compare(w.number, n) })
	return i
}

// A fleet is all lines of a block, by source and time.
type fleet struct {
	lines []line
	of    map[uint16][2]int // the lines of a source: lines[lo:hi]
	legs  []leg             // in order of lines and time
	legOf [][]int32         // by line and window, empty ones included
}

func windowOf(tick uint64) uint32 { return uint32(tick / windowTicks) }

// find returns the index of the line that holds a point of the given source
// and time, −1 when none does.
func (f *fleet) find(source uint16, tick uint64) int {
	span, ok := f.of[source]
	if !ok {
		return -1
	}
	w := windowOf(tick)
	lo, hi := span[0], span[1] // the first line that begins after w
	for lo < hi {
		if mid := (lo + hi) / 2; f.lines[mid].first <= w {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	if lo == span[0] || w > f.lines[lo-1].last {
		return -1
	}
	return lo - 1
}

// muster counts the points of a block by source and window and finds lines.
// A source whose time runs over the end of the GPS week becomes two lines.
func muster(b *cloud.Block, workers int) *fleet {
	counts := make(map[uint64]window)
	fresh := func() map[uint64]window { return make(map[uint64]window) }
	for _, part := range pooled(chunks(b), workers, fresh, func(sum map[uint64]window, i int) { census(sum, chunk(b, i)) }) {
		for key, w := range part {
			sum := counts[key]
			counts[key] = window{w.number, sum.points + w.points, sum.echoes + w.echoes}
		}
	}
	keys := make([]uint64, 0, len(counts))
	for key := range counts {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	f := &fleet{of: make(map[uint16][2]int)}
	for _, key := range keys {
		f.extend(uint16(key>>32), counts[key])
	}
	for i := range f.lines {
		span, ok := f.of[f.lines[i].source]
		if !ok {
			span[0] = i
		}
		f.of[f.lines[i].source] = [2]int{span[0], i + 1}
	}
	return f
}

func (f *fleet) extend(source uint16, w window) {
	if n := len(f.lines); n > 0 {
		l := &f.lines[n-1]
		if l.source == source && w.number-l.last <= gapWindows {
			l.last = w.number
			l.windows = append(l.windows, w)
			return
		}
	}
	f.lines = append(f.lines, line{source, w.number, w.number, []window{w}})
}

// census counts points by source and window.
func census(counts map[uint64]window, points []cloud.Point) {
	for i := range points {
		p := &points[i]
		number := windowOf(p.Tick())
		key := uint64(p.Source)<<32 | uint64(number)
		w := counts[key]
		w.number = number
		w.points++
		if isEcho(p) {
			w.echoes++
		}
		counts[key] = w
	}
}

// chunks returns the number of units of work over all points, and chunk the
// points of one.
func chunks(b *cloud.Block) int { return (len(b.Points) + chunkSize - 1) / chunkSize }

func chunk(b *cloud.Block, i int) []cloud.Point {
	return b.Points[i*chunkSize : min((i+1)*chunkSize, len(b.Points))]
}

// inChunks calls f for each chunk of the block's points and the index of its
// first, and returns the results in order.
func inChunks[T any](b *cloud.Block, workers int, f func(points []cloud.Point, lo int) T) []T {
	return ordered(chunks(b), workers, func(i int) T { return f(chunk(b, i), i*chunkSize) })
}

// ordered calls f for 0 to n−1 on the given number of workers (all cores when
// it is not positive) and returns the results in order.
func ordered[T any](n, workers int, f func(i int) T) []T {
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	results := make([]T, n)
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(workers, n) {
		wg.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				results[i] = f(i)
			}
		})
	}
	wg.Wait()
	return results
}

// pooled calls f for 0 to n−1 on the given number of workers, each with an
// accumulator of its own, and returns those. It is for counts, which do not
// depend on who counted what.
func pooled[T any](n, workers int, fresh func() T, f func(sum T, i int)) []T {
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	var next atomic.Int64
	return ordered(min(workers, n), workers, func(int) T {
		sum := fresh()
		for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
			f(sum, i)
		}
		return sum
	})
}

// mix is the finalizer of SplitMix64 (Steele, Lea & Flood 2014): a hash that
// chooses patches and pulses without regard to anything measured on them.
func mix(v uint64) uint64 {
	v += 0x9e3779b97f4a7c15
	v = (v ^ v>>30) * 0xbf58476d1ce4e5b9
	v = (v ^ v>>27) * 0x94d049bb133111eb
	return v ^ v>>31
}
