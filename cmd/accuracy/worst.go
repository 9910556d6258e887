package main

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/paulmach/orb"
)

// A worst case is pictured.
type worst struct {
	result *result
	// weight is what it is ranked by among its like.
	weight float64
	bound  orb.Bound
	text   string
}

// writeWorst draws the worst cases and puts them on the page.
func (o *options) writeWorst(ctx context.Context, b *bytes.Buffer, results []result) error {
	old, err := filepath.Glob(filepath.Join(o.pictures, "worst_*.png"))
	if err != nil {
		return err
	}
	for _, path := range old {
		if err := os.Remove(path); err != nil {
			return err
		}
	}
	if err := os.MkdirAll(o.pictures, 0o777); err != nil {
		return err
	}
	fmt.Fprint(b, "\n### Worst cases\n\nBlack: the true roof edge. Orange: what was delivered. ",
		"Points by what they really lie on: blue-grey roof, sand ground, green vegetation, red anything else. The bar is 5 m.\n\n")
	outlines, missed, wrong := worstOutlines(results), worstMissed(results), worstFalse(results)
	relative, err := filepath.Rel(filepath.Dir(o.page), o.pictures)
	if err != nil {
		return err
	}
	for i, w := range slices.Concat(first(outlines, 6), first(missed, 3), first(wrong, 3)) {
		name := fmt.Sprintf("worst_%02d.png", i+1)
		if err := o.draw(ctx, w, filepath.Join(o.pictures, name)); err != nil {
			return err
		}
		fmt.Fprintf(b, "![%s](%s/%s)\n\n%s: %s\n\n", w.text, filepath.ToSlash(relative), name, w.result.Case, w.text)
	}
	return nil
}

// first returns the n weightiest, one a composite.
func first(all []worst, n int) []worst {
	slices.SortStableFunc(all, func(a, b worst) int { return cmp.Compare(b.weight, a.weight) })
	var out []worst
	for _, w := range all {
		same := func(o worst) bool { return o.result.Case.Composite == w.result.Case.Composite }
		if len(out) < n && !slices.ContainsFunc(out, same) {
			out = append(out, w)
		}
	}
	return out
}

// worstOutlines ranks pairs by the Hausdorff distance in spacings.
func worstOutlines(results []result) []worst {
	var all []worst
	for i := range results {
		r := &results[i]
		for _, p := range r.Block.Pairs {
			far := p.Hausdorff / max(r.Case.Spacing, 0.1)
			if len(p.Review) > 0 {
				far /= 2 // said to need a look
			}
			f := r.Footprints[p.Delivered]
			reasons := "no review reason"
			if len(p.Review) > 0 {
				reasons = "review: " + strings.TrimSpace(f.ReviewText())
			}
			all = append(all, worst{
				r, far, r.Truth[p.Reference].Polygon.Bound().Union(f.Polygon.Bound()),
				fmt.Sprintf("%s, %.0f m², up to %.2f m off, %d corners missed and %d too many, quality %.2f, %s", p.Kind, p.Area, p.Hausdorff, len(p.Missing), len(p.Extra), p.Quality, reasons),
			})
		}
	}
	return all
}

func worstMissed(results []result) []worst {
	var all []worst
	for i := range results {
		r := &results[i]
		for _, o := range r.Block.Missed() {
			all = append(all, worst{r, o.Area, r.Truth[o.Index].Polygon.Bound(), fmt.Sprintf("not found: %s, %.0f m²", o.Kind, o.Area)})
		}
	}
	return all
}

func worstFalse(results []result) []worst {
	var all []worst
	for i := range results {
		r := &results[i]
		for _, o := range r.Block.False() {
			p := r.Footprints[o.Index].Polygon
			all = append(all, worst{r, o.Area, p.Bound(), fmt.Sprintf("false: %.0f m², %s", o.Area, r.thingAt(p))})
		}
	}
	return all
}

// scale returns the pixels a metre at which a window fits the picture.
func scale(w orb.Bound) float64 {
	const size = 380
	return math.Min(size/(w.Max[0]-w.Min[0]), size/(w.Max[1]-w.Min[1]))
}
