package outline

import (
	"math"
	"slices"
)

// A sighting is what the observations show of one edge: strips of half a spacing to two and a half on both sides of it.
type sighting struct {
	// in, out count the observations of the right side in each strip; the areas are those parts of the strips that lie on the right
	// side of the whole outline, square metres.
	in, out         float64
	areaIn, areaOut float64
	// bins cut the edge into pieces of about three spacings.
	bins []bin
	// gaps are those between the projections of the points on the normal, inside and outside.
	gaps [2]gapSums
	// inward and outward are those distances themselves, ascending.
	inward, outward []float64
	// slackIn and slackOut are how far the edge may move inward and outward before an observation is on the wrong side; +Inf for ever.
	slackIn, slackOut float64
	// inside, split and outside count all within two and a half spacings.
	count [4]int
	// wrong counts those of them on the wrong side, unexplained those further off than noise and beam explain; wrongSq sums the squared
	// distances of the former.
	wrong, unexplained int
	wrongSq            float64
	// deep counts the inside observations one to five spacings from the edge, and their area: a density that does not suffer from an
	// edge half a cell off.
	deep, areaDeep float64
}

// gapSums are the sums of the first three powers of gaps.
type gapSums struct{ one, two, three float64 }

func (g gapSums) plus(h gapSums) gapSums {
	return gapSums{g.one + h.one, g.two + h.two, g.three + h.three}
}

// A bin is a piece of an edge: its middle along the edge, and what lies on both sides of it, as in a sighting.
type bin struct{ t, in, out, areaIn, areaOut float64 }

// look takes the sighting of every edge of a laid-out model.
func look(f *field, spans []span, m Measures) []sighting {
	seen := make([]sighting, len(spans))
	for i := range spans {
		seen[i] = f.sight(spans, i, m)
	}
	return seen
}

func (f *field) sight(spans []span, i int, m Measures) sighting {
	s, spacing := &spans[i], m.Spacing
	m = m.at(s)
	length := s.length()
	g := sighting{slackIn: math.Inf(1), slackOut: math.Inf(1)}
	g.bins = make([]bin, min(max(int(length/(3*spacing)), 1), 64))
	width := length / float64(len(g.bins))
	for k := range g.bins {
		g.bins[k].t = s.ta + (float64(k)+0.5)*width
		g.bins[k].areaIn, g.bins[k].areaOut = binAreas(spans, s, g.bins[k].t, width, spacing)
		g.areaIn += g.bins[k].areaIn
		g.areaOut += g.bins[k].areaOut
		g.areaDeep += deepArea(spans, s, g.bins[k].t, width, spacing)
	}
	depth := 5 * spacing
	w := f.around(min(s.ax, s.bx), min(s.ay, s.by), max(s.ax, s.bx), max(s.ay, s.by), depth)
	var in, out []float64
	for row := w.r0; row < w.r1; row++ {
		for col := w.c0; col < w.c1; col++ {
			c := row*f.cols + col
			x, y := f.x0+(float64(col)+0.5)*f.cell, f.y0+(float64(row)+0.5)*f.cell
			if math.Abs(s.inward(x, y)) > depth+f.cell {
				continue
			}
			for p := f.start[c]; p < f.start[c+1]; p++ {
				h, t := s.inward(f.x[p], f.y[p]), s.along(f.x[p], f.y[p])
				if t < s.ta || t >= s.tb || math.Abs(h) > depth {
					continue
				}
				g.add(f.side[p], h, min(int((t-s.ta)/width), len(g.bins)-1), spacing)
				g.addWrong(f.side[p], h, m)
				slackIn, slackOut := m.slack(f.side[p], h, f.blind[p])
				g.slackIn, g.slackOut = min(g.slackIn, slackIn), min(g.slackOut, slackOut)
				if f.side[p] == Inside && h > 0 {
					in = append(in, h)
				} else if f.side[p] == Outside && h < 0 {
					out = append(out, -h)
				}
			}
		}
	}
	slices.Sort(in)
	slices.Sort(out)
	g.inward, g.outward = in, out
	g.gaps = [2]gapSums{sumGaps(in), sumGaps(out)}
	return g
}

