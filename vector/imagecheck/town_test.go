package imagecheck

import (
	"math"
	"math/rand/v2"

	"github.com/paulmach/orb"
)

// A town is a block of rectangular houses and the image of it, in metres, the
// first pixel's corner at (0, side).
type town struct {
	side, pixel float64
	houses      []rect
	// sun is the shadow a metre of height casts; lean what a roof of a height at
	// a place leans by.
	sun  vec
	lean func(p vec, height float64) vec
	// patch moves what is east of half the block, as a mosaic may.
	patch vec
	noise float64

	width  int
	values []float32
}

// A rect is a house: its middle, half extents, direction and height, and the
// colour of its roof.
type rect struct {
	at, half vec
	turn     float64
	sin, cos float64
	height   float64
	colour   [3]float64
}

func (r *rect) contains(p vec) bool {
	d := p.sub(r.at)
	return math.Abs(r.cos*d.x+r.sin*d.y) <= r.half.x && math.Abs(r.cos*d.y-r.sin*d.x) <= r.half.y
}

func (r *rect) ring() orb.Ring {
	sin, cos := math.Sincos(r.turn)
	var ring orb.Ring
	for _, c := range []vec{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}, {-1, -1}} {
		u, v := c.x*r.half.x, c.y*r.half.y
		ring = append(ring, orb.Point{r.at.x + cos*u - sin*v, r.at.y + sin*u + cos*v})
	}
	return ring
}

// newTown lays out n by n houses of differing size, direction, height and roof.
func newTown(n int, seed uint64) *town {
	rng := rand.New(rand.NewPCG(seed, 1))
	const lot = 19.0
	t := &town{side: lot * float64(n), pixel: 0.1, sun: vec{0.7, 0.8}, noise: 2.5, lean: func(vec, float64) vec { return vec{} }}
	roofs := [][3]float64{{180, 90, 65}, {120, 120, 125}, {200, 200, 205}, {95, 60, 50}}
	for i := range n * n {
		t.houses = append(t.houses, rect{
			at:   vec{(float64(i%n)+0.5)*lot + rng.Float64(), (float64(i/n)+0.5)*lot + rng.Float64()},
			half: vec{3 + 3*rng.Float64(), 2.5 + 2*rng.Float64()}, turn: math.Pi * rng.Float64(),
			height: 2.5 + 5*rng.Float64(), colour: roofs[i%len(roofs)],
		})
	}
	for i := range t.houses {
		t.houses[i].sin, t.houses[i].cos = math.Sincos(t.houses[i].turn)
	}
	return t
}

// expose draws the image: what is seen at a place is a roof that leans there, or
// grass, in the light or in the shadow of a house; each with grain.
func (t *town) expose() *town {
	t.width = int(t.side / t.pixel)
	t.values = make([]float32, 3*t.width*t.width)
	rng := rand.New(rand.NewPCG(7, 7))
	grain := make([]float64, 1<<16)
	for i := range grain {
		grain[i] = 1 + 0.08*(rng.Float64()-0.5)
	}
	colour := func(p vec, near []int) [3]float64 {
		if p.x > t.side/2 {
			p = p.sub(t.patch)
		}
		c, bright := [3]float64{85, 110, 60}, 1.0
		for _, i := range near {
			h := &t.houses[i]
			if h.contains(p.sub(t.lean(h.at, h.height))) {
				c, bright = h.colour, 1
				break
			}
			for s := 0.0; bright == 1 && s < h.height; s += 0.5 {
				if h.contains(p.sub(t.sun.mul(s))) {
					bright = 0.5
				}
			}
		}
		g := bright * grain[(int(p.x/0.5)*257+int(p.y/0.5))&0xffff]
		return [3]float64{c[0] * g, c[1] * g, c[2] * g}
	}
	for i := range t.width * t.width {
		centre := vec{(float64(i%t.width) + 0.5) * t.pixel, t.side - (float64(i/t.width)+0.5)*t.pixel}
		var near []int
		for k := range t.houses {
			if t.houses[k].at.sub(centre).length() < 14 {
				near = append(near, k)
			}
		}
		const n, wide = 4, 1.7 // samples a side over so many pixels
		first, plain := colour(centre, near), true
		for _, d := range []vec{{1, 1}, {1, -1}, {-1, 1}, {-1, -1}} {
			plain = plain && colour(centre.add(d.mul(wide/2*t.pixel)), near) == first
		}
		if plain { // no edge in the pixel
			for j := range 3 {
				t.values[3*i+j] = float32(first[j] + t.noise*rng.NormFloat64())
			}
			continue
		}
		for k := range n * n {
			// Rows of samples are staggered, so that edges along them are not.
			u := (float64(k%n)+(float64(k/n)+0.5)/n)/n - 0.5
			v := (float64(k/n)+(float64(k%n)+0.5)/n)/n - 0.5
			c := colour(centre.add(vec{u, v}.mul(wide*t.pixel)), near)
			for j := range 3 {
				t.values[3*i+j] += float32(c[j] / (n * n))
			}
		}
		for j := range 3 {
			t.values[3*i+j] += float32(t.noise * rng.NormFloat64())
		}
	}
	return t
}

func (t *town) Channels() int { return 3 }

func (t *town) Place(p orb.Point) (col, row float64, err error) {
	return p[0] / t.pixel, (t.side - p[1]) / t.pixel, nil
}

func (t *town) Window(col, row, width, height int) (Window, error) {
	w := Window{Width: width, Height: height, Channels: 3, Values: make([]float32, 3*width*height), Valid: make([]bool, width*height)}
	for i := range width * height {
		x, y := col+i%width, row+i/width
		if x >= 0 && y >= 0 && x < t.width && y < t.width {
			w.Valid[i] = true
			copy(w.Values[3*i:3*i+3], t.values[3*(y*t.width+x):])
		}
	}
	return w, nil
}

// An error of the layer: what each corner of each house is moved by.
type mistake func(house int, p orb.Point) orb.Point

func (t *town) edges(wrong mistake) []Edge {
	var all []Edge
	for i := range t.houses {
		ring := t.houses[i].ring()
		for k := range ring {
			if wrong != nil {
				ring[k] = wrong(i, ring[k])
			}
		}
		all = append(all, EdgesOf(string(rune('a'+i)), orb.Polygon{ring}, t.houses[i].height)...)
	}
	return all
}
