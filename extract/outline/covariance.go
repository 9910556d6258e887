package outline

import "math"

// The information of n points per metre of offset at noise sigma is 1.8064·n/sigma where both sides are seen and half of it from one
// side: ∫φ²/(Φ(1-Φ)) over the real line.
const edgeInformation = 1.8064

// A precision model turns sightings into the variance of an edge's offset.
type precision struct {
	sigma, beam, spacing float64
	gain                 float64 // of the third class in the smooth regime, 1 to 2
}

func newPrecision(m Measures, three bool) precision {
	p := precision{sigma: m.Sigma, spacing: m.Spacing, gain: 1}
	if three && m.Beam > 0 {
		p.beam = m.Beam
		p.gain = 2
		if m.Sigma > 0 {
			p.gain = classInformation(m.Beam/m.Sigma) / classInformation(0)
		}
	}
	return p
}

// classInformation is the Fisher information of the offset of an edge, times sigma/(points per metre), from ordered classes parted at
// -f and +f (in sigmas); two classes for f = 0. Simpson's rule, error below 1e-6.
func classInformation(f float64) float64 {
	const n, width = 400, 10.0
	half := width + f
	sum := 0.0
	for i := 0; i <= n; i++ {
		u := -half + 2*half*float64(i)/n
		a, b := cumulative(u-f), cumulative(-u-f)
		da, db := density(u-f), density(u+f)
		v := 0.0
		if a > 1e-300 {
			v += da * da / a
		}
		if b > 1e-300 {
			v += db * db / b
		}
		if c := 1 - a - b; c > 1e-12 {
			v += (da - db) * (da - db) / c
		}
		weight := 2 + 2*float64(i&1)
		if i == 0 || i == n {
			weight = 1
		}
		sum += weight * v
	}
	return sum * 2 * half / n / 3
}

// A support is what the covariance needs of one edge: the variance of its offset at the centre of what is seen of it, that centre, and
// the mean square of the seen length about it.
type support struct {
	variance, centre, spreadSq, seen, missing float64
	pattern                                   float64 // the least that scan lines leave
	first, last                               float64 // what its ends may stray from it, square metres
}

// support joins the two regimes, up to a standard error of ten spacings, more than any start is off: with exact places the edge is free within a gap between points, whose variance V₀ follows from the
// pattern of the points; with noise much larger than the gaps Fisher's information rules. V = (V₀^1.5 + V∞^1.5)^(2/3) is within 3 % of
// simulation in between.
func (p precision) support(s *span, g *sighting, whole float64) support {
	length := s.length()
	rhoIn, rhoOut := g.densities(whole)
	rate := max(rhoIn, rhoOut) * length
	gaps := g.pattern(s.pull)
	recurrence := gaps.recurrence(rate)
	sup := support{missing: min(math.Abs(s.pull)*recurrence, 1)}
	if s.pull == 0 {
		rate = length * 2 * rhoIn * rhoOut / (rhoIn + rhoOut)
		recurrence = gaps.recurrence(rate)
	}
	two := gaps.variance(rate) * p.split(rate)
	one := max(4*gaps.variance(rate)-recurrence*recurrence, 0)
	apart, share := scanLines(g.inward, g.outward, p.spacing, p.sigma)
	share *= min(max((share-0.15)/0.2, 0), 1) // lines that cross the edge, or few points on lines, do no harm
	two, one = max(two, share*apart*apart/12), max(one, share*apart*apart/12)
	sup.pattern = share * apart * apart / 12
	hard := (1-sup.missing)*two + sup.missing*one
	if gap := g.slackIn + g.slackOut; s.pull == 0 && gap > 0 && gap < 1e6 {
		hard = p.given(hard, gap, recurrence)
	}
	soft := p.sigma / (edgeInformation * p.gain * rate * (1 - sup.missing/2))
	sup.variance = min(math.Pow(math.Pow(hard, 1.5)+math.Pow(soft, 1.5), 2.0/3), 100*p.spacing*p.spacing)
	sup.place(s, g)
	return sup
}

// given is the variance for the gap that is seen around the edge. One wider than the pattern leads to expect leaves more room than the mean over
// all gaps does; a third of the excess is taken, since the gap is open at its ends where edges meet. One eight times as wide is no gap of
// the pattern: the edge is hidden from both sides, and the gap is all that is known.
func (p precision) given(mean, gap, recurrence float64) float64 {
	seen := gap * gap / 12
	if gap > 8*recurrence {
		return max(mean, seen)
	}
	return (2*mean + max(mean, seen)) / 3
}

// split is what the third class makes of the variance of the gap: with it a pulse within the beam's width of the edge bounds it too, so
// the chance that no pulse bounds the edge within y is exp(-rate·(y + min(y, 2f))) instead of exp(-rate·y).
func (p precision) split(rate float64) float64 {
	if p.beam == 0 {
		return 1
	}
	f2, q := 2*p.beam, math.Exp(-4*rate*p.beam)
	mean := (1-q)/(2*rate) + q/rate
	square := 2*(1/(4*rate*rate)-q*(f2/(2*rate)+1/(4*rate*rate))) + 2*q*(f2/rate+1/(rate*rate))
	return (2*square + 2*mean*mean) / 12 / (0.5 / (rate * rate))
}

