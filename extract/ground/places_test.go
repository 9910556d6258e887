package ground

import "math"

// A place is a world with a name that says what is hard about it.
type place struct {
	name string
	w    *world
}

// places are the hard cases one at a time.
func places() []place {
	return []place{
		{"gentle", settlement(gentle, 1)},
		{"rough", settlement(rough, 1)},
		{"hall 60 m", hallPlace(60, 50, 0.3)},
		{"hall 100 m", hallPlace(100, 100, 0.3)},
		{"hall 120 m", hallPlace(140, 120, 0)},
		{"block cut through a hall", cutBlock()},
		{"stepped roofs at the edge", steppedRoofs()},
		{"slope of 45°", &world{size: 150, lows: true, terrain: func(x, _ float64) float64 { return x }}},
		{"dug into a hillside", hillside()},
		{"terraces", terraces()},
		{"shelves on a slope", shelves()},
		{"embankment", embankment()},
		{"cutting with a bridge", cutting()},
		{"dense canopy", canopy()},
		{"lake", lake()},
		{"row houses and courts", rows()},
	}
}

// hallPlace has a flat hall of the given sides and height 7 m, with a lower
// annexe and a few vehicles, on gentle ground.
func hallPlace(wide, deep, turn float64) *world {
	w := &world{size: 200, lows: true, terrain: gentle}
	z := gentle(100, 100)
	w.pads = []pad{{100, 100, wide + 8, deep + 8, turn, z, 0.5}}
	w.roofs = []roof{
		{x: 100, y: 100, w: wide, h: deep, turn: turn, eave: z + 7},
		{x: 100, y: 100, w: 20, h: 8, turn: turn, eave: z + 9.5},
	}
	for k := range 12 {
		w.boxes = append(w.boxes, box{12 + 15*float64(k), 12, 4.4, 1.8, 0.2, 1.5}, box{10, 20 + 14*float64(k), 8, 2.5, 1.5, 3.2})
	}
	return w
}

// cutBlock is 50 m wide and nearly filled by a part of a hall that goes on
// beyond three of its edges.
func cutBlock() *world {
	w := &world{size: 50, lows: true, terrain: gentle}
	w.roofs = []roof{{x: 40, y: 30, w: 64, h: 70, eave: gentle(40, 30) + 8}}
	return w
}

// steppedRoofs has lower roofs between a higher one and the block's edge, so
// that hardly any of their borders steps down.
func steppedRoofs() *world {
	w := &world{size: 100, lows: true, terrain: gentle}
	z := gentle(50, 80)
	w.roofs = []roof{
		{x: 30, y: 90, w: 20, h: 24, eave: z + 3.4},
		{x: 50, y: 88, w: 20, h: 28, eave: z + 7},
		{x: 66, y: 94, w: 12, h: 16, eave: z + 5},
		{x: 94, y: 40, w: 16, h: 30, eave: gentle(94, 40) + 3},
		{x: 82, y: 40, w: 8, h: 34, eave: gentle(82, 40) + 6, pitch: 0.5},
	}
	w.trees = []ball{{34, 78, 5, 9}, {22, 80, 4, 8}, {94, 22, 5, 9}}
	w.canopy = 0.2
	return w
}

// hillside has houses on a slope of 20° whose uphill eave is at the ground.
func hillside() *world {
	slope := math.Tan(20 * math.Pi / 180)
	w := &world{size: 160, terrain: func(x, y float64) float64 { return 50 + slope*y + math.Sin(x/17) }}
	for row := range 4 {
		for col := range 4 {
			x, y := 22+38*float64(col), 22+38*float64(row)
			w.roofs = append(w.roofs, roof{x: x, y: y, w: 14, h: 10, turn: 0.1 * float64(row-col), eave: w.terrain(x, y+5) + 0.15*float64(col)})
		}
	}
	return w
}

// terraces has four level steps of 2 m each, held by walls, with houses.
func terraces() *world {
	w := &world{size: 160, terrain: func(x, y float64) float64 { return 80 + 2*math.Floor(y/40+0.15*math.Sin(x/50)) + 0.02*x }}
	for k := range 12 {
		x, y := 20+40*float64(k%4), 22+40*float64(k/4)
		w.roofs = append(w.roofs, roof{x: x, y: y, w: 12, h: 8, turn: 0.05 * float64(k), eave: w.terrain(x, y) + 5, pitch: 0.6})
	}
	return w
}

