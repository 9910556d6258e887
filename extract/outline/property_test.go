package outline

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// building makes the plan, sampling and observations of a seed. Noise is of the order of 1/(ρL) or more: far below it the likelihood is a
// box with flat valleys, in which the place where a climb ends is defined to millimetres only.
func building(seed uint64) (plan, sampling, []Observation) {
	rng := rand.New(rand.NewPCG(seed, 3))
	all := []plan{
		shapes(4)["rectangle"], shapes(4)["L"], shapes(4)["U"], otherShapes(4)["courtyard"], freeShapes()["skewed"], freeShapes()["hexagon"],
	}
	s := sampling{
		density: []float64{8, 20}[seed%2], sigma: []float64{0.02, 0.04}[seed/2%2],
		beam: []float64{0, 0.05}[seed/4%2], pattern: []string{"poisson", "scan"}[seed/8%2],
	}
	p := all[seed%6].turned(rng.Float64()*6, 20*rng.Float64(), 20*rng.Float64())
	return p, s, s.observe(p, rng)
}

func corners(r Result) [][2]float64 {
	var list [][2]float64
	for _, ring := range r.Rings {
		for _, v := range ring.Vertices {
			list = append(list, [2]float64{v.X, v.Y})
		}
	}
	return list
}

// TestOrderDoesNotMatter: the same observations in any order give the same result, bit by bit.
func TestOrderDoesNotMatter(t *testing.T) {
	for seed := range uint64(12) {
		_, s, obs := building(seed)
		m := s.measures()
		want, err := Fit(obs, m, DefaultOptions(m))
		if err != nil {
			t.Fatal(err)
		}
		shuffled := slices.Clone(obs)
		rng := rand.New(rand.NewPCG(1, 2))
		rng.Shuffle(len(shuffled), func(i, k int) { shuffled[i], shuffled[k] = shuffled[k], shuffled[i] })
		got, err := Fit(shuffled, m, DefaultOptions(m))
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("seed %d: other order, other result:\n%s", seed, d)
		}
	}
}

// A motion is a change of the plane that must change the fit alike.
type motion struct {
	name  string
	scale float64
	place func(x, y float64) (float64, float64)
}

// TestMotions: with topology and measures fixed, turning, shifting by 1e7 m, scaling to feet, and adding far points move no corner by
// more than a millimetre from where they should be; mirroring too. The fit starts from the true topology.
func TestMotions(t *testing.T) {
	sin, cos := math.Sincos(1.1)
	motions := []motion{
		{"turn", 1, func(x, y float64) (float64, float64) { return cos*x - sin*y, sin*x + cos*y }},
		{"shift", 1, func(x, y float64) (float64, float64) { return x + 1e7, y - 1e7 }},
		{"feet", 1 / 0.3048, func(x, y float64) (float64, float64) { return x / 0.3048, y / 0.3048 }},
		{"mirror", 1, func(x, y float64) (float64, float64) { return -x, y }},
	}
	for seed := range uint64(24) {
		p, s, obs := building(seed)
		want := fixed(p, obs, s.measures())
		for _, mo := range motions {
			moved := slices.Clone(obs)
			for i, o := range obs {
				moved[i].X, moved[i].Y = mo.place(o.X, o.Y)
			}
			m := s.measures()
			m.Spacing, m.Sigma, m.Beam = m.Spacing*mo.scale, m.Sigma*mo.scale, m.Beam*mo.scale
			compareMoved(t, mo, want, fixed(mo.plan(p), moved, m))
		}
		far := append(slices.Clone(obs), Observation{X: 300, Y: 400, Side: Outside}, Observation{X: -250, Y: 90, Side: Outside})
		compareMoved(t, motion{"far points", 1, func(x, y float64) (float64, float64) { return x, y }}, want, fixed(p, far, s.measures()))
	}
}

// plan moves a plan; a mirrored one runs the other way round.
func (mo motion) plan(p plan) plan {
	q := make(plan, len(p))
	for r := range p {
		for _, v := range p[r] {
			x, y := mo.place(v[0], v[1])
			q[r] = append(q[r], [2]float64{x, y})
		}
		if mo.name == "mirror" {
			slices.Reverse(q[r])
		}
	}
	return q
}

func compareMoved(t *testing.T, mo motion, want, got [][2]float64) {
	for _, w := range want {
		x, y := mo.place(w[0], w[1])
		least := math.Inf(1)
		for _, g := range got {
			least = min(least, math.Hypot(g[0]-x, g[1]-y))
		}
		if least/mo.scale > 1e-3 {
			t.Errorf("%s: corner off by %.4f m", mo.name, least/mo.scale)
		}
	}
}

// fixed fits the offsets and directions of the true topology and returns the corners.
func fixed(p plan, obs []Observation, m Measures) [][2]float64 {
	f, err := newFitter(obs, m, DefaultOptions(m))
	if err != nil {
		panic(err)
	}
	model := planModel(p.turned(0, -f.ox, -f.oy))
	model.setPulls(f.l.field, m)
	f.anneal(model, 1e-4)
	return corners(f.describe(model))
}

