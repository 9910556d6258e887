package imagecheck

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A sight makes observations without an image.
type sight struct {
	checker
	all   []observation
	pixel float64
	rng   *rand.Rand
}

func newSight(seed uint64) *sight {
	const pixel = 0.1
	return &sight{checker: checker{pixel: pixel, half: 65}, pixel: pixel, rng: rand.New(rand.NewPCG(seed, 843))}
}

// house adds the four edges of a house, with the steps that steps returns for the
// outward direction of each.
func (s *sight) house(at vec, turn float64, steps func(normal vec) []candidate) {
	g := group{first: len(s.all), middle: at, height: math.NaN()}
	for side := range 4 {
		sin, cos := math.Sincos(turn + float64(side)*math.Pi/2)
		n := vec{cos, sin}
		s.all = append(s.all, observation{
			edge: len(s.edges), building: len(s.groups), normal: n, middle: at.add(n.mul(5)), pixel: s.pixel, candidates: steps(n),
		})
		g.edges = append(g.edges, len(s.edges))
		s.edges = append(s.edges, Edge{Outline: true, Height: math.NaN()})
	}
	s.groups = append(s.groups, g)
}

// eave returns the steps of an edge in an image that lies off by a shift: the roof,
// and 1.2 pixels outside it the gutter. On sunlit sides the roof is by far the larger
// step, on shaded ones the gutter. Every third sunlit side shows no gutter.
func (s *sight) eave(normal, shift vec) []candidate {
	const large, small = 40, 8
	sun := vec{-0.6, -0.8}
	at := normal.dot(shift) + 0.1*s.pixel*s.rng.NormFloat64()
	roof, gutter := candidate{at, 0.05 * s.pixel, large}, candidate{at + 1.2*s.pixel, 0.05 * s.pixel, small}
	if normal.dot(sun) < 0 {
		roof.size, gutter.size = small, large
	} else if s.rng.IntN(3) == 0 {
		return []candidate{roof}
	}
	return []candidate{roof, gutter}
}

// TestRoofOrGutterOnAllSides: a fit to the roof on sunlit sides and to the gutter on
// shaded ones lies 0.6 pixels and more off, and finds its own choice the nearest.
func TestRoofOrGutterOnAllSides(t *testing.T) {
	shift := vec{0.07, -0.04}
	for seed := range uint64(40) {
		s := newSight(seed)
		for range 16 {
			s.house(vec{120*s.rng.Float64() - 60, 120*s.rng.Float64() - 60}, math.Pi/2*s.rng.Float64(), func(n vec) []candidate { return s.eave(n, shift) })
		}
		turned := seed%2 == 1
		a := s.adjust(s.all, [unknowns]bool{uEast: true, uNorth: true, uBias: true, uRotation: turned, uScale: turned}, 0)
		if a == nil {
			t.Fatal("no fit")
		}
		for _, v := range []struct {
			what string
			of   int
			want float64
		}{{"east", uEast, shift.x}, {"north", uNorth, shift.y}, {"size", uBias, 0}} {
			// A tenth of a pixel is what the docs promise.
			if got := a.x[v.of]; math.Abs(got-v.want) > 0.1*s.pixel {
				t.Errorf("town %d: %s is %.4f ± %.4f, want %.4f", seed, v.what, got, a.sigma(v.of), v.want)
			}
		}
	}
}

// TestFewBuildingsAlongAStreet: of 15 buildings along a street, each 2 cm off on
// either axis, the outer ones say most of the rotation. With the share of the
// variance that each carries, that is (Σs)²/Σs² − 1 = 7.4 degrees of freedom
// (Satterthwaite 1946, Biometrics Bulletin 2:110-114, from memory); Student's t of
// seven has 95 % within 2.365 and 90 % within 1.895 (any table), and a variance of
// 7/5. The jackknife of unequal shares errs to the safe side (Efron & Stein 1981,
// Annals of Statistics 9:586-596, from memory), so that more may lie within, and the
// mean of z² may be anywhere from 1 to 7/5; four standard deviations of the mean are
// allowed beside that, and three of a share.
func TestFewBuildingsAlongAStreet(t *testing.T) {
	const trials = 1000
	square, near, far := [unknowns]float64{}, [unknowns]float64{}, [unknowns]float64{}
	turn := []int{uRotation, uScale}
	for trial := range uint64(trials) {
		s := newSight(trial)
		for k := range 15 {
			off := vec{0.02 * s.rng.NormFloat64(), 0.02 * s.rng.NormFloat64()}
			s.house(vec{float64(k)*130/14 - 65, 0}, 0.3*s.rng.Float64(), func(n vec) []candidate {
				return []candidate{{n.dot(off) + 0.005*s.rng.NormFloat64(), 0.005, 40}}
			})
		}
		a := s.adjust(s.all, [unknowns]bool{uEast: true, uNorth: true, uBias: true, uRotation: true, uScale: true}, 0)
		for _, i := range turn {
			z := math.Abs(a.x[i] / a.sigma(i))
			square[i] += z * z / trials
			if z < 1.895 {
				near[i] += 1.0 / trials
			}
			if z < 2.365 {
				far[i] += 1.0 / trials
			}
		}
	}
	for _, i := range turn {
		t.Logf("unknown %d: mean of z² %.3f, %.1f %% within 1.895, %.1f %% within 2.365", i, square[i], 100*near[i], 100*far[i])
		if d := 4 * math.Sqrt(2.0/trials); square[i] < 1-d || square[i] > 7.0/5+d {
			t.Errorf("unknown %d: mean of z² %.3f, want 1 to 1.4", i, square[i])
		}
		if d := 3 * math.Sqrt(0.9*0.1/trials); near[i] < 0.90-d || near[i] > 0.95+d {
			t.Errorf("unknown %d: %.1f %% within 1.895, want 90 to 95", i, 100*near[i])
		}
		if d := 3 * math.Sqrt(0.95*0.05/trials); far[i] < 0.95-d || far[i] > 0.98+d {
			t.Errorf("unknown %d: %.1f %% within 2.365, want 95 to 98", i, 100*far[i])
		}
	}
}
