package scene

import (
	"fmt"
	"math"

	"quoin/extract/scene/flight"
	"quoin/extract/scene/house"
	"quoin/extract/scene/layout"
	"quoin/extract/scene/solid"
	"quoin/extract/scene/yard"
)

// A Scene is a block laid out, with its flight planned. It does not change.
type Scene struct {
	Spec      Spec
	World     *solid.World
	Plan      *flight.Plan
	Buildings []*house.Building
	Things    []yard.Thing
	// Low and High are the block's corners in the local frame, metres.
	Low, High solid.Point

	datum datum
}

// Compose lays out the block of a spec and plans its flight. It fails on a spec
// that cannot be met, with all that is wrong with it.
func Compose(spec Spec) (*Scene, error) {
	if err := spec.validate(); err != nil {
		return nil, fmt.Errorf("scene: compose: %w", err)
	}
	kind, _ := compositeOf(spec.Composite)
	if spec.Extent == ([2]float64{}) {
		spec.Extent = kind.Extent
	}
	if spec.Scanner == "" {
		spec.Scanner = kind.Scanner
	}
	site, err := layout.Lay(kind, spec.Seed, spec.Extent)
	if err != nil {
		return nil, fmt.Errorf("scene: compose: %w", err)
	}
	scene := &Scene{Spec: spec, Buildings: site.Buildings, Things: site.Things, Low: site.Low, High: site.High}
	scene.datum, _ = crsOf(spec.Unit)
	if spec.Ortho != nil {
		if _, err := scene.picture(*spec.Ortho); err != nil {
			return nil, fmt.Errorf("scene: compose: %w", err)
		}
	}
	scene.World = solid.NewWorld(site.Terrain(), scene.bodies())
	if err := scene.plan(); err != nil {
		return nil, fmt.Errorf("scene: compose %s: %w", spec.Composite, err)
	}
	return scene, nil
}

// bodies gathers all bodies, numbered by what they are part of: buildings
// first, in order, then things.
func (s *Scene) bodies() []solid.Body {
	var all []solid.Body
	put := func(object int, bodies []solid.Body) {
		for _, b := range bodies {
			b.Object = int32(object)
			all = append(all, b)
		}
	}
	for i, b := range s.Buildings {
		put(i, b.Bodies)
	}
	for i, t := range s.Things {
		put(len(s.Buildings)+i, t.Bodies)
	}
	return all
}

// plan plans the flight for the mean elevation of the block.
func (s *Scene) plan() error {
	scanner, err := s.Spec.scanner(s.Spec.Scanner)
	if err != nil {
		return err
	}
	size := s.High.Sub(s.Low)
	target := flight.Target{
		Low: s.Low, High: s.High, Ground: s.meanGround(), Density: 1 / (s.Spec.Spacing * s.Spec.Spacing),
		Heading: s.Spec.HeadingDegrees * math.Pi / 180, CrossLines: s.Spec.CrossLines, Turns: s.Spec.Turns,
	}
	if limit := s.Spec.MaxPulses; limit > 0 {
		target.Density = min(target.Density, limit/(size.X*size.Y))
	}
	s.Plan, err = flight.MakePlan(scanner, target)
	return err
}

// meanGround returns the mean elevation of the terrain.
func (s *Scene) meanGround() float64 {
	const steps = 20
	sum := 0.0
	for i := range steps * steps {
		sum += s.World.Terrain.Elevation(solid.Point{
			X: s.Low.X + (s.High.X-s.Low.X)*(float64(i%steps)+0.5)/steps,
			Y: s.Low.Y + (s.High.Y-s.Low.Y)*(float64(i/steps)+0.5)/steps,
		})
	}
	return sum / (steps * steps)
}
