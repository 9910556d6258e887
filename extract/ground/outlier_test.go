package ground

import (
	"math"
	"testing"

	"quoin/extract/cloud"
)

// cellsOf returns cells of the given side whose lowest points lie on a
// function.
func cellsOf(rows, cols int, cell float64, z func(x, y float64) float64) *lowest {
	l := newLowest(cloud.Grid{Cell: cell, Rows: rows, Cols: cols})
	for i := range l.z {
		x, y := l.Centre(i)
		l.z[i] = float32(z(x, y))
	}
	return l
}

func TestOutliersGoOnAnySlope(t *testing.T) {
	for _, degrees := range []float64{0, 10, 20, 30, 45} {
		slope := math.Tan(degrees * math.Pi / 180)
		for _, cell := range []float64{0.5, 1, 2} {
			l := cellsOf(40, 40, cell, func(x, y float64) float64 { return 100 + slope*(0.6*x+0.8*y) })
			want := map[int]bool{}
			for _, i := range []int{20*40 + 20, 8*40 + 30, 0*40 + 17, 31 * 40, 33*40 + 5} {
				l.z[i] -= 1.5 + 0.1*float32(i%7) + float32(cell*slope)
				want[i] = true
			}
			// A cluster of four in a square of two by two.
			for _, i := range []int{20*40 + 8, 20*40 + 9, 21*40 + 8, 21*40 + 9} {
				l.z[i] -= 2 + float32(cell*slope)
				want[i] = true
			}
			dropOutliers(l, 0.6)
			for i, z := range l.z {
				if gone := z != z; gone != want[i] {
					t.Errorf("%v°, cell %v, cell (%d, %d): dropped %v, want %v", degrees, cell, i/40, i%40, gone, want[i])
				}
			}
		}
	}
}

func TestTerrainBesideWallsStays(t *testing.T) {
	tests := []struct {
		name string
		z    func(x, y float64) float64
	}{
		{"straight wall", func(x, _ float64) float64 { return 6 * step(x-10) }},
		{"slanted wall", func(x, y float64) float64 { return 6 * step(x+0.37*y-14) }},
		{"inner corner", func(x, y float64) float64 { return 6 * max(step(x-10), step(y-10)) }},
		{"alley of 1.5 m", func(x, _ float64) float64 { return 6 * max(step(x-10), step(8.5-x)) }},
		{"court of 4 m", func(x, y float64) float64 { return 6 * step(max(math.Abs(x-10), math.Abs(y-10))-2) }},
		{"ditch", func(_, y float64) float64 { return -1.2 * step(1-math.Abs(y-10)) }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l := cellsOf(40, 40, 0.5, tt.z)
			dropOutliers(l, 0.6)
			for i, z := range l.z {
				if z != z {
					t.Errorf("dropped cell (%d, %d)", i/40, i%40)
				}
			}
		})
	}
}

func step(v float64) float64 {
	if v > 0 {
		return 1
	}
	return 0
}

// One cell in twelve sees the ground through a crown; single outliers lie
// below both.
func TestGroundUnderCanopyStays(t *testing.T) {
	ground := func(x, y float64) float64 { return 50 + 0.3*x + math.Sin(y/9) }
	seen := func(i int) bool { return i*7919%12 == 0 }
	l := cellsOf(80, 80, 0.5, func(x, y float64) float64 { return ground(x, y) + 12 })
	for i := range l.z {
		l.z[i] += float32(i * 7907 % 50 / 10)
		if seen(i) {
			x, y := l.Centre(i)
			l.z[i] = float32(ground(x, y))
		}
	}
	outlier := 40*80 + 41
	l.z[outlier] = l.z[outlier] - 25
	dropOutliers(l, 0.6)
	lost := 0 // most of them in the corners, where the test is one of lines
	for i, z := range l.z {
		if seen(i) && z != z && i != outlier {
			lost++
		}
	}
	if lost > 30 {
		t.Errorf("%d of %d ground cells dropped", lost, 80*80/12)
	}
	if z := l.z[outlier]; z == z {
		t.Errorf("outlier at %v stays", z)
	}
}
