package imagecheck

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

// A ramp is a grey image with one vertical step of amplitude 1, blurred by a
// Gaussian of 0.8 pixels, with white noise.
type ramp struct {
	at, noise float64
	rng       *rand.Rand
}

func (r ramp) Channels() int { return 1 }

func (r ramp) Place(p orb.Point) (col, row float64, err error) { return p[0], -p[1], nil }

func (r ramp) Window(col, _, width, height int) (Window, error) {
	w := Window{Width: width, Height: height, Channels: 1, Values: make([]float32, width*height), Valid: make([]bool, width*height)}
	for i := range w.Values {
		w.Valid[i] = true
		u := float64(col+i%width) + 0.5
		w.Values[i] = float32(normal((u-r.at)/0.8) + r.noise*r.rng.NormFloat64())
	}
	return w, nil
}

// TestProfilesReachTheBound compares the scatter of located edges with the bound
// of Cramér and Rao, sd = (σ/A)·√(2·√π·s/L) pixels, for an edge of L pixels. An
// edge of 8 pixels more is given, as corners are left out. The scatter of n
// trials is known to 1/√(2n); four of these are allowed. The fit knows neither
// level, slope, amplitude nor blur, which costs up to a tenth; interpolation
// between pixels half a pixel off does not occur here.
func TestProfilesReachTheBound(t *testing.T) {
	const trials = 300
	for _, c := range []struct {
		ratio  float64 // amplitude through noise
		length int
	}{{5, 100}, {10, 30}, {10, 100}, {20, 100}} {
		rng := rand.New(rand.NewPCG(uint64(c.ratio), uint64(c.length)))
		square, stated := 0.0, 0.0
		for range trials {
			img := ramp{at: 0.5 + rng.Float64() - 0.5, noise: 1 / c.ratio, rng: rng}
			e := Edge{From: orb.Point{0.5, 0}, To: orb.Point{0.5, float64(c.length + 2*corner)}}
			s, ok, err := sampler{img, 1}.strip(&e, course{}, 0, window)
			if err != nil || !ok {
				t.Fatal(ok, err)
			}
			list, _ := s.candidates(blur{0.8, 0.04})
			if len(list) != 1 {
				t.Fatalf("%d steps found", len(list))
			}
			d := list[0].offset - (img.at - 0.5)
			square, stated = square+d*d/trials, stated+list[0].sigma*list[0].sigma/trials
		}
		bound := math.Sqrt(2*math.Sqrt(math.Pi)*0.8/float64(c.length)) / c.ratio
		slack := 4 / math.Sqrt(2*trials)
		if r := math.Sqrt(square) / bound; r > 1.1+slack || r < 1-slack {
			t.Errorf("contrast %g, length %d: scatter %.4f pixels is %.2f times the bound", c.ratio, c.length, math.Sqrt(square), r)
		}
		if r := math.Sqrt(stated / square); r < 0.75 || r > 1.35 {
			t.Errorf("contrast %g, length %d: stated standard errors are %.2f times the scatter", c.ratio, c.length, r)
		}
	}
}

// TestTwoStepsAreToldApart has a gutter 1.2 pixels wide between roof and ground.
func TestTwoStepsAreToldApart(t *testing.T) {
	p := profile{from: -window, blur: blur{0.6, 0.04}}
	truth := model{level: []float64{0, 3}, slope: []float64{0, 0}, blur: 0.6, steps: []step{{-1.2, []float64{6, 2}}, {0, []float64{3, 9}}}}
	for c := range 2 {
		var values, weight []float64
		for u := -window; u <= window; u++ {
			values, weight = append(values, truth.at(c, float64(u))), append(weight, 100)
		}
		p.values, p.weight = append(p.values, values), append(p.weight, weight)
	}
	m := p.locate()
	if len(m.steps) != 2 {
		t.Fatalf("%d steps", len(m.steps))
	}
	a, b := min(m.steps[0].at, m.steps[1].at), max(m.steps[0].at, m.steps[1].at)
	if math.Abs(a+1.2) > 0.05 || math.Abs(b) > 0.05 {
		t.Errorf("steps at %.3f and %.3f, want −1.2 and 0", a, b)
	}
}

// TestFlatProfileHasNoStep makes sure that noise is not taken for edges.
func TestFlatProfileHasNoStep(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	found := 0
	for range 200 {
		img := ramp{at: 1e6, noise: 0.1, rng: rng}
		e := Edge{From: orb.Point{0.5, 0}, To: orb.Point{0.5, 100}}
		s, _, err := sampler{img, 1}.strip(&e, course{}, 0, window)
		if err != nil {
			t.Fatal(err)
		}
		if list, _ := s.candidates(anyBlur()); len(list) > 0 {
			found++
		}
	}
	if found > 4 {
		t.Errorf("steps in %d of 200 flat profiles", found)
	}
}

// TestEdgesOfFacesOutward turns and reverses a courtyard building: the normal to
// the right of each edge always leads out of the building.
func TestEdgesOfFacesOutward(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		turn := rapid.Float64Range(0, 2*math.Pi).Draw(t, "turn")
		ring := func(half float64, reversed bool) orb.Ring {
			var r orb.Ring
			for k := range 5 {
				a := turn + float64(k)*math.Pi/2
				r = append(r, orb.Point{1e6 + half*math.Cos(a), 2e6 + half*math.Sin(a)})
			}
			if reversed {
				r.Reverse()
			}
			return r
		}
		p := orb.Polygon{ring(10, rapid.Bool().Draw(t, "exterior")), ring(4, rapid.Bool().Draw(t, "hole"))}
		edges := EdgesOf("a", p, 5)
		if len(edges) != 8 {
			t.Fatalf("%d edges", len(edges))
		}
		for _, e := range edges {
			middle := vec{(e.From[0]+e.To[0])/2 - 1e6, (e.From[1]+e.To[1])/2 - 2e6}
			if outward := normalOf(&e).dot(middle) > 0; outward != (e.Ring == 0) {
				t.Fatalf("edge %d of ring %d faces the wrong way", e.Number, e.Ring)
			}
		}
	})
}

func TestEdgesOfPassesOverWhatIsNone(t *testing.T) {
	nan := math.NaN()
	p := orb.Polygon{{{0, 0}, {0, 0}, {5, 0}, {nan, 1}, {5, 5}, {0, 5}, {0, 0}}, {}}
	for _, e := range EdgesOf("a", p, nan) {
		if l := math.Hypot(e.To[0]-e.From[0], e.To[1]-e.From[1]); !(l > 0) {
			t.Errorf("edge %v", e)
		}
	}
	if got := LinesOf("a", orb.LineString{{0, 0}}, nan); got != nil {
		t.Errorf("a point has edges %v", got)
	}
}
