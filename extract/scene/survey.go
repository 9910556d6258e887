package scene

import (
	"fmt"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
)

// groundCells is the number of cells a side of the block in each of which one
// place on the ground is surveyed, where one fit for it is found.
const groundCells = 7

// groundMarks chooses places on the ground: bare of anything, in sight of a
// flight line, not steep, and clear of what stands about.
func (s *Scene) groundMarks() []mark {
	const tries, margin = 12, 3.0
	var marks []mark
	size := s.High.Sub(s.Low)
	for row := range groundCells {
		for column := range groundCells {
			dice := chance.New(s.Spec.Seed, 0x960d, uint64(row), uint64(column))
			for range tries {
				p := solid.Point{
					X: s.Low.X + margin + (size.X-2*margin)*(float64(column)+dice.Float())/groundCells,
					Y: s.Low.Y + margin + (size.Y-2*margin)*(float64(row)+dice.Float())/groundCells,
				}
				if surface, ok := s.openGround(p); ok {
					marks = append(marks, mark{p.Up(s.World.Terrain.Elevation(p)), groundCode(surface)})
					break
				}
			}
		}
	}
	return marks
}

// openGround returns the cover of the ground at p, and whether a surveyor would
// set a check point there: nothing stands within a pace, and the ground rises
// less than a tenth there (common practice, no source).
func (s *Scene) openGround(p solid.Point) (solid.Surface, bool) {
	const pace, steep, above = 1.0, 0.1, 0.5
	z := s.World.Terrain.Elevation(p)
	for dx := -1.0; dx <= 1; dx++ {
		for dy := -1.0; dy <= 1; dy++ {
			q := p.Add(solid.Point{X: dx * pace, Y: dy * pace})
			if d := s.World.Terrain.Elevation(q) - z; d > steep*pace || d < -steep*pace || !s.inSight(q) {
				return solid.Surface{}, false
			}
		}
	}
	hit, ok := s.World.Look(solid.Ray{Origin: p.Up(z + above), Dir: solid.Vec{Z: -1}}, 1, 2*above)
	return hit.Surface, ok && hit.Object == solid.Ground
}

// The roughness in millimetres up to which ground is hard, or a lawn. Short
// grass counts as not vegetated (ASPRS, from memory).
const hard, lawn = 12, 20

func groundCode(surface solid.Surface) string {
	switch {
	case surface.Rough <= hard:
		return "ground hard"
	case surface.Rough <= lawn:
		return "ground lawn"
	}
	return "meadow"
}

// wallMarks chooses corners of walls: of every third building two that lie
// apart, whether or not the cloud shows the walls there.
func (s *Scene) wallMarks() []mark {
	dice := chance.New(s.Spec.Seed, 0x3a11)
	const breast = 1.2 // metres above ground at which a wall is shot
	var marks []mark
	for i, b := range s.Buildings {
		if i%3 != 0 || b.Open || len(b.Arcs) > 0 || b.WallLine.Area() < 25 || !s.inside(b.RoofEdge) {
			continue
		}
		ring := b.WallLine[0]
		start := dice.Pick(len(ring))
		for _, k := range []int{start, start + len(ring)/2} {
			p := ring[k%len(ring)]
			if s.free(b, p) {
				marks = append(marks, mark{p.Up(s.World.Terrain.Elevation(p) + breast), fmt.Sprintf("wall corner %s", b.ID)})
			}
		}
	}
	return marks
}

// free reports whether no other building stands at a corner: one in a party
// wall cannot be surveyed.
func (s *Scene) free(b *house.Building, p solid.Point) bool {
	const room = 0.5
	for _, o := range s.Buildings {
		if o != b && (o.WallLine.Contains(p) || distanceToEdge(o.WallLine, p) < room) {
			return false
		}
	}
	return true
}
