package swath

import (
	"math"
	"math/rand/v2"
	"slices"

	"quoin/extract/cloud"
)

// A flight is a scanner on its way over a place, for the tests: it knows where
// it was.
type flight struct {
	seed       uint64
	source     uint16
	start      float64             // GPS seconds
	seconds    float64             // of flight
	rate       float64             // pulses a second
	path       func(t float64) vec // of the sensor; t from 0 to seconds
	beam       func(t float64, n int, r *rand.Rand) (across, along float64)
	noise      float64 // per return and axis, independent
	rangeNoise float64 // along the beam
	second     float64 // share of pulses with a second return above ground
	resolution float64 // of coordinates; 0 is that of the block
	timeStep   float64 // of time; 0 is exact
	noReturns  bool
	flatAngle  bool // the scan angle column is constant
	shift      vec  // of all that it measures
	ground     func(x, y float64) float64
	keep       func(x, y float64) bool
	garbled    float64 // share of pulses whose first return lies 3 m beside
	ownTimes   bool    // each return has its own time, 6.7 ns a metre later
	week       bool    // time starts again at the end of the GPS week
}

// course returns unit vectors of flight and to the right of it.
func (f *flight) course(t float64) (ahead, right vec) {
	d := f.path(t + 0.05).sub(f.path(t - 0.05))
	n := math.Hypot(d[0], d[1])
	return vec{d[0] / n, d[1] / n, 0}, vec{d[1] / n, -d[0] / n, 0}
}

// points flies the flight.
func (f *flight) points() []cloud.Point {
	r := rand.New(rand.NewPCG(f.seed, 77))
	var points []cloud.Point
	for n := range int(f.seconds * f.rate) {
		t := float64(n) / f.rate
		points = append(points, f.pulse(t, n, r)...)
	}
	return points
}

func (f *flight) pulse(t float64, n int, r *rand.Rand) []cloud.Point {
	at := f.path(t)
	ahead, right := f.course(t)
	across, along := f.beam(t, n, r)
	down := vec{0, 0, -1}.add(right.scale(math.Tan(across))).add(ahead.scale(math.Tan(along)))
	down = down.scale(1 / down.norm())
	hit := f.hit(at, down)
	if f.keep != nil && !f.keep(hit[0], hit[1]) {
		return nil
	}
	hits := []vec{hit}
	if r.Float64() < f.second {
		hits = []vec{hit.sub(down.scale(1 + 9*r.Float64())), hit}
	}
	var points []cloud.Point
	time, ownTime := f.time(t), 0.0
	if f.ownTimes {
		ownTime = 2 * hits[0].sub(hit).norm() / 299792458
	}
	garbled := r.Float64() < f.garbled
	if f.timeStep > 0 {
		time = math.Floor(time/f.timeStep) * f.timeStep
	}
	for i, h := range hits {
		if garbled && i == 0 {
			h = h.add(vec{3 * r.NormFloat64(), 3 * r.NormFloat64(), 0})
		}
		h = h.add(f.shift).add(down.scale(f.rangeNoise * r.NormFloat64()))
		for k := range h {
			h[k] += f.noise * r.NormFloat64()
			if f.resolution > 0 {
				h[k] = math.Round(h[k]/f.resolution) * f.resolution
			}
		}
		a := cloud.Attributes{
			Time: time + float64(i)*ownTime, Source: f.source, Return: uint8(i + 1), Returns: uint8(len(hits)),
			ScanAngle: float32(across * 180 / math.Pi),
		}
		if f.noReturns {
			a.Return, a.Returns = 1, 1
		}
		if f.flatAngle {
			a.ScanAngle = 0
		}
		points = append(points, cloud.Pack(h[0], h[1], h[2], a))
	}
	return points
}

// time returns the GPS time as the file has it.
func (f *flight) time(t float64) float64 {
	if f.week {
		return math.Mod(f.start+t, 604800)
	}
	return f.start + t
}

// hit returns where a beam meets the ground.
func (f *flight) hit(at, down vec) vec {
	z := 0.0
	for range 20 {
		if f.ground == nil {
			return at.add(down.scale(-at[2] / down[2]))
		}
		p := at.add(down.scale((z - at[2]) / down[2]))
		z = f.ground(p[0], p[1])
	}
	return at.add(down.scale((z - at[2]) / down[2]))
}

const degree = math.Pi / 180

// rotating is a scanner whose 16 beams, 2° apart along the flight, turn about
// its axis ten times a second; what looks more than 45° aside is not kept.
func rotating(t float64, n int, r *rand.Rand) (across, along float64) {
	return math.Mod(t*10, 1)*90*degree - 45*degree, (float64(n%16) - 7.5) * 2 * degree
}

// lines is a line scanner: 100 lines a second across the flight, ±35°.
func lines(t float64, n int, r *rand.Rand) (across, along float64) {
	return (math.Mod(t*100, 1)*70 - 35) * degree, 0
}

// oscillating is an airborne mirror: ±20°, 40 Hz.
func oscillating(t float64, n int, r *rand.Rand) (across, along float64) {
	return 20 * degree * math.Sin(2*math.Pi*40*t), 0
}

// drone returns a path at 8 m/s and 60 m above ground, swaying a little.
func drone(x, y, heading float64) func(t float64) vec {
	return func(t float64) vec {
		return vec{
			x + 8*t*math.Cos(heading) + 0.3*math.Sin(0.7*t),
			y + 8*t*math.Sin(heading) + 0.3*math.Cos(0.5*t),
			60 + 0.2*math.Sin(0.9*t),
		}
	}
}

// aircraft returns a path at 65 m/s and 800 m above ground.
func aircraft(x, y, heading float64) func(t float64) vec {
	return func(t float64) vec {
		return vec{x + 65*t*math.Cos(heading) + math.Sin(0.3*t), y + 65*t*math.Sin(heading), 800 + 0.8*math.Sin(0.4*t)}
	}
}

func block(flights ...*flight) *cloud.Block {
	var points []cloud.Point
	for _, f := range flights {
		points = append(points, f.points()...)
	}
	b, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, points)
	b.HasTime, b.HasReturns = true, true
	return b
}

// blockOf returns a block of copies of points in the given order.
func blockOf(points []cloud.Point) *cloud.Block {
	b, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, slices.Clone(points))
	b.HasTime, b.HasReturns = true, true
	return b
}

// A miss is how far positions are from the truth: root mean squares in metres
// of the part across the rays and of the whole, the mean of squared errors
// across over their stated variance, and the share of times with a position.
type miss struct{ across, whole, ratio, share float64 }

func (f *flight) miss(t *Trajectory) miss {
	var m miss
	var n, known float64
	for s := 0.05; s < f.seconds; s += 0.1 {
		n++
		p := cloud.Pack(0, 0, 0, cloud.Attributes{Time: f.time(s)})
		x, y, z, ok := t.At(f.source, p.Tick())
		if !ok {
			continue
		}
		known++
		e := vec{x, y, z}.sub(f.path(s).add(f.shift))
		sigma := t.Sigma(f.source, p.Tick())
		m.across += (e[0]*e[0] + e[1]*e[1]) / 2
		m.whole += e.dot(e)
		m.ratio += (e[0]*e[0] + e[1]*e[1]) / 2 / (sigma * sigma)
	}
	return miss{math.Sqrt(m.across / known), math.Sqrt(m.whole / known), m.ratio / known, known / n}
}
