package wall_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"quoin/extract/wall"
)

// facade strews n returns of a wall 0.5 m inside an edge of 10 m, clutter
// among them.
func facade(r *rand.Rand, n, clutter int, sigma float64) []wall.Point {
	var points []wall.Point
	for range n {
		points = append(points, wall.Point{Along: 0.75 + 8.5*r.Float64(), Inward: 0.5 + sigma*r.NormFloat64(), Height: 0.5 + 3*r.Float64()})
	}
	for range clutter {
		points = append(points, wall.Point{Along: 0.75 + 8.5*r.Float64(), Inward: -0.3 + 1.8*r.Float64(), Height: 0.5 + 3*r.Float64()})
	}
	return points
}

// The aim: found in 95 % and within 3 cm RMS where ten or more returns of a
// façade are seen; with twelve, nearly always ten of them are in the window.
func TestWallIsFoundWhereItIsSeen(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for _, c := range []struct {
		n     int
		sigma float64
	}{{14, 0.02}, {20, 0.02}, {20, 0.03}, {50, 0.05}, {200, 0.02}} {
		const runs = 400
		found, sum, within := 0, 0.0, 0
		for range runs {
			s, ok := wall.Find(facade(r, c.n, 6, c.sigma), 10, c.sigma)
			if !ok {
				continue
			}
			found++
			e := s.Overhang - 0.5
			sum += e * e
			if math.Abs(e) < 1.96*s.Sigma {
				within++
			}
		}
		rms := math.Sqrt(sum / float64(found))
		if found < runs*95/100 || rms > 0.03 || within < found*95/100 {
			t.Errorf("%d returns, sigma %v: found %d of %d, RMS %.4f, %d within two sigma", c.n, c.sigma, found, runs, rms, within)
		}
	}
}

// Returns without a wall give a wall in at most 1 % of the edges, as the test
// of the scan statistic promises.
func TestClutterIsNoWall(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	for _, n := range []int{0, 5, 30, 100, 400} {
		const runs = 1000
		found := 0
		for range runs {
			if _, ok := wall.Find(facade(r, 0, n, 0.02), 10, 0.02); ok {
				found++
			}
		}
		if found > 20 { // 10 expected at most; 20 is three standard deviations above
			t.Errorf("%d returns of clutter: %d walls in %d edges", n, found, runs)
		}
	}
}

func TestPostAndBenchAreNoWall(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	post, bench := facade(r, 100, 0, 0.02), facade(r, 100, 0, 0.02)
	for i := range post {
		post[i].Along = 5 + 0.2*r.Float64()
		bench[i].Height = 0.5 + 0.1*r.Float64()
	}
	for name, points := range map[string][]wall.Point{"post": post, "bench": bench, "nothing": nil} {
		if s, ok := wall.Find(points, 10, 0.02); ok {
			t.Errorf("a %s is taken for a wall: %+v", name, s)
		}
	}
}

func TestOrderDoesNotMatter(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	points := facade(r, 40, 20, 0.03)
	want, _ := wall.Find(points, 10, 0.03)
	r.Shuffle(len(points), func(i, j int) { points[i], points[j] = points[j], points[i] })
	if got, _ := wall.Find(points, 10, 0.03); got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

func ExampleFind() {
	var points []wall.Point
	for i := range 20 { // a wall 40 cm beneath the eave, seen between 1 m and 2.9 m
		points = append(points, wall.Point{Along: 1 + 0.4*float64(i), Inward: 0.4, Height: 1 + 0.1*float64(i)})
	}
	side, ok := wall.Find(points, 10, 0.02)
	fmt.Printf("%v: overhang %.2f m, %d returns from %.1f to %.1f m\n", ok, side.Overhang, side.Points, side.Low, side.High)
	// Output: true: overhang 0.40 m, 20 returns from 1.0 to 2.9 m
}
