package scene

import (
	"bufio"
	"fmt"
	"io"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
)

// surveyNoise is the standard deviation of a surveyed coordinate in metres.
const surveyNoise = 0.01

// A mark is a surveyed roof corner.
type mark struct {
	at          solid.Vec // true, local metres
	description string
}

// marks chooses the corners that are surveyed: of every second larger
// building two that lie apart, seen from above.
func (s *Scene) marks() []mark {
	dice := chance.New(s.Spec.Seed, 0xc0de)
	var marks []mark
	for i, b := range s.Buildings {
		if b.RoofEdge.Area() < 25 || len(b.Arcs) > 0 || (i%2 == 1 && len(s.Buildings) > 8) {
			continue
		}
		ring := b.RoofEdge[0]
		start := dice.Pick(len(ring))
		for _, k := range []int{start, start + len(ring)/2} {
			p := ring[k%len(ring)]
			if s.cornerSeen(b, i, p) {
				marks = append(marks, mark{p.Up(b.EdgeAt(p)), "roof corner " + b.ID})
			}
		}
	}
	return marks
}

// cornerSeen reports whether the corner of a building is in the block and in
// view from above.
func (s *Scene) cornerSeen(b *house.Building, object int, p solid.Point) bool {
	const room = 2.0
	if p.X < s.Low.X+room || p.X > s.High.X-room || p.Y < s.Low.Y+room || p.Y > s.High.Y-room {
		return false
	}
	return s.seen(inwards(b.RoofEdge, p, 0.15), object)
}

// blunderShift is the size of a gross error in metres.
const blunderShift = 0.8

// writeControl writes the survey: with noise, and with as many blunders among
// the roof corners as the spec asks for, which the truth names.
func (s *Scene) writeControl(path string) error {
	return writeFile(path, func(w io.Writer) error {
		out := bufio.NewWriter(w)
		fmt.Fprintln(out, "point,northing,easting,elevation,description,role,sigma_h,sigma_u")
		bad := s.blunders()
		for i, m := range s.marks() {
			dice := chance.New(s.Spec.Seed, 0x5a3e, uint64(i))
			p := m.at.Add(solid.Vec{X: dice.Normal(), Y: dice.Normal(), Z: dice.Normal()}.Scale(surveyNoise))
			if bad[i] {
				p.X += blunderShift
				p.Y -= blunderShift / 2
			}
			s.writeMark(out, firstMark+i, mark{p, m.description})
		}
		for k, list := range [][]mark{s.groundMarks(), s.wallMarks()} {
			for i, m := range list {
				dice := chance.New(s.Spec.Seed, 0x5a3f, uint64(k), uint64(i))
				p := m.at.Add(solid.Vec{X: dice.Normal(), Y: dice.Normal(), Z: dice.Normal()}.Scale(surveyNoise))
				s.writeMark(out, [2]int{firstGround, firstWall}[k]+i, mark{p, m.description})
			}
		}
		return out.Flush()
	})
}

// writeMark writes one point as surveyed. All are check points, and the noise
// that they have is what their standard errors say.
func (s *Scene) writeMark(out io.Writer, number int, m mark) {
	at, sigma := s.datum.position(solid.Point{X: m.at.X, Y: m.at.Y}), s.datum.length(surveyNoise)
	fmt.Fprintf(out, "%d,%.4f,%.4f,%.4f,%s,check,%.4f,%.4f\n", number, at[1], at[0], s.datum.length(m.at.Z), m.description, sigma, sigma)
}

// The numbers of the first points on roofs, on the ground and on walls.
const firstMark, firstGround, firstWall = 101, 2001, 3001

// blunders returns which marks have a gross error.
func (s *Scene) blunders() map[int]bool {
	bad := map[int]bool{}
	n := len(s.marks())
	dice := chance.New(s.Spec.Seed, 0xbad)
	for len(bad) < min(s.Spec.Blunders, n) {
		bad[dice.Pick(n)] = true
	}
	return bad
}
