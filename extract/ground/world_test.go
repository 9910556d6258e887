package ground

import (
	"math"
	"math/rand/v2"

	"quoin/extract/cloud"
)

// What a simulated point lies on; it travels in the point's Source.
const (
	onGround = iota + 1
	onRoof
	onWall
	onCar
	onShrub
	onTree
	lowPoint
)

// A world is a terrain with things on it, of which the truth is known.
type world struct {
	size    float64 // side in metres, from (0, 0)
	terrain func(x, y float64) float64
	pads    []pad
	roofs   []roof
	boxes   []box
	shrubs  []ball
	trees   []ball
	canopy  float64 // share of pulses that reach the ground under trees
	water   []box   // no returns
	lows    bool
	squares []*world // what is near each square of nearSide, by row
}

// nearSide is the side of the squares that a scan looks up things by.
const nearSide = 10

// index splits the world into squares.
func (w *world) index() {
	n := int(math.Ceil(w.size / nearSide))
	w.squares = make([]*world, n*n)
	for k := range w.squares {
		x, y := (float64(k%n)+0.5)*nearSide, (float64(k/n)+0.5)*nearSide
		part := &world{size: w.size, terrain: w.terrain, canopy: w.canopy, water: w.water}
		for _, p := range w.pads {
			if outside(x, y, roof{x: p.x, y: p.y, w: p.w, h: p.h, turn: p.turn}) < 90 {
				part.pads = append(part.pads, p)
			}
		}
		for _, r := range w.roofs {
			if outside(x, y, r) < nearSide {
				part.roofs = append(part.roofs, r)
			}
		}
		for _, c := range w.boxes {
			if math.Hypot(x-c.x, y-c.y) < nearSide+max(c.w, c.h) {
				part.boxes = append(part.boxes, c)
			}
		}
		part.shrubs, part.trees = ballsNear(w.shrubs, x, y), ballsNear(w.trees, x, y)
		w.squares[k] = part
	}
}

func ballsNear(all []ball, x, y float64) (near []ball) {
	for _, b := range all {
		if math.Hypot(x-b.x, y-b.y) < nearSide+b.radius {
			near = append(near, b)
		}
	}
	return near
}

// about returns what is near a position.
func (w *world) about(x, y float64) *world {
	n := int(math.Ceil(w.size / nearSide))
	clamp := func(v float64) int { return min(max(int(v/nearSide), 0), n-1) }
	return w.squares[clamp(y)*n+clamp(x)]
}

// pad is a level place cut and filled into the terrain, with banks.
type pad struct{ x, y, w, h, turn, z, bank float64 }

// roof is a rectangular building: flat, or gabled with the ridge along w.
type roof struct{ x, y, w, h, turn, eave, pitch float64 }

// box is a body with vertical sides; its top is height above the terrain at
// its middle.
type box struct{ x, y, w, h, turn, height float64 }

type ball struct{ x, y, radius, height float64 }

// local returns a position relative to a turned rectangle's middle.
func local(x, y, cx, cy, turn float64) (u, v float64) {
	s, c := math.Sincos(turn)
	return (x-cx)*c + (y-cy)*s, -(x-cx)*s + (y-cy)*c
}

// outside is the distance from a turned rectangle, negative inside.
func outside(x, y float64, r roof) float64 {
	u, v := local(x, y, r.x, r.y, r.turn)
	return max(math.Abs(u)-r.w/2, math.Abs(v)-r.h/2)
}

// ground returns the true terrain.
func (w *world) ground(x, y float64) float64 {
	z := w.terrain(x, y)
	for _, p := range w.pads {
		d := max(0, outside(x, y, roof{x: p.x, y: p.y, w: p.w, h: p.h, turn: p.turn}))
		z = min(max(z, p.z-p.bank*d), p.z+p.bank*d)
	}
	return z
}

// top returns what is seen from above at a position.
func (w *world) top(x, y float64, rng *rand.Rand) (z float64, on int) {
	z, on = w.ground(x, y), onGround
	for _, s := range w.shrubs {
		if d := math.Hypot(x-s.x, y-s.y) / s.radius; d < 1 && rng.Float64() < 0.85 {
			z, on = max(z, w.ground(s.x, s.y)+s.height*math.Sqrt(1-d*d)*(0.6+0.4*rng.Float64())), onShrub
		}
	}
	for _, c := range w.boxes {
		if outside(x, y, roof{x: c.x, y: c.y, w: c.w, h: c.h, turn: c.turn}) < 0 {
			z, on = w.ground(c.x, c.y)+c.height, onCar
		}
	}
	for _, r := range w.roofs {
		if d := outside(x, y, r); d < 0 {
			_, v := local(x, y, r.x, r.y, r.turn)
			if top := r.eave + r.pitch*(r.h/2-math.Abs(v)); top > w.ground(x, y) {
				z, on = top, onRoof
			}
		}
	}
	for _, t := range w.trees {
		if d := math.Hypot(x-t.x, y-t.y) / t.radius; d < 1 && rng.Float64() > w.canopy {
			crown := w.ground(t.x, t.y) + t.height*(0.4+0.6*rng.Float64()*math.Sqrt(1-d*d))
			if crown > z {
				z, on = crown, onTree
			}
		}
	}
	return z, on
}

// wall returns a point on a facade when the position is just beside a roof and
// the roof does not hide it.
func (w *world) wall(x, y, z float64, rng *rand.Rand) (float64, bool) {
	for _, r := range w.roofs {
		if d := outside(x, y, r); d >= 0 && d < 0.04 && r.eave > z+0.5 && rng.Float64() < 0.7 {
			return z + (r.eave-z)*rng.Float64(), true
		}
	}
	return 0, false
}

