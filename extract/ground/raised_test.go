package ground

import (
	"math"
	"testing"
)

func inRect(x, y, x0, y0, x1, y1 float64) bool { return x > x0 && x < x1 && y > y0 && y < y1 }

func TestRegionsThatAreRaised(t *testing.T) {
	const n = 150
	slope := math.Tan(20 * math.Pi / 180)
	tests := []struct {
		name   string
		z      func(x, y float64) float64
		raised func(x, y float64) bool // nil: nowhere
		width  float64
	}{
		{
			"hall of 100 m", func(x, y float64) float64 { return 0.03*x + 7*in(inRect(x, y, 20, 30, 120, 130)) },
			func(x, y float64) bool { return inRect(x, y, 20, 30, 120, 130) }, 100,
		},
		{"slope of 45°", func(x, _ float64) float64 { return x }, nil, 0},
		{"terraces", func(x, y float64) float64 { return 2 * math.Floor((x+0.2*y)/30) }, nil, 0},
		{
			"houses on a slope", func(x, y float64) float64 {
				return slope*y + in(inRect(x, y, 40, 40, 52, 50))*(6+slope*(45-y))
			},
			func(x, y float64) bool { return inRect(x, y, 40, 40, 52, 50) }, 10,
		},
		{
			// The whole roof counts, also where it meets the ground.
			"roof that meets the ground uphill", func(x, y float64) float64 {
				if inRect(x, y, 40, 40, 54, 50) {
					return slope*50 + 0.01
				}
				return slope * y
			},
			func(x, y float64) bool { return inRect(x, y, 40, 40, 54, 50) }, 0,
		},
		{
			// No drop is near the middle of the eave, where a gable's plane ends.
			"gable whose eave is at the ground uphill", func(x, y float64) float64 {
				if inRect(x, y, 40, 40, 54, 52) {
					return slope*52 + 0.4 + 0.7*math.Min(y-40, 52-y)
				}
				return slope * y
			},
			func(x, y float64) bool { return inRect(x, y, 40, 40, 54, 52) }, 0,
		},
		{
			// It drops on two sides, and the slope leads on to it.
			"spur between two terraces", func(x, y float64) float64 {
				if inRect(x, y, 20, 30, 40, 40) || inRect(x, y, 46, 30, 66, 40) {
					return slope * 30
				}
				return slope * y
			}, nil, 0,
		},
		{
			"hall cut by the edge", func(x, y float64) float64 { return 7 * in(inRect(x, y, 30, -1, 80, 40)) },
			func(x, y float64) bool { return inRect(x, y, 30, 0, 80, 40) }, 50,
		},
		{"terrace cut by the edge", func(_, y float64) float64 { return 2 * step(y-140) }, nil, 0},
		{"court", func(x, y float64) float64 { return -3 * in(inRect(x, y, 60, 60, 80, 80)) }, func(x, y float64) bool { return !inRect(x, y, 60, 60, 80, 80) }, 138},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l := cellsOf(n, n, 1, tt.z)
			r, width := findRegions(l, 1.2, 200)
			wrong := 0
			for i := range l.z {
				x, y := l.Centre(i)
				if got, want := r.isRaised(i), tt.raised != nil && tt.raised(x, y); got != want {
					wrong++
				}
			}
			// The uphill row of the roof is the ground's own height.
			if wrong > 20 {
				t.Errorf("%d cells are wrong", wrong)
			}
			if math.Abs(width-tt.width) > 2 {
				t.Errorf("width %v, want %v", width, tt.width)
			}
		})
	}
}

func in(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func TestPitsInRoofs(t *testing.T) {
	roof := func(x, y float64) bool { return inRect(x, y, 20, 20, 60, 60) }
	l := cellsOf(80, 80, 1, func(x, y float64) float64 { return 7 * in(roof(x, y)) })
	pit, ground := 40*80+40, 10*80+10
	l.z[pit] = 0.3
	r, _ := findRegions(l, 1.2, 200)
	if !r.isRaised(pit) {
		t.Error("a pit in a roof passes for terrain")
	}
	if r.isRaised(ground) {
		t.Error("the terrain is raised")
	}
	// A crown has so many that they are terrain.
	for i := range l.z {
		if x, y := l.Centre(i); roof(x, y) && i%5 == 0 && i/80%3 == 0 {
			l.z[i] = 0.1
		}
	}
	if r, _ = findRegions(l, 1.2, 200); r.isRaised(30*80 + 30) {
		t.Error("ground under a crown is raised")
	}
}
