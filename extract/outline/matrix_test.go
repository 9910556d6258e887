package outline

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sort"
	"testing"
	"time"
)

var (
	matrix    = flag.Int("matrix", 0, "buildings a cell of the accuracy matrix; 0 leaves it out")
	densities = flag.String("matrix-density", "2,4,8,16,30,100,300,500", "densities of the matrix, points a square metre")
	sigmas    = flag.String("matrix-sigma", "0,1,2,3,5", "noises of the matrix, centimetres")
	patterns  = flag.String("matrix-pattern", "poisson,scan,parallel,shadow,beam3,beam10", "samplings of the matrix")
)

// A cell is what one cell of the matrix came to.
type cell struct {
	n, exact, failed int
	sumSq, corners   float64
	boundSq, neesSum float64
	covered          int
	outward          float64
	edges            float64
	times            []time.Duration
}

func (c *cell) add(p plan, s sampling, r Result, took time.Duration) {
	c.n++
	c.times = append(c.times, took)
	g := judge(p, r, 2/math.Sqrt(s.density)+0.1)
	if g.exact {
		c.exact++
	}
	b := bound(p, s)
	for i, e := range g.errors {
		c.corners++
		c.boundSq += b * b
		c.sumSq += e[0]*e[0] + e[1]*e[1]
		c.neesSum += g.nees[i]
		if g.nees[i] < 5.991 {
			c.covered++
		}
	}
	for _, o := range g.outward {
		c.outward += o
		c.edges++
	}
}

// run fits n buildings of every shape in turn.
func (s sampling) run(shapes map[string]plan, n int, seed uint64, edit func(*Measures)) *cell {
	names := make([]string, 0, len(shapes))
	for k := range shapes {
		names = append(names, k)
	}
	sort.Strings(names)
	c := &cell{}
	for i := range n {
		rng := rand.New(rand.NewPCG(seed, uint64(i)))
		p := shapes[names[i%len(names)]].turned(rng.Float64()*2*math.Pi, rng.Float64()*10, rng.Float64()*10)
		obs := s.observe(p, rng)
		m := s.measures()
		if edit != nil {
			edit(&m)
		}
		start := time.Now()
		r, err := Fit(obs, m, DefaultOptions(m))
		if err != nil {
			c.n++
			c.failed++
			continue
		}
		c.add(p, s, r, time.Since(start))
	}
	return c
}

func (c *cell) String() string {
	slices.Sort(c.times)
	mean := time.Duration(0)
	for _, t := range c.times {
		mean += t
	}
	ms := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }
	rmse := math.Sqrt(c.sumSq / c.corners)
	return fmt.Sprintf("rmse/bound %5.2f  rmse %6.2f cm  bias %+6.2f cm  cover %.3f  nees/2 %5.2f  exact %d/%d  ms %.1f/%.1f",
		math.Sqrt(c.sumSq/c.boundSq), 100*rmse, 100*c.outward/c.edges, float64(c.covered)/c.corners, c.neesSum/c.corners/2,
		c.exact, c.n, ms(c.times[len(c.times)/2]), ms(mean)/float64(len(c.times)))
}

func listed(t *testing.T, s string) []float64 {
	var list []float64
	var v float64
	for len(s) > 0 {
		var rest string
		if n, _ := fmt.Sscanf(s, "%g,%s", &v, &rest); n == 0 {
			t.Fatalf("bad list %q", s)
		}
		list = append(list, v)
		s = rest
	}
	return list
}

// TestMatrix prints the accuracy over density, noise and sampling: go test -run TestMatrix -matrix 100 -v.
func TestMatrix(t *testing.T) {
	if *matrix == 0 {
		t.Skip("asked for with -matrix")
	}
	for _, density := range listed(t, *densities) {
		for _, sigma := range listed(t, *sigmas) {
			for _, name := range []string{"poisson", "scan", "parallel", "shadow", "beam3", "beam10"} {
				if !contains(*patterns, name) {
					continue
				}
				s := sampling{density: density, sigma: sigma / 100, pattern: name}
				switch name {
				case "shadow":
					s.pattern, s.shadow = "poisson", true
				case "beam3":
					s.pattern, s.beam = "scan", 0.03
				case "beam10":
					s.pattern, s.beam = "scan", 0.10
				}
				c := s.run(shapes(4), *matrix, 7, nil)
				t.Logf("%4.0f/m² σ %.0f cm %-9s %v", density, sigma, name, c)
			}
		}
	}
}

func contains(list, name string) bool {
	for len(list) > 0 {
		var head string
		head, list = cut(list)
		if head == name {
			return true
		}
	}
	return false
}

func cut(list string) (head, rest string) {
	for i := range list {
		if list[i] == ',' {
			return list[:i], list[i+1:]
		}
	}
	return list, ""
}
