package swath

import (
	"math"

	"quoin/extract/cloud"
)

// densityPatch is the side in metres of the patches that pulses are counted
// in; it divides a unit of work.
const densityPatch = 4

// A Density is a number of pulses of all swaths a square metre: how it is
// spread over the patches that lie inside the block.
type Density struct {
	Median  float64 `json:"median_per_m2"`
	Fifth   float64 `json:"percentile_5_per_m2"`
	Ninety5 float64 `json:"percentile_95_per_m2"`
	Patches int     `json:"patches"`
	// Occupied is the area of all patches with points, in m².
	Occupied float64 `json:"occupied_m2"`
}

// thickness counts pulses by patch. A pulse counts where its first return
// lies. Patches at the edge of what was measured are half empty and would make
// the density look lower than it is: only those whose eight neighbours hold
// points count, unless the block is too small to have any.
func thickness(b *cloud.Block, workers int) Density {
	units := b.Units()
	counts := pooled(len(units), workers, newPatchCounts, func(c patchCounts, i int) { c.count(b, units[i]) })
	sum := newPatchCounts()
	for _, c := range counts {
		sum.inner.merge(c.inner)
		sum.all.merge(c.all)
	}
	h := sum.inner
	if h.total() == 0 {
		h = sum.all
	}
	const area = densityPatch * densityPatch
	return Density{
		Median: h.quantile(0.5) / area, Fifth: h.quantile(0.05) / area, Ninety5: h.quantile(0.95) / area,
		Patches: h.total(), Occupied: float64(sum.all.total()) * area,
	}
}

type patchCounts struct{ inner, all *histogram }

// newPatchCounts has room for 4000 pulses a square metre.
func newPatchCounts() patchCounts {
	const most = 4000 * densityPatch * densityPatch
	return patchCounts{newHistogram(1, most), newHistogram(1, most)}
}

func (c patchCounts) count(b *cloud.Block, unit cloud.Rect) {
	g := cloud.NewGrid(unit.Pad(densityPatch), densityPatch)
	pulses, points := make([]uint32, g.Len()), make([]uint32, g.Len())
	for s := range b.Spans(g.Bounds()) {
		for i := s.Lo; i < s.Hi; i++ {
			p := &b.Points[i]
			if cell, ok := g.Index(p.East(), p.North()); ok {
				points[cell]++
				if p.First() {
					pulses[cell]++
				}
			}
		}
	}
	for row := 1; row+1 < g.Rows; row++ {
		for col := 1; col+1 < g.Cols; col++ {
			i := row*g.Cols + col
			if pulses[i] == 0 {
				continue
			}
			c.all.add(float64(pulses[i]))
			if surrounded(points, i, g.Cols) {
				c.inner.add(float64(pulses[i]))
			}
		}
	}
}

func surrounded(points []uint32, i, cols int) bool {
	for _, d := range [...]int{-cols - 1, -cols, -cols + 1, -1, 1, cols - 1, cols, cols + 1} {
		if points[i+d] == 0 {
			return false
		}
	}
	return true
}

// spacing returns 1/√density; 0 where there is none.
func spacing(density float64) float64 {
	if density <= 0 {
		return 0
	}
	return 1 / math.Sqrt(density)
}
