package outline

import (
	"math"
	"slices"
)

// A reading is one observation near an edge: how far inside it lies, where along it, and what it says.
type reading struct {
	h, t   float64
	side   Side
	single bool // split can't be told: Inside means that any of the beam met the roof
}

// readings lists the observations between the ends of an edge and within a depth of its line.
func (f *field) readings(s *span, depth float64, merged bool) []reading {
	w := f.around(min(s.ax, s.bx), min(s.ay, s.by), max(s.ax, s.bx), max(s.ay, s.by), depth)
	var near []reading
	for row := w.r0; row < w.r1; row++ {
		for col := w.c0; col < w.c1; col++ {
			c := row*f.cols + col
			for q := f.start[c]; q < f.start[c+1]; q++ {
				h, t := s.inward(f.x[q], f.y[q]), s.along(f.x[q], f.y[q])
				if t < s.ta || t >= s.tb || math.Abs(h) > depth || f.side[q] == Unknown {
					continue
				}
				near = append(near, reading{h, t, f.side[q], merged || f.blind[q]})
			}
		}
	}
	return near
}

// A sideModel tells how likely a reading is when the edge is moved.
type sideModel struct {
	normal      *normalTable
	sigma, beam float64
	floor       float64 // of the labels
	three       bool    // split is a class
}

// logLik is the log-probability of a reading with the edge moved outward by a distance.
func (p *sideModel) logLik(r *reading, moved float64) float64 {
	u := r.h + moved
	grown := p.mass(u + p.beam)
	shrunk := grown
	if !r.single {
		shrunk = p.mass(u - p.beam)
	}
	return math.Log(p.chance(r.side, r.single, shrunk, grown))
}

// chance is the probability of a side, given those of lying within the outline shrunk and grown by the beam.
func (p *sideModel) chance(side Side, single bool, shrunk, grown float64) float64 {
	classes := 2.0
	if p.three {
		classes = 3
	}
	q := shrunk
	switch {
	case side == Outside:
		q = 1 - grown
	case side == Split && !single:
		q = max(grown-shrunk, 0)
	}
	return p.floor + (1-classes*p.floor)*q
}

func (p *sideModel) mass(u float64) float64 {
	z := u / p.sigma
	switch {
	case z <= -7:
		return 0
	case z >= 7:
		return 1
	}
	m, _ := p.normal.at(z)
	return m
}

const (
	offsetSteps  = 48 // of a grid of offsets
	offsetRounds = 8  // grids until one holds all that is likely
	unlikely     = 9  // nats below the best
)

// A placing is what the readings near an edge say of its offset, all else held: the mean and the mean square of how far outward of the
// fit it lies, with every offset as likely before. open is set when it is not bounded within the farthest distance looked at.
type placing struct {
	mean, square float64
	open         bool
}

// place integrates the likelihood over the offset. Where points are few it is no parabola: the edge may lie anywhere between the last roof
// point and the first on the ground, and that gap may be narrow or wide; a wrong label has a weight of its own. reach is a first guess
// of how far the edge may move, far the farthest.
func (p sideModel) place(near []reading, pull, reach, far float64) placing {
	middle := 0.0
	for round := 0; ; round++ {
		reach = min(reach, far)
		step := 2 * reach / offsetSteps
		q := p
		q.sigma = max(p.sigma, step/2)
		moving := within(near, middle, reach+7*q.sigma+q.beam)
		var value [offsetSteps + 1]float64
		best := 0
		for j := range value {
			moved := middle + (float64(j)-offsetSteps/2)*step
			value[j] = -pull * moved
			for i := range moving {
				value[j] += q.logLik(&moving[i], moved)
			}
			if value[j] > value[best] {
				best = j
			}
		}
		lo, hi := 0, offsetSteps
		for value[lo] < value[best]-unlikely {
			lo++
		}
		for value[hi] < value[best]-unlikely {
			hi--
		}
		open := lo == 0 || hi == offsetSteps
		switch {
		case round == offsetRounds || open && reach >= far:
		case open:
			reach *= 2.5
			continue
		case hi-lo < offsetSteps/5:
			middle += (float64(lo+hi)/2 - offsetSteps/2) * step
			reach = float64(hi-lo+2) * 0.8 * step
			continue
		}
		sum, first, second := 0.0, 0.0, 0.0
		for j, v := range value {
			w, moved := math.Exp(v-value[best]), middle+(float64(j)-offsetSteps/2)*step
			sum, first, second = sum+w, first+w*moved, second+w*moved*moved
		}
		return placing{first / sum, second/sum + step*step/12, open}
	}
}

