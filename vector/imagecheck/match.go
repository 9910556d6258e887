package imagecheck

import "math"

// A lead is how a building's edges may lie in the image, by the crests of its
// evidence, the highest first.
type lead struct {
	crests []crest
	middle vec // about the middle of the block, metres
	height float64
}

// best returns the crest that fits a prediction best, and its score by the
// distance from it.
func (l *lead) best(predicted vec, tolerance float64) (crest, float64) {
	var chosen crest
	top := 0.0
	for _, c := range l.crests {
		d := c.shift.sub(predicted).length() / tolerance
		if v := c.score * math.Exp(-d*d/2); v > top {
			chosen, top = c, v
		}
	}
	return chosen, top
}

// A guess predicts the shift of each building: the same for all, and with it a
// lean that grows with height, the same or away from a nadir.
type guess struct {
	shift, lean vec
	away        float64 // lean per metre from the middle of the block
}

func (g guess) at(l *lead) vec {
	h := l.height
	if math.IsNaN(h) {
		h = 0
	}
	return g.shift.add(g.lean.mul(h)).add(l.middle.mul(g.away * h))
}

// course returns where the edges of a building lie that lies off by a shift.
func (g guess) course(l *lead, shift vec) course {
	w := course{shift: shift, height: l.height}
	if !math.IsNaN(l.height) {
		w.lean = g.lean.add(l.middle.mul(g.away))
	}
	return w
}

// support adds up what the buildings say for a guess.
func (g guess) support(leads []lead, tolerance float64) float64 {
	sum := 0.0
	for i := range leads {
		_, v := leads[i].best(g.at(&leads[i]), tolerance)
		sum += v
	}
	return sum
}

// Limits of the search for a common guess.
const (
	shiftGuesses = 400
	leanGuesses  = 1500
)

// leadsOn returns how each building lies in the image, roughly: the crest that
// fits what most buildings agree on, or the building's highest one where it does
// not fit by far.
//
// What they agree on is a shift, or, where heights are known and that explains
// clearly more, a shift with lean, found by trying what single buildings and
// triples of buildings say (Fischler & Bolles 1981).
func leadsOn(leads []lead, tolerance, reach float64) []course {
	free := 0.0
	for i := range leads {
		if len(leads[i].crests) > 0 {
			free += leads[i].crests[0].score
		}
	}
	common, support := commonShift(leads, tolerance)
	leaning, leanSupport := commonLean(leads, tolerance, reach)
	const clearly = 0.05 // of all evidence, a lean has to explain more than a shift
	if leanSupport > support+clearly*free {
		common, support = leaning, leanSupport
	}
	agreed := support > 0.5*free
	out := make([]course, len(leads))
	for i := range leads {
		l := &leads[i]
		if len(l.crests) == 0 {
			out[i] = common.course(l, common.at(l))
			continue
		}
		c, score := l.best(common.at(l), tolerance)
		if !agreed || score < 0.5*l.crests[0].score {
			c = l.crests[0]
		}
		out[i] = common.course(l, c.shift)
	}
	return out
}

func commonShift(leads []lead, tolerance float64) (guess, float64) {
	var best guess
	top := best.support(leads, tolerance)
	stride := 1 + len(leads)/shiftGuesses
	for i := 0; i < len(leads); i += stride {
		for _, c := range leads[i].crests[:min(len(leads[i].crests), 3)] {
			g := guess{shift: c.shift}
			if v := g.support(leads, tolerance); v > top {
				best, top = g, v
			}
		}
	}
	return best, top
}

// commonLean tries triples of buildings with known heights.
func commonLean(leads []lead, tolerance, reach float64) (guess, float64) {
	var known []int
	for i := range leads {
		if len(leads[i].crests) > 0 && leads[i].height > 0 {
			known = append(known, i)
		}
	}
	var best guess
	top := 0.0
	if len(known) < 5 {
		return best, top // any three would agree
	}
	state := uint64(1)
	draw := func(n int) int { // a fixed sequence (Knuth's MMIX constants)
		state = state*6364136223846793005 + 1442695040888963407
		return int((state >> 33) % uint64(n))
	}
	for range leanGuesses {
		s := newSystem(5)
		for range 3 {
			l := &leads[known[draw(len(known))]]
			c := l.crests[draw(min(len(l.crests), 2))]
			h := l.height
			s.add([]float64{1, 0, h, 0, h * l.middle.x}, c.shift.x, 1)
			s.add([]float64{0, 1, 0, h, h * l.middle.y}, c.shift.y, 1)
		}
		x := s.solve()
		if x == nil || math.Hypot(x[0], x[1]) > reach || math.Hypot(x[2], x[3]) > 1 || math.Abs(x[4]) > 0.05 {
			continue
		}
		g := guess{vec{x[0], x[1]}, vec{x[2], x[3]}, x[4]}
		if v := g.support(leads, tolerance); v > top {
			best, top = g, v
		}
	}
	return best, top
}