// shelves are cut into a slope of 25° and held by walls of up to 3.4 m, with a
// house on each so that strips of 2.7 m are left beside it. Above them stand
// gabled houses dug in so far that the eave uphill is half a metre above ground.
func shelves() *world {
	slope := math.Tan(25 * math.Pi / 180)
	w := &world{size: 120, lows: true, terrain: func(x, y float64) float64 { return 50 + slope*y + 2*math.Sin(x/31) }}
	for k := range 4 {
		x, y, turn := 18+28*float64(k), 25.0, 0.1*float64(k-1)
		z := w.terrain(x, y)
		w.pads = append(w.pads, pad{x, y, 19, 14, turn, z, 0.3})
		w.roofs = append(w.roofs, roof{x: x, y: y, w: 12.6, h: 8.6, turn: turn, eave: z + 4, pitch: 0.7})
		x, y = x+2, 80.0
		w.roofs = append(w.roofs, roof{x: x, y: y, w: 11, h: 8.6, turn: turn, eave: w.terrain(x, y+4.3) + 0.5, pitch: 0.7})
	}
	return w
}

// embankment carries a road 6 m above level land between banks of 34°.
func embankment() *world {
	w := &world{size: 160, terrain: func(x, y float64) float64 {
		across := math.Abs(y - 80 - 0.2*(x-80))
		return 20 + min(6, max(0, 6-(across-5)*0.67))
	}}
	for k := range 5 {
		w.boxes = append(w.boxes, box{20 + 30*float64(k), 80 + 0.2*(30*float64(k)-60), 4.4, 1.8, 0.2, 1.5})
		w.roofs = append(w.roofs, roof{x: 15 + 30*float64(k), y: 30, w: 10, h: 8, eave: 25, pitch: 0.7})
	}
	return w
}

// cutting is 5 m deep between banks of 45°, with a strip of land beyond it that
// nothing but a bridge of 6 m leads to, and houses on either side.
func cutting() *world {
	w := &world{size: 120, terrain: func(x, y float64) float64 {
		across := math.Abs(y - 32 - 2*math.Sin(x/30))
		return 30 + 0.01*x - min(5, max(0, 13-across))
	}}
	w.roofs = []roof{
		{x: 60, y: 32 + 2*math.Sin(2), w: 6, h: 26, eave: 30.7},
		{x: 25, y: 9, w: 12, h: 8, eave: 35, pitch: 0.6},
		{x: 95, y: 10, w: 10, h: 9, eave: 36},
		{x: 50, y: 85, w: 30, h: 18, eave: 37},
	}
	return w
}

// canopy has closed trees over a slope of 15° with 8 % of the pulses reaching
// the ground, and a house in it.
func canopy() *world {
	slope := math.Tan(15 * math.Pi / 180)
	w := &world{size: 150, lows: true, canopy: 0.08, terrain: func(x, y float64) float64 { return 200 + slope*x + 2*math.Sin(y/15) }}
	for row := range 20 {
		for col := range 20 {
			if row+col > 6 {
				w.trees = append(w.trees, ball{4 + 7.3*float64(col), 4 + 7.3*float64(row), 5.5, 14 + float64((row*7+col*3)%9)})
			}
		}
	}
	w.roofs = []roof{{x: 14, y: 14, w: 12, h: 9, eave: w.terrain(14, 14) + 5, pitch: 0.7}}
	return w
}

// lake has 80 m without returns beside houses.
func lake() *world {
	w := &world{size: 200, lows: true, terrain: func(x, y float64) float64 {
		return 30 + 0.08*max(0, outside(x, y, roof{x: 90, y: 100, w: 80, h: 90}))
	}}
	w.water = []box{{x: 90, y: 100, w: 80, h: 90}}
	for k := range 6 {
		x, y := 15+30*float64(k), 25.0
		w.roofs = append(w.roofs, roof{x: x, y: y, w: 12, h: 9, turn: 0.3, eave: w.terrain(x, y) + 5, pitch: 0.7})
	}
	return w
}

// rows has closed rows of houses about courts of 12 m, as in an old town.
func rows() *world {
	w := &world{size: 160, lows: true, terrain: func(x, y float64) float64 { return 10 + 0.06*x + 0.03*y }}
	for row := range 4 {
		for col := range 4 {
			x, y := 20+40*float64(col), 20+40*float64(row)
			z := w.terrain(x, y) + 11
			for _, r := range []roof{
				{x: x, y: y - 11, w: 32, h: 10},
				{x: x, y: y + 11, w: 32, h: 10},
				{x: x - 11, y: y, w: 12, h: 10},
				{x: x + 11, y: y, w: 12, h: 10},
			} {
				r.eave, r.pitch = z, 0.5
				w.roofs = append(w.roofs, r)
			}
		}
	}
	return w
}