// add counts one observation at distance h inside the edge.
func (g *sighting) add(side Side, h float64, k int, spacing float64) {
	if math.Abs(h) < 2.5*spacing {
		g.count[side]++
	}
	strip := math.Abs(h) >= 0.5*spacing && math.Abs(h) < 2.5*spacing
	switch {
	case side == Inside && h > 0:
		if h >= spacing {
			g.deep++
		}
		if strip {
			g.in++
			g.bins[k].in++
		}
	case side == Outside && h < 0:
		if strip {
			g.out++
			g.bins[k].out++
		}
	}
}

// addWrong counts an observation on the wrong side.
func (g *sighting) addWrong(side Side, h float64, m Measures) {
	if math.Abs(h) >= 2.5*m.Spacing || !(side == Inside && h < 0 || side == Outside && h > 0) {
		return
	}
	g.wrong++
	g.wrongSq += h * h
	if math.Abs(h) > 3*m.Sigma+m.Beam+0.1*m.Spacing {
		g.unexplained++
	}
}

// slack is how far inward and outward an edge may move before an observation at distance h inside it is on the wrong side, +Inf where it
// does not bind. Observations that are on the wrong side already do not bind.
func (m Measures) slack(side Side, h float64, blind bool) (in, out float64) {
	in, out = math.Inf(1), math.Inf(1)
	inner, outer := m.Beam, m.Beam
	if m.SplitsMerged || blind {
		inner = -m.Beam
		if side == Split {
			side = Inside
		}
	}
	switch side {
	case Inside:
		in = h - inner
	case Outside:
		out = -h - outer
	case Split:
		if m.Beam > 0 {
			in, out = m.Beam+h, m.Beam-h
		}
	}
	if in < 0 || out < 0 {
		return math.Inf(1), math.Inf(1)
	}
	return in, out
}

// binAreas is the area of the strips of one bin that lies truly on the roof, and truly off it, judged at eight places a side.
func binAreas(spans []span, s *span, t, width, spacing float64) (in, out float64) {
	const places = 8
	for _, dt := range [4]float64{-0.375, -0.125, 0.125, 0.375} {
		for _, h := range [2]float64{spacing, 2 * spacing} {
			x, y := s.place(t+dt*width, h)
			if winding(spans, nil, x, y) == 1 {
				in += 2 * spacing * width / places
			}
			if x, y = s.place(t+dt*width, -h); winding(spans, nil, x, y) == 0 {
				out += 2 * spacing * width / places
			}
		}
	}
	return in, out
}

// deepArea is the area on the roof one to five spacings inside one bin, judged at eight places.
func deepArea(spans []span, s *span, t, width, spacing float64) float64 {
	area := 0.0
	for _, dt := range [2]float64{-0.25, 0.25} {
		for h := 1.5; h < 5; h++ {
			if x, y := s.place(t+dt*width, h*spacing); winding(spans, nil, x, y) == 1 {
				area += spacing * width / 2
			}
		}
	}
	return area
}

// place is the point at t along the edge and h inside it.
func (s *span) place(t, h float64) (x, y float64) {
	return (s.d-h)*s.nx - t*s.ny, (s.d-h)*s.ny + t*s.nx
}

// sumGaps takes ascending distances.
func sumGaps(h []float64) (g gapSums) {
	for i := 1; i < len(h); i++ {
		d := h[i] - h[i-1]
		g = g.plus(gapSums{d, d * d, d * d * d})
	}
	return g
}

// pattern are the gaps of the sides that are seen.
func (g *sighting) pattern(pull float64) gapSums {
	switch {
	case pull > 0:
		return g.gaps[0]
	case pull < 0:
		return g.gaps[1]
	}
	return g.gaps[0].plus(g.gaps[1])
}