// TestAlwaysSound: whatever the labels, Fit returns an error or rings that are valid: exterior anticlockwise, holes clockwise, simple, not
// touching, covariance finite.
func TestAlwaysSound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 9))
		n := rapid.IntRange(6, 300).Draw(t, "n")
		grain := rapid.SampledFrom([]float64{0, 0.5, 3, 8}).Draw(t, "grain")
		blobs := make([][3]float64, 1+rng.IntN(6))
		for i := range blobs {
			blobs[i] = [3]float64{rng.Float64() * 16, rng.Float64() * 16, 1 + 4*rng.Float64()}
		}
		obs := make([]Observation, n)
		for i := range obs {
			x, y := rng.Float64()*16, rng.Float64()*16
			if grain > 0 && rng.IntN(3) == 0 {
				x, y = math.Round(x/grain)*grain, math.Round(y/grain)*grain
			}
			side := Outside
			for _, b := range blobs {
				if math.Abs(x-b[0]) < b[2] && math.Hypot(x-b[0], y-b[1]) < 1.3*b[2] {
					side = Inside
				}
			}
			if rng.IntN(20) == 0 {
				side = Side(rng.IntN(4))
			}
			obs[i] = Observation{X: x, Y: y, Side: side}
		}
		m := Measures{Spacing: 16 / math.Sqrt(float64(n)), Sigma: 0.03 * rng.Float64(), Beam: 0.1 * rng.Float64()}
		r, err := Fit(obs, m, DefaultOptions(m))
		if errors.Is(err, ErrTooFew) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		checkSound(t, r)
	})
}

func checkSound(t interface{ Errorf(string, ...any) }, r Result) {
	var spans []span
	m := &model{}
	for k, ring := range r.Rings {
		base := len(spans)
		for i, v := range ring.Vertices {
			w := ring.Vertices[(i+1)%len(ring.Vertices)]
			s := segment(v.X, v.Y, w.X, w.Y)
			s.prev, s.next = base+(i+len(ring.Vertices)-1)%len(ring.Vertices), base+(i+1)%len(ring.Vertices)
			spans = append(spans, s)
			c := v.CovXX*v.CovYY - v.CovXY*v.CovXY
			// A vertex of an arc has no uncertainty along it.
			if certain := v.Kind == Round && v.CovXX+v.CovYY > 0; !certain && (!(v.CovXX > 0) || !(c > 0)) || math.IsInf(c, 0) {
				t.Errorf("ring %d corner %d: covariance %v %v %v", k, i, v.CovXX, v.CovXY, v.CovYY)
			}
		}
		m.rings = append(m.rings, make([]edge, len(ring.Vertices)))
		if area := ringArea(spans[base:]); (area < 0) != ring.Hole || ring.Hole != (k > 0) {
			t.Errorf("ring %d: area %v, hole %v", k, area, ring.Hole)
		}
	}
	for i := range spans {
		for k := i + 1; k < len(spans); k++ {
			if spans[i].next != k && spans[k].next != i && spans[i].touches(&spans[k]) {
				t.Errorf("edges %d and %d touch", i, k)
			}
		}
	}
	if !m.nested(spans) {
		t.Errorf("rings are not nested")
	}
}

// TestBadInput names each kind of input that carries no outline.
func TestBadInput(t *testing.T) {
	good := sampling{density: 8, pattern: "scan"}.observe(shapes(4)["L"], rand.New(rand.NewPCG(1, 1)))
	m := sampling{density: 8}.measures()
	line := make([]Observation, 50)
	for i := range line {
		line[i] = Observation{X: float64(i)}
	}
	same := make([]Observation, 50)
	for _, row := range []struct {
		name string
		obs  []Observation
		m    Measures
		o    Options
		want error
	}{
		{"empty", nil, m, DefaultOptions(m), ErrTooFew},
		{"one", good[:1], m, DefaultOptions(m), ErrTooFew},
		{"two", good[:2], m, DefaultOptions(m), ErrTooFew},
		{"not a number", append(slices.Clone(good), Observation{X: math.NaN()}), m, DefaultOptions(m), ErrNotFinite},
		{"infinite", append(slices.Clone(good), Observation{Y: math.Inf(1)}), m, DefaultOptions(m), ErrNotFinite},
	} {
		if _, err := Fit(row.obs, row.m, row.o); !errors.Is(err, row.want) {
			t.Errorf("%s: %v, want %v", row.name, err, row.want)
		}
	}
	for _, bad := range []Measures{{}, {Spacing: -1}, {Spacing: 1, Sigma: math.NaN()}, {Spacing: 1, Beam: math.Inf(1)}} {
		if _, err := Fit(good, bad, DefaultOptions(m)); err == nil {
			t.Errorf("measures %+v: no error", bad)
		}
	}
	if _, err := Fit(good, m, Options{}); err == nil {
		t.Error("empty options: no error")
	}
	if _, err := Fit(append(slices.Clone(good), Observation{Side: 9}), m, DefaultOptions(m)); err == nil {
		t.Error("side 9: no error")
	}
	for name, obs := range map[string][]Observation{"collinear": line, "one place": same} {
		if r, err := Fit(obs, m, DefaultOptions(m)); err == nil && len(r.Rings) == 0 {
			t.Errorf("%s: neither error nor ring", name)
		}
	}
}
