package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"

	"quoin/vector/accuracy"
)

// A figure is one number that a change must not make much worse.
type figure struct {
	Name string `json:"name"`
	// Value is that of the run the file was written from.
	Value float64 `json:"value"`
	// Margin is how much worse is still let pass: chance moves a figure when
	// anything changes. Positive when more is worse, negative when less is.
	Margin float64 `json:"margin"`
}

// limit is the worst value let pass.
func (f figure) limit() float64 { return f.Value + f.Margin }

func (f figure) broken(now float64) bool {
	if math.IsNaN(now) {
		return true
	}
	if f.Margin >= 0 {
		return now > f.limit()
	}
	return now < f.limit()
}

// figuresOf returns the figures that are watched, pooled over all blocks.
func figuresOf(results []result) []figure {
	var blocks []accuracy.Block
	failed := 0
	for _, r := range results {
		blocks = append(blocks, r.Block)
		if r.Failure != "" {
			failed++
		}
	}
	s := accuracy.Summarise(blocks)
	large, all := s.Classes[2], s.Classes[3]
	ground := group{results: results}.relief()
	return []figure{
		{"runs that failed", float64(failed), 0},
		{"outlines that are not valid", float64(s.Invalid), 0},
		{"outlines that overlap", float64(s.Overlaps), 0},
		{"completeness, 50 m2 and more", large.Completeness.Value(), -0.02},
		{"completeness, all", all.Completeness.Value(), -0.03},
		{"correctness, 50 m2 and more", large.Correctness.Value(), -0.02},
		{"correctness, all", all.Correctness.Value(), -0.03},
		{"mean IoU", s.Shape.IoU, -0.01},
		{"corners matched", s.CornerCompleteness.Value(), -0.03},
		{"corners delivered that are there", s.CornerCorrectness.Value(), -0.03},
		{"exact topology", s.Exact.Value(), -0.05},
		{"corner RMSE without shift, in spacings", s.Corners.ShiftedInSpacings, 0.25 * s.Corners.ShiftedInSpacings},
		{"median corner error squared over stated", s.Corners.Median, 0.4 * s.Corners.Median},
		{"corners in the 95 % ellipse", s.Corners.Cover.Value(), -0.04},
		{"ground points lost", ground.Points.TypeI(), 0.003},
		{"objects taken for ground", ground.Points.TypeII(), 0.003},
		{"bias of the ground under roofs in metres, sign left out", math.Abs(ground.Under.Bias()), 0.02},
		{"outward bias in metres, sign left out", math.Abs(s.Offsets.Bias), 0.005},
	}
}

func writeLimits(path string, figures []figure) error {
	for i := range figures {
		figures[i].Value, figures[i].Margin = rounded(figures[i].Value), rounded(figures[i].Margin)
	}
	b, err := json.MarshalIndent(figures, "", "  ")
	if err != nil {
		return err
	}
	return os.WriteFile(path, append(b, '\n'), 0o666)
}

func rounded(v float64) float64 { return math.Round(v*1e4) / 1e4 }

// checkLimits compares the figures with those of the file and returns an error
// where one is worse by more than its margin.
func checkLimits(w io.Writer, path string, now []figure) error {
	b, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	var then []figure
	if err := json.Unmarshal(b, &then); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	value := make(map[string]float64, len(now))
	for _, f := range now {
		value[f.Name] = f.Value
	}
	broken := 0
	fmt.Fprintf(w, "\n%-42s %8s %8s %8s\n", "figure", "was", "limit", "is")
	for _, f := range then {
		v, known := value[f.Name]
		if !known {
			v = math.NaN()
		}
		mark := ""
		if f.broken(v) {
			broken, mark = broken+1, "  worse"
		}
		fmt.Fprintf(w, "%-42s %8.3f %8.3f %8.3f%s\n", f.Name, f.Value, f.limit(), v, mark)
	}
	if broken > 0 {
		return fmt.Errorf("%d figures are worse than %s lets pass", broken, path)
	}
	return nil
}
