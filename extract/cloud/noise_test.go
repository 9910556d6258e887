package cloud

import (
	"testing"

	"github.com/paulmach/orb"
)

// packed is a source of points.
func packed(points []Point) memory {
	places := make([]orb.Point, len(points))
	for i := range points {
		places[i] = orb.Point{points[i].East(), points[i].North()}
	}
	s := source(places...)
	for i := range points {
		s.batch.Z[i], s.batch.Class[i] = points[i].Up(), points[i].Class
	}
	return s
}

// plain is a square of one point every half metre, with a class each.
func plain(size int, class func(x, y float64) uint8) []Point {
	var all []Point
	for row := range 2 * size {
		for col := range 2 * size {
			x, y := float64(col)/2, float64(row)/2
			all = append(all, Pack(x, y, 10, Attributes{Class: class(x, y)}))
		}
	}
	return all
}

func TestNoiseIsBelievedOnlyWhereItMayBe(t *testing.T) {
	tests := []struct {
		name           string
		class          func(x, y float64) uint8
		noise, doubted uint64
	}{
		{"none", func(_, _ float64) uint8 { return 2 }, 0, 0},
		{"all", func(_, _ float64) uint8 { return 7 }, 0, 6400},
		{"a point a square of 8 m", func(x, y float64) uint8 {
			if int(2*x)%16 == 0 && int(2*y)%16 == 0 {
				return 18
			}
			return 1
		}, 25, 0},
		{"every tenth point", func(x, y float64) uint8 {
			if int(2*x+14*y)%10 == 0 {
				return 7
			}
			return 2
		}, 0, 640},
		{"a shed of 7 by 5 m", func(x, y float64) uint8 {
			if x >= 11 && x < 18 && y >= 20 && y < 25 {
				return 7
			}
			return 2
		}, 0, 140},
		{"a bird of three points", func(x, y float64) uint8 {
			if x == 20.5 && y >= 20 && y <= 21 {
				return 18
			}
			return 2
		}, 3, 0},
	}
	for _, tt := range tests {
		points := plain(40, tt.class)
		n := len(points)
		b, c, err := Load(t.Context(), []Source{packed(points)}, metres, LoadOptions{Memory: 1 << 30})
		if err != nil {
			t.Fatal(err)
		}
		if c.Noise != tt.noise || c.Doubted != tt.doubted || b.Len()+int(c.Noise) != n {
			t.Errorf("%s: %d noise, %d doubted, %d kept; want %d and %d", tt.name, c.Noise, c.Doubted, b.Len(), tt.noise, tt.doubted)
		}
	}
}
