package layout

import (
	_ "embed"
	"math"
	"strconv"
	"strings"

	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
)

// Plans of real buildings; shapes/README says whose.
//
//go:embed shapes/outlines.csv
var outlines string

// realPlans parses the embedded plans.
func realPlans() [][]solid.Point {
	var plans [][]solid.Point
	for line := range strings.Lines(outlines) {
		fields := strings.Fields(line)
		var plan []solid.Point
		for i := 0; i+1 < len(fields); i += 2 {
			x, errX := strconv.ParseFloat(fields[i], 64)
			y, errY := strconv.ParseFloat(fields[i+1], 64)
			if errX != nil || errY != nil {
				panic("layout: embedded outlines.csv is damaged")
			}
			plan = append(plan, solid.Point{X: x, Y: y})
		}
		plans = append(plans, plan)
	}
	return plans
}

// outline builds a building on any plan, where it stands.
func (s *Site) outline(f house.Free) *house.Building {
	f.ID = s.nextID()
	b, err := f.Build()
	if err != nil && f.Overhang > 0 {
		// A narrow recess would close under the eaves: do without them.
		f.Overhang = 0
		b, err = f.Build()
	}
	return s.keep(b, err)
}

// moved returns a plan turned about its own origin and moved.
func moved(plan []solid.Point, to solid.Point, heading float64) []solid.Point {
	f := house.Frame{Origin: to, Heading: heading}
	out := make([]solid.Point, len(plan))
	for i, p := range plan {
		out[i] = f.At(p.X, p.Y)
	}
	return out
}

// levelled levels the ground under a plan and returns its elevation.
func (s *Site) levelled(plan []solid.Point, bank float64) float64 {
	sum := 0.0
	for _, p := range plan {
		sum += s.Elevation(p)
	}
	z := sum / float64(len(plan))
	s.Level(house.Region{plan}, z, bank)
	return z
}

// layReal raises real plans to buildings, wherever there is room for them.
func layReal(s *Site) {
	s.Relief = slope(0.01, 0.015)
	plans := realPlans()
	// A shuffle (Fisher & Yates), so that each seed shows others.
	for i := len(plans) - 1; i > 0; i-- {
		j := s.dice.Pick(i + 1)
		plans[i], plans[j] = plans[j], plans[i]
	}
	area := 0.0
	for _, plan := range plans {
		if area > 0.22*(s.High.X-s.Low.X)*(s.High.Y-s.Low.Y) {
			break
		}
		radius := 0.0
		for _, p := range plan {
			radius = math.Max(radius, p.Length())
		}
		for range 60 {
			to := solid.Point{X: s.dice.Between(s.Low.X, s.High.X), Y: s.dice.Between(s.Low.Y, s.High.Y)}
			if s.free(to, radius+1.5) {
				s.raise(moved(plan, to, s.dice.Between(0, 2*math.Pi)))
				area += house.Region{plan}.Area()
				break
			}
		}
	}
	s.garden(16, 20)
}

// raise puts a roof that suits its size on a plan.
func (s *Site) raise(plan []solid.Point) {
	ground := s.levelled(plan, 2)
	size := house.Region{plan}.Area()
	f := house.Free{
		Walls: house.Region{plan}, Kind: "house", Base: ground - 3, Eave: ground + s.dice.Between(2.8, 6),
		Heading: longestSide(plan), Pitch: s.dice.Between(22, 38) * math.Pi / 180, Look: pitched(s.dice), Roof: house.Gable,
	}
	switch {
	case size < 60:
		f.Kind, f.Eave, f.Overhang = "shed", ground+s.dice.Between(2.2, 2.8), 0.15
	case size > 350 || s.dice.Chance(0.3):
		f.Kind, f.Roof, f.Look, f.Parapet, f.Eave = "block", house.Flat, level(s.dice), s.dice.Between(0.3, 0.8), f.Eave+3
	default:
		f.Overhang = s.dice.Between(0.1, 0.35)
	}
	s.outline(f)
}

// longestSide returns the heading of a plan's longest side.
func longestSide(plan []solid.Point) float64 {
	best, heading := 0.0, 0.0
	for i, p := range plan {
		d := plan[(i+1)%len(plan)].Sub(p)
		if l := d.Length(); l > best {
			best, heading = l, math.Atan2(d.Y, d.X)
		}
	}
	return heading
}