// densities are the observations per square metre inside and outside, pulled towards the whole building's by ten pseudo-counts.
func (g *sighting) densities(whole float64) (in, out float64) {
	const pseudo = 10
	return (g.in + pseudo) / (g.areaIn + pseudo/whole), (g.out + pseudo) / (g.areaOut + pseudo/whole)
}

// wholeDensity is the density of observations along the outline, from those strips that show any.
func wholeDensity(seen []sighting, spacing float64) float64 {
	n, area := 0.0, 0.0
	for i := range seen {
		for _, b := range seen[i].bins {
			if b.in > 0 {
				n, area = n+b.in, area+b.areaIn
			}
			if b.out > 0 {
				n, area = n+b.out, area+b.areaOut
			}
		}
	}
	const pseudo = 20
	return (n + pseudo) / (area + pseudo*spacing*spacing)
}

// recurrence is the mean distance from a place chosen at random to the next projected point, E[g²]/2E[g] over the gaps g, with thirty
// pseudo-gaps of a Poisson pattern of the given rate: the outermost roof point lies inside the edge by as much. Lines of points
// parallel to the edge make it half their distance.
func (g gapSums) recurrence(rate float64) float64 {
	const pseudo = 30
	return (g.two + pseudo*2/(rate*rate)) / (2 * (g.one + pseudo/rate))
}

// gapVariance is the variance of the middle of the gap that a place chosen at random falls in, E[g³]/12E[g]: 1/2r² for a Poisson
// pattern of rate r, d²/12 for lines d apart.
func (g gapSums) variance(rate float64) float64 {
	const pseudo = 30
	return (g.three + pseudo*6/(rate*rate*rate)) / (12 * (g.one + pseudo/rate))
}

// missing is the share of one strip's points that the other lacks: 0 when the lack may be chance.
func missing(has, hasArea, lacks, lacksArea float64) float64 {
	if hasArea <= 0 || lacksArea <= 0 {
		return 0
	}
	expected := has * lacksArea / hasArea
	if expected-lacks > 2.5*math.Sqrt(expected+lacks) || lacks == 0 && expected > 0 {
		return 1 - lacks/expected
	}
	return 0
}

// setPulls gives each edge of m the force of what its sightings lack: with roof points up to the edge and nothing beyond, the chance
// of no roof point in a strip of width x outside them falls as exp(-x/recurrence). It is worked out once, from an outline that has not
// yet moved: a fit without it drifts, and then shows no lack.
func (m *model) setPulls(f *field, me Measures) {
	spans := m.spans(0, nil)
	seen := look(f, spans, me)
	whole := wholeDensity(seen, me.Spacing)
	for i := range spans {
		s, g := &spans[i], &seen[i]
		e := &m.rings[s.ring][s.index]
		e.pull = 0
		out, in := missing(g.in, g.areaIn, g.out, g.areaOut), missing(g.out, g.areaOut, g.in, g.areaIn)
		if out == 0 && in == 0 {
			continue
		}
		rate := g.pullDensity(whole, out > 0) * s.length()
		e.pull = (out - in) / g.pattern(out-in).recurrence(rate)
		e.pullX, e.pullY = s.place(g.lackCentre(out > 0), 0)
	}
}

// pullDensity is the density of observations on the side that has them.
func (g *sighting) pullDensity(whole float64, inside bool) float64 {
	const pseudo = 10
	if inside {
		return (g.deep + pseudo) / (g.areaDeep + pseudo/whole)
	}
	return (g.out + pseudo) / (g.areaOut + pseudo/whole)
}

// lackCentre is where along the edge the lack of points is centred.
func (g *sighting) lackCentre(outside bool) float64 {
	sum, weight := 0.0, 0.0
	for _, b := range g.bins {
		n, area := b.in, b.areaIn
		if outside {
			n, area = b.out, b.areaOut
		}
		w := 1e-9
		if area > 0 {
			w += 1 / (1 + n)
		}
		sum, weight = sum+w*b.t, weight+w
	}
	return sum / weight
}