// within lists the readings that far from the line moved outward; the probability of the others is settled.
func within(near []reading, moved, distance float64) []reading {
	var list []reading
	for _, r := range near {
		if math.Abs(r.h+moved) <= distance {
			list = append(list, r)
		}
	}
	return list
}

// sides is the model of the readings near an edge.
func (f *fitter) sides(s *span) sideModel {
	return sideModel{normal: f.l.normal, sigma: max(f.measures.Sigma, 1e-3*f.measures.Spacing), beam: f.measures.at(s).Beam, floor: f.l.mislabel, three: f.l.classes() == 3}
}

// weighEdge puts in place of an edge's mean variance what its own readings say.
func (f *fitter) weighEdge(s *span, p *support) {
	const farthest = 4 // spacings
	sides := f.sides(s)
	near := f.l.readings(s, 5*f.measures.Spacing, f.measures.SplitsMerged)
	if !sides.three {
		near = slices.DeleteFunc(near, func(r reading) bool { return r.side == Split && !r.single })
	}
	pull := s.pull
	at := sides.place(near, pull, 5*math.Sqrt(p.variance), farthest*f.measures.Spacing)
	if at.open || pull != 0 {
		p.variance = max(p.variance, at.square)
		return
	}
	p.variance = max(at.square, p.pattern)
	p.first, p.last = f.ends(s, near, p.variance)
}

const (
	// unmodelled is the chance, before an edge is looked at, that near one of its ends it is not the line that was fitted: a step or a bend
	// below what pays its price, or a thing that passes for roof. Of simple plans one in twenty comes with sides too many or too few.
	unmodelled = 0.05
	// strayReach is how far, in spacings, such a part may lie from the line.
	strayReach = 2
)

// stray is the mean square, over what the readings of one end of an edge leave likely, of how far that end lies from the line if it is
// not part of it, times the chance that it is not (Bayes's theorem, the two ways averaged: Hoeting et al. 1999, Stat. Sci. 14:382). held is the
// variance of the line.
func (p sideModel) stray(near []reading, held, spacing float64) float64 {
	far := strayReach * spacing
	step := 2 * far / offsetSteps
	p.sigma = max(p.sigma, step/2)
	near = within(near, 0, far+7*p.sigma+p.beam)
	var value [offsetSteps + 1]float64
	best := 0
	for j := range value {
		moved := (float64(j) - offsetSteps/2) * step
		for i := range near {
			value[j] += p.logLik(&near[i], moved)
		}
		if value[j] > value[best] {
			best = j
		}
	}
	free, square, line, weight := 0.0, 0.0, 0.0, 0.0
	for j, v := range value {
		moved := (float64(j) - offsetSteps/2) * step
		like, w := math.Exp(v-value[best]), math.Exp(-0.5*moved*moved/(held+step*step/4))
		free, square = free+like, square+like*moved*moved
		line, weight = line+like*w, weight+w
	}
	apart, along := unmodelled*free/(offsetSteps+1), (1-unmodelled)*line/weight
	return apart / (apart + along) * square / free
}

// ends is the stray of both ends of an edge.
func (f *fitter) ends(s *span, near []reading, held float64) (first, last float64) {
	sides := f.sides(s)
	length := max(3*f.measures.Spacing, s.length()/3)
	var a, b []reading
	for _, r := range near {
		if r.t < s.ta+length {
			a = append(a, r)
		}
		if r.t > s.tb-length {
			b = append(b, r)
		}
	}
	return sides.stray(a, held, f.measures.Spacing), sides.stray(b, held, f.measures.Spacing)
}
