package accuracy

import (
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// A WallLine is one side of the wall line of a building of the reference, and
// what was stated of it.
type WallLine struct {
	Length float64
	// Points is the number of returns that its façade gave.
	Points int
	// Found is set when a wall was stated beneath a roof edge along it; Error
	// is then how far outward the stated line lies, the median over the
	// middle four fifths, and Sigma its stated standard error with that of
	// the roof edge. Shifted is the error less the block's shift.
	Found                 bool
	Error, Shifted, Sigma float64

	outward orb.Point
}

// wallGate is how far, in metres, a stated wall may lie from the true one to be
// taken for it.
const wallGate = 1.0

// compareWalls finds for each side of a metre or more of the true wall line the
// stated wall.
func (p *Pair) compareWalls(b *Building, f *vector.Footprint) {
	stated, sigmas := statedWalls(f)
	k := 0
	for _, ring := range b.Walls {
		v := vertices(ring)
		for i := range v {
			s := segment{v[i], v[(i+1)%len(v)]}
			points := 0
			if k < len(b.Facades) {
				points = b.Facades[k]
			}
			k++
			if s.length() < leastSide || b.roundSide(s) {
				continue
			}
			w := WallLine{Length: s.length(), Points: points, outward: s.outward()}
			w.Error, w.Found = outwardOffset(s, stated, wallGate)
			w.Shifted, w.Sigma = w.Error, math.NaN()
			if w.Found {
				n, _ := nearest(stated, orb.Point{s.at(0.5)[0] + w.Error*w.outward[0], s.at(0.5)[1] + w.Error*w.outward[1]})
				w.Sigma = sigmas[n]
			}
			p.Walls = append(p.Walls, w)
		}
	}
}

// statedWalls returns the roof edges with a stated overhang, moved inside by it.
func statedWalls(f *vector.Footprint) (walls []segment, sigmas []float64) {
	for _, e := range f.Sides {
		s := segment{e.From, e.To}
		if math.IsNaN(e.Overhang) || s.length() == 0 {
			continue
		}
		n := s.outward()
		move := func(q orb.Point) orb.Point { return orb.Point{q[0] - e.Overhang*n[0], q[1] - e.Overhang*n[1]} }
		walls, sigmas = append(walls, segment{move(s.a), move(s.b)}), append(sigmas, e.SigmaOverhang)
	}
	return walls, sigmas
}

// WallFigures describe the stated wall lines.
type WallFigures struct {
	// Seen is the share of true wall lines with ten façade returns or more
	// that were found, Few that of those with fewer.
	Seen, Few Share
	// Wrong is the share of lines found that lie more than 0.3 m off; RMS and
	// Bias (outward) are of the others, Within the share of those within twice
	// their stated standard error; all with the shift taken off where it is known.
	Wrong, Within Share
	RMS, Bias     float64
}

// FacadeSeen is the number of returns from which a façade counts as seen.
const FacadeSeen = 10

// wallWrong is how far off, in metres, a stated wall is another one.
const wallWrong = 0.3

func (s *Summary) walls(blocks []Block) {
	var errors []float64
	pairs(blocks, func(_ *Block, p *Pair) {
		for _, w := range p.Walls {
			if w.Points >= FacadeSeen {
				s.Walls.Seen.add(w.Found)
			} else {
				s.Walls.Few.add(w.Found)
			}
			if !w.Found {
				continue
			}
			wrong := math.Abs(w.Shifted) > wallWrong
			s.Walls.Wrong.add(wrong)
			if !wrong {
				errors = append(errors, w.Shifted)
				s.Walls.Within.add(math.Abs(w.Shifted) <= 2*w.Sigma)
			}
		}
	})
	s.Walls.RMS, s.Walls.Bias = rootMeanSquare(errors), mean(errors)
}