// place finds the centre and spread of the bins that are seen from both sides, or of the whole edge when none is.
func (p *support) place(s *span, g *sighting) {
	width := s.length() / float64(len(g.bins))
	sum, first, second := 0.0, 0.0, 0.0
	for _, b := range g.bins {
		if b.seen() {
			sum, first, second = sum+1, first+b.t, second+b.t*b.t
		}
	}
	p.seen = sum / float64(len(g.bins))
	if sum == 0 || p.missing > 0.5 {
		p.centre, p.spreadSq = (s.ta+s.tb)/2, s.length()*s.length()/12
		return
	}
	p.centre = first / sum
	p.spreadSq = max(second/sum-p.centre*p.centre, 0) + width*width/12
}

// seen tells whether a bin shows both of its sides: at least a quarter of what the better shows. A side without room of its own, as in
// the corner of a notch, is taken as seen.
func (b *bin) seen() bool {
	in, out := b.in, b.out
	if b.areaIn > 0 && b.areaOut > 0 {
		out *= b.areaIn / b.areaOut
	}
	if in == 0 && out == 0 {
		return false
	}
	most := max(in, out)
	return (b.areaIn == 0 || in >= most/4) && (b.areaOut == 0 || out >= most/4)
}

// covariance is the inverse of the information of all edges about directions and offsets, row by row. Each edge tells its offset at the
// centre of what is seen, d - centre·θ, and its direction, with variance V/spread². ok is false when it cannot be inverted.
func covariance(m *model, spans []span, supports []support) (cov []float64, ok bool) {
	n := m.parameters()
	info := make([]float64, n*n)
	for i := range spans {
		s, p := &spans[i], &supports[i]
		w := 1 / p.variance
		g, d := s.family, s.param
		info[d*n+d] += w
		info[g*n+g] += w * (p.centre*p.centre + p.spreadSq)
		info[g*n+d] -= w * p.centre
		info[d*n+g] -= w * p.centre
	}
	for g := range m.theta { // before any observation, a direction is somewhere in a quarter turn
		info[g*n+g] += 12 / (math.Pi / 2 * math.Pi / 2)
	}
	if !cholesky(info, n) {
		return nil, false
	}
	cov = make([]float64, n*n)
	column := make([]float64, n)
	for c := range n {
		clear(column)
		column[c] = 1
		solveCholesky(info, n, column)
		for r := range n {
			cov[r*n+c] = column[r]
		}
	}
	return cov, true
}

// cornerCovariance propagates to the corner at the end of edge a, where b begins: its normal shift by each line is δd - t·δθ.
func cornerCovariance(n int, cov []float64, a, b *span) (xx, xy, yy float64) {
	cross := a.nx*b.ny - a.ny*b.nx
	index := [4]int{a.param, a.family, b.param, b.family}
	ta, tb := a.along(a.bx, a.by), b.along(a.bx, a.by)
	jx := [4]float64{b.ny / cross, -ta * b.ny / cross, -a.ny / cross, tb * a.ny / cross}
	jy := [4]float64{-b.nx / cross, ta * b.nx / cross, a.nx / cross, -tb * a.nx / cross}
	for i, p := range index {
		for k, q := range index {
			c := cov[p*n+q]
			xx += jx[i] * jx[k] * c
			xy += jx[i] * jy[k] * c
			yy += jy[i] * jy[k] * c
		}
	}
	return xx, xy, yy
}

// cornerDoubt is what the corner where a ends and b begins has of its own beside the errors of the parameters: that the edges stray
// from their lines there, by the given variances, and that the corner is slanted.
func (f *fitter) cornerDoubt(a, b *span, va, vb float64) (xx, xy, yy float64) {
	cross := a.nx*b.ny - a.ny*b.nx
	va, vb = va/(cross*cross), vb/(cross*cross)
	xx, xy, yy = f.cutCorner(a, b)
	return xx + va*b.ny*b.ny + vb*a.ny*a.ny, xy - va*b.nx*b.ny - vb*a.nx*a.ny, yy + va*b.nx*b.nx + vb*a.nx*a.nx
}

// areaVariance propagates to the area: an edge that moves outward by one adds its length, one that turns shifts by its middle.
func areaVariance(n int, cov []float64, spans []span) float64 {
	j := make([]float64, n)
	for i := range spans {
		s := &spans[i]
		j[s.param] += s.length()
		j[s.family] -= s.length() * (s.ta + s.tb) / 2
	}
	sum := 0.0
	for r := range n {
		for c := range n {
			sum += j[r] * j[c] * cov[r*n+c]
		}
	}
	return sum
}

// doubtBeam adds to the offsets' covariance that the borders of Split lie elsewhere: for all edges by the same amount, and for each by one of
// its own.
func doubtBeam(directions, n int, cov []float64, doubt float64) {
	v := doubt * doubt
	for i := directions; i < n; i++ {
		cov[i*n+i] += v
		for k := directions; k < n; k++ {
			cov[i*n+k] += v
		}
	}
}
