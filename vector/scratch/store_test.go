package scratch_test

import (
	"math"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"

	"quoin/vector/scratch"
)

func TestArraysAreSlicesWhereverTheyAre(t *testing.T) {
	onDisk := scratch.Open(t.TempDir())
	defer onDisk.Close()
	for name, s := range map[string]*scratch.Store{"memory": nil, "disk": onDisk} {
		long, err := scratch.Array[int64](s, 300_000)
		if err != nil {
			t.Fatal(err)
		}
		short := make([][]uint16, 5000)
		for i := range short {
			short[i] = scratch.Make[uint16](s, i%97)
		}
		for i := range long {
			if long[i] != 0 {
				t.Fatalf("%s: value %d is not zero", name, i)
			}
			long[i] = int64(i) * 7
		}
		for i := range short {
			for k := range short[i] {
				short[i][k] += uint16(i)
			}
		}
		s.Trim()
		for i := range long {
			if long[i] != int64(i)*7 {
				t.Fatalf("%s: value %d is lost", name, i)
			}
		}
		for i := range short {
			if len(short[i]) != i%97 || slices.ContainsFunc(short[i], func(v uint16) bool { return v != uint16(i) }) {
				t.Fatalf("%s: short array %d is %v", name, i, short[i])
			}
		}
		if err := s.Err(); err != nil {
			t.Error(err)
		}
	}
}

func TestNothingAndTooMuch(t *testing.T) {
	s := scratch.Open(t.TempDir())
	defer s.Close()
	if a, err := scratch.Array[int32](s, 0); err != nil || len(a) != 0 {
		t.Errorf("no values: %v, %v", a, err)
	}
	if a := scratch.Make[int32](s, 0); len(a) != 0 || s.Bytes() != 0 {
		t.Errorf("no small values: %v, %d bytes", a, s.Bytes())
	}
	if _, err := scratch.Array[[16]int64](s, math.MaxInt/2); err == nil || !strings.Contains(err.Error(), "more than can be addressed") {
		t.Errorf("2^69 bytes: %v", err)
	}
	// More than any disk has: refused at once, with the file gone.
	if _, err := scratch.Array[byte](s, math.MaxInt); err == nil || strings.Contains(err.Error(), "\n") {
		t.Errorf("2^63 bytes: %v", err)
	}
	if err := s.Err(); err != nil {
		t.Errorf("Array left %v", err)
	}
}

// Small arrays are there whatever the folder takes; the error is kept.
func TestFolderThatTakesNothing(t *testing.T) {
	s := scratch.Open(t.TempDir() + "/missing")
	if _, err := scratch.Array[byte](s, 10); err == nil || !strings.Contains(err.Error(), "no such file") {
		t.Errorf("got %v", err)
	}
	if got := scratch.Make[byte](s, 10); len(got) != 10 {
		t.Errorf("%d values, want 10 in memory", len(got))
	}
	if err := s.Err(); err == nil || !strings.Contains(err.Error(), "/missing") {
		t.Errorf("got %v", err)
	}
}

func TestFilesHaveNoNames(t *testing.T) {
	folder := t.TempDir()
	s := scratch.Open(folder)
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for range 200 {
				a := scratch.Make[uint32](s, 1000)
				for i := range a {
					a[i]++
					if a[i] != 1 {
						t.Error("two arrays share a place")
						return
					}
				}
			}
		})
	}
	wg.Wait()
	branch := s.Branch()
	if _, err := scratch.Array[byte](branch, 1<<20); err != nil {
		t.Error(err)
	}
	if left, err := os.ReadDir(folder); err != nil || len(left) > 0 {
		t.Errorf("%v, %v are left in the folder", left, err)
	}
	if branch.Bytes() != 1<<20 || s.Bytes() <= 1<<20 {
		t.Errorf("%d and %d bytes taken", branch.Bytes(), s.Bytes())
	}
	for _, o := range []*scratch.Store{branch, s} {
		if err := o.Close(); err != nil || o.Bytes() != 0 {
			t.Errorf("close: %v, %d bytes left", err, o.Bytes())
		}
	}
}
