package main

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/accuracy"
)

// scoredResult returns the result of a block with one house.
func scoredResult(t *testing.T) result {
	t.Helper()
	house := orb.Polygon{{{0, 0}, {10, 0}, {10, 8}, {0, 8}, {0, 0}}}
	r := result{
		Case:       blockCase{"suburb", 0.15, 1},
		Truth:      []accuracy.Building{{ID: "a", Kind: "house", Polygon: house}},
		Footprints: []vector.Footprint{footprintOf("1", house)},
	}
	var err error
	if r.Block, err = accuracy.Score(r.Truth, r.Footprints, accuracy.Options{Spacing: 0.15}); err != nil {
		t.Fatal(err)
	}
	r.Baselines[0] = r.Block
	return r
}

// What is written by hand around the generated part stays, and a second run
// gives the same page.
func TestPageKeepsWhatIsWrittenByHand(t *testing.T) {
	dir := t.TempDir()
	o := &options{folder: dir, page: filepath.Join(dir, "page.md"), pictures: filepath.Join(dir, "img")}
	if err := os.WriteFile(o.page, []byte("# Title\n\n"+pageBegin+"\nold\n"+pageEnd+"\n\nEnd.\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	results := []result{scoredResult(t)}
	var pages []string
	for range 2 {
		if err := o.writePage(context.Background(), results, nil); err != nil {
			t.Fatal(err)
		}
		b, err := os.ReadFile(o.page)
		if err != nil {
			t.Fatal(err)
		}
		pages = append(pages, string(b))
	}
	page := pages[0]
	if pages[1] != page {
		t.Error("a second run gives another page")
	}
	if !strings.HasPrefix(page, "# Title\n") || !strings.HasSuffix(page, "\n\nEnd.\n") || strings.Contains(page, "\nold\n") {
		t.Errorf("the page is\n%s", page)
	}
	for _, want := range []string{"**Simulation.**", "| suburb | 1.000 (1.000) |", "| 0.15 m | 1 | 100.0 (20.7–100.0, n 1)"} {
		if !strings.Contains(page, want) {
			t.Errorf("%q is not on the page", want)
		}
	}
	if _, err := os.Stat(filepath.Join(o.pictures, "worst_01.png")); err != nil {
		t.Error(err)
	}
}

// A page without the marks is not overwritten.
func TestPageWithoutMarks(t *testing.T) {
	path := filepath.Join(t.TempDir(), "page.md")
	if err := os.WriteFile(path, []byte("# Mine\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	o := &options{page: path}
	if err := o.writePage(context.Background(), nil, nil); err == nil {
		t.Error("it is written over")
	}
}

// The presets have what they are said to have.
func TestPresets(t *testing.T) {
	for p, want := range map[preset]int{quick: 14 + 6, standard: 14*4*2 + 14, full: 14 * 8 * 5} {
		if got := len(p.cases()); got != want {
			t.Errorf("%s has %d blocks, want %d", p, got, want)
		}
	}
}
