package main

import (
	"bytes"
	"math"
	"path/filepath"
	"strings"
	"testing"
)

func TestFigureBroken(t *testing.T) {
	more, less := figure{"RMSE", 0.10, 0.02}, figure{"completeness", 0.95, -0.03}
	for _, c := range []struct {
		f    figure
		now  float64
		want bool
	}{
		{more, 0.119, false},
		{more, 0.121, true},
		{more, 0.01, false},
		{less, 0.921, false},
		{less, 0.919, true},
		{less, 1, false},
		{less, math.NaN(), true},
		{figure{"failures", 0, 0}, 0, false},
		{figure{"failures", 0, 0}, 1, true},
	} {
		if got := c.f.broken(c.now); got != c.want {
			t.Errorf("%s %g against %g: %v, want %v", c.f.Name, c.now, c.f.limit(), got, c.want)
		}
	}
}

func TestLimitsFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "limits.json")
	figures := []figure{{"completeness", 0.95, -0.03}, {"bias", 0.01, 0.005}}
	if err := writeLimits(path, figures); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := checkLimits(&out, path, figures); err != nil {
		t.Errorf("the same figures: %v", err)
	}
	worse := []figure{{"completeness", 0.90, -0.03}, {"bias", 0.01, 0.005}}
	out.Reset()
	if err := checkLimits(&out, path, worse); err == nil {
		t.Error("five per cent fewer pass")
	}
	if n := strings.Count(out.String(), "worse"); n != 1 {
		t.Errorf("%d figures are called worse, want 1:\n%s", n, &out)
	}
	if err := checkLimits(&out, path, figures[:1]); err == nil {
		t.Error("a figure that is gone passes")
	}
}

// The committed figures can be read, and each has a margin on the right side.
func TestCommittedLimits(t *testing.T) {
	var out bytes.Buffer
	err := checkLimits(&out, filepath.Join("..", "..", "testdata", "accuracy", "quick.json"), figuresOf(nil))
	if err == nil || !strings.Contains(err.Error(), "figures are worse") {
		t.Errorf("figures of nothing against the committed ones: %v", err)
	}
}