// scan samples a world with a density and noise in metres.
func (w *world) scan(density, noise float64, seed uint64) *cloud.Block {
	w.index()
	rng := rand.New(rand.NewPCG(seed, 7))
	n := int(density * w.size * w.size)
	points := make([]cloud.Point, 0, n)
	for range n {
		x, y := rng.Float64()*w.size, rng.Float64()*w.size
		if w.isWater(x, y) {
			continue
		}
		z, on := w.about(x, y).top(x, y, rng)
		if up, ok := w.about(x, y).wall(x, y, z, rng); ok && on == onGround {
			z, on = up, onWall
		}
		if w.lows && rng.Float64() < 2e-4 {
			z, on = z-1-10*rng.Float64(), lowPoint
		}
		points = append(points, cloud.Pack(x, y, z+noise*rng.NormFloat64(), cloud.Attributes{Source: uint16(on)}))
	}
	for k := 0; w.lows && k < 6; k++ {
		x, y := rng.Float64()*w.size, rng.Float64()*w.size
		for range 5 {
			px, py := x+0.5*rng.NormFloat64(), y+0.5*rng.NormFloat64()
			points = append(points, cloud.Pack(px, py, w.ground(px, py)-2, cloud.Attributes{Source: lowPoint}))
		}
	}
	b, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, points)
	return b
}

func (w *world) isWater(x, y float64) bool {
	for _, p := range w.water {
		if outside(x, y, roof{x: p.x, y: p.y, w: p.w, h: p.h}) < 0 {
			return true
		}
	}
	return false
}

// settlement furnishes a terrain: a hall of 60 × 40 m on a pad, houses and
// sheds, cars, trees, shrubs, a retaining step of 1.6 m and low points.
func settlement(terrain func(x, y float64) float64, seed uint64) *world {
	rng := rand.New(rand.NewPCG(seed, 11))
	w := &world{size: 200, canopy: 0.3, lows: true}
	w.terrain = func(x, y float64) float64 {
		z := terrain(x, y)
		if x > 20 && x < 120 && y > 150 { // the terrace behind the wall
			z += 1.6
		}
		return z
	}
	hall := roof{x: 130, y: 60, w: 60, h: 40, turn: 0.3}
	padZ := w.terrain(hall.x, hall.y)
	w.pads = []pad{{hall.x, hall.y, 72, 52, hall.turn, padZ, 0.8}}
	hall.eave = padZ + 7
	w.roofs = []roof{hall}
	for range 400 {
		w.addHouse(rng)
	}
	for k := 0; k < 40; {
		x, y := 3+rng.Float64()*194, 3+rng.Float64()*194
		if w.clear(x, y, 3.5) {
			w.boxes = append(w.boxes, box{x, y, 4.4, 1.8, rng.Float64() * 3, 1.5})
			k++
		}
	}
	for range 90 {
		w.trees = append(w.trees, ball{rng.Float64() * 200, rng.Float64() * 200, 1.5 + 3*rng.Float64(), 4 + 10*rng.Float64()})
	}
	for range 80 {
		w.shrubs = append(w.shrubs, ball{rng.Float64() * 200, rng.Float64() * 200, 0.5 + rng.Float64(), 0.3 + rng.Float64()})
	}
	return w
}

// addHouse tries one place for a house or a shed.
func (w *world) addHouse(rng *rand.Rand) {
	h := roof{
		x: 12 + rng.Float64()*176, y: 12 + rng.Float64()*176, w: 9 + 6*rng.Float64(), h: 7 + 3*rng.Float64(),
		turn: rng.Float64() * 3, eave: 4.5, pitch: 0.3 + 0.5*rng.Float64(),
	}
	if rng.Float64() < 0.25 {
		h.w, h.h, h.eave, h.pitch = 3, 2.5, 2.2, 0.1
	}
	if len(w.roofs) > 23 || !w.clear(h.x, h.y, 9) || h.y > 135 && h.y < 165 && h.x < 135 {
		return
	}
	z := w.ground(h.x, h.y)
	for _, d := range [][2]float64{{0, 0}, {15, 0}, {-15, 0}, {0, 15}, {0, -15}} {
		x, y := h.x+d[0], h.y+d[1]
		if math.Abs(w.ground(x, y)-w.terrain(x, y)) > 0.01 || math.Abs(w.terrain(x, y)-z) > 15*0.45 {
			return // on another one's bank, or too steep to build on
		}
	}
	w.pads = append(w.pads, pad{h.x, h.y, h.w + 1, h.h + 1, h.turn, z, 0.65})
	h.eave += z
	w.roofs = append(w.roofs, h)
}

// clear reports whether no building lies within a distance.
func (w *world) clear(x, y, d float64) bool {
	for _, r := range w.roofs {
		if outside(x, y, r) < d {
			return false
		}
	}
	return true
}

func gentle(x, y float64) float64 {
	return 100 + 0.03*x + 0.02*y + 0.8*math.Sin(x/23)*math.Cos(y/31)
}

// rough has slopes of 19° in the median, 33° for the steepest twentieth and
// 40° at most.
func rough(x, y float64) float64 {
	return 300 + 0.25*x + 10.5*math.Sin(x/29+0.4)*math.Cos(y/26) + 2.7*math.Sin(y/13)*math.Sin(x/11+1)
}
