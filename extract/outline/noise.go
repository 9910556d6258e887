package outline

import "math"

const (
	noiseSteps   = 25   // candidates of sigma
	noiseFirst   = 3e-3 // metres, the smallest
	noiseRatio   = 1.2  // from one to the next; the largest is 0.24 m
	noiseReach   = 0.75 // metres from an edge that are looked at
	noiseBin     = 2e-3 // metres
	noiseNats    = 4096 // units of NoiseEvidence a nat
	noisePiece   = 8.0  // metres of edge with one offset of its own
	noiseOffsets = 41   // offsets over which a piece is integrated
	beamSteps    = 16
)

// beamCandidates are the half-widths tried, metres.
func beamCandidates() [beamSteps]float64 {
	return [beamSteps]float64{0, 0.01, 0.015, 0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.1, 0.12, 0.15, 0.2, 0.25, 0.3, 0.4}
}

// NoiseEvidence is what edges say about noise and beam: for each pair of candidates the log-likelihood of the observations near them,
// in whole units of 1/4096 nat, so that sums are the same in any order. The offset of every piece of edge is integrated out; a
// likelihood maximised over offsets would favour small noise, since each edge fits its own points.
type NoiseEvidence struct {
	LogLik [noiseSteps][beamSteps]int64
	// Pieces is the number of pieces of edge; Inside, Split and Outside count the observations used.
	Pieces                 int64
	Inside, Split, Outside int64
}

// Add adds the evidence of other buildings.
func (e *NoiseEvidence) Add(other NoiseEvidence) {
	for i := range e.LogLik {
		for k := range e.LogLik[i] {
			e.LogLik[i][k] += other.LogLik[i][k]
		}
	}
	e.Pieces += other.Pieces
	e.Inside, e.Split, e.Outside = e.Inside+other.Inside, e.Split+other.Split, e.Outside+other.Outside
}

// EstimateNoise returns the noise per axis and the half-width of the beam, metres, that the pooled evidence makes most likely, to about
// 2 % between candidates. ok is false when nothing was pooled, or so little that the evidence does not tell the best noise from one
// half or twice as large by two nats; the defaults should then stand.
func EstimateNoise(e NoiseEvidence) (sigma, beam float64, ok bool) {
	bi, bk := 0, 0
	for i := range e.LogLik {
		for k := range e.LogLik[i] {
			if e.LogLik[i][k] > e.LogLik[bi][bk] {
				bi, bk = i, k
			}
		}
	}
	if e.Pieces == 0 {
		return 0, 0, false
	}
	column := func(i int) float64 { return float64(e.LogLik[i][bk]) }
	row := func(k int) float64 { return float64(e.LogLik[bi][k]) }
	sigma = noiseFirst * math.Pow(noiseRatio, float64(bi)+vertex(column, bi, noiseSteps))
	beams := beamCandidates()
	beam = beams[bk]
	if t := vertex(row, bk, beamSteps); t < 0 {
		beam += t * (beams[bk] - beams[bk-1])
	} else if t > 0 {
		beam += t * (beams[bk+1] - beams[bk])
	}
	least := 2.0 * noiseNats
	clear := func(i int) bool { return i < 0 || i >= noiseSteps || column(bi)-column(i) > least }
	return sigma, beam, clear(bi-4) && clear(bi+4)
}

// EstimateApart returns one noise for all parts of the evidence, and for each a half-width of its own, as of edges that lie along and
// across the flight of an elongated beam. gain is by how many nats that is more likely than one half-width for all. ok is as for
// EstimateNoise.
func EstimateApart(parts ...NoiseEvidence) (sigma float64, beams []float64, gain float64, ok bool) {
	var total [noiseSteps]float64
	var together NoiseEvidence
	bi := 0
	for i := range total {
		for _, p := range parts {
			total[i] += float64(p.LogLik[i][p.bestBeam(i)])
		}
		if total[i] > total[bi] {
			bi = i
		}
	}
	candidates := beamCandidates()
	for _, p := range parts {
		together.Add(p)
		k := p.bestBeam(bi)
		beam := candidates[k]
		if t := vertex(func(k int) float64 { return float64(p.LogLik[bi][k]) }, k, beamSteps); t < 0 {
			beam += t * (candidates[k] - candidates[k-1])
		} else if t > 0 {
			beam += t * (candidates[k+1] - candidates[k])
		}
		beams = append(beams, beam)
	}
	if together.Pieces == 0 {
		return 0, nil, 0, false
	}
	one := math.Inf(-1)
	for i := range total {
		one = max(one, float64(together.LogLik[i][together.bestBeam(i)]))
	}
	clear := func(i int) bool { return i < 0 || i >= noiseSteps || total[bi]-total[i] > 2*noiseNats }
	sigma = noiseFirst * math.Pow(noiseRatio, float64(bi)+vertex(func(i int) float64 { return total[i] }, bi, noiseSteps))
	return sigma, beams, (total[bi] - one) / noiseNats, clear(bi-4) && clear(bi+4)
}

// bestBeam is the most likely half-width for a noise, both by number.
func (e *NoiseEvidence) bestBeam(sigma int) int {
	best := 0
	for k, v := range e.LogLik[sigma] {
		if v > e.LogLik[sigma][best] {
			best = k
		}
	}
	return best
}

// vertex is where the parabola through the values at best-1, best and best+1 peaks, from -½ to ½; 0 at the ends.
func vertex(value func(int) float64, best, n int) float64 {
	if best == 0 || best == n-1 {
		return 0
	}
	a, b, c := value(best-1), value(best), value(best+1)
	if a+c-2*b >= 0 {
		return 0
	}
	return min(max((a-c)/(2*(a+c-2*b)), -0.5), 0.5)
}

// A Profiler holds the tables with which evidence is taken. It is read-only after it is made: concurrent use is safe.
type Profiler struct {
	// table[i][k][side] is ln P(side | distance) for the candidates, by distance in bins from -noiseReach-margin.
	table [noiseSteps][beamSteps][3][]float32
	half  int
}

// NewProfiler works out the tables, some 10 MB, in about 50 ms. mislabel is as in Options.
func NewProfiler(mislabel float64) *Profiler {
	p := &Profiler{half: int(2 * noiseReach / noiseBin)}
	beams := beamCandidates()
	n := 2*p.half + 1
	for i := range p.table {
		sigma := noiseFirst * math.Pow(noiseRatio, float64(i))
		for k := range p.table[i] {
			for side := range p.table[i][k] {
				p.table[i][k][side] = make([]float32, n)
			}
			for b := range n {
				u := float64(b-p.half) * noiseBin // outward
				in, out := cumulative((-u-beams[k])/sigma), cumulative((u-beams[k])/sigma)
				scale := 1 - 3*mislabel
				p.table[i][k][Inside][b] = float32(math.Log(mislabel + scale*in))
				p.table[i][k][Split][b] = float32(math.Log(mislabel + scale*max(1-in-out, 0)))
				p.table[i][k][Outside][b] = float32(math.Log(mislabel + scale*out))
			}
		}
	}
	return p
}

// Evidence takes the evidence of the long edges of r that are seen from both sides, from the observations that r was fitted to. Pieces
// of edge keep a metre, or three spacings if more, from the corners.
func (p *Profiler) Evidence(obs []Observation, m Measures, r Result) NoiseEvidence {
	var e NoiseEvidence
	f := newField(sortedCopy(obs, r.OriginX, r.OriginY), max(3*m.Spacing, 0.5))
	for _, ring := range r.Rings {
		for i, edge := range ring.Edges {
			if edge.Seen < 0.9 || edge.OneSided {
				continue
			}
			a, b := ring.Vertices[i], ring.Vertices[(i+1)%len(ring.Vertices)]
			s := segment(a.X-r.OriginX, a.Y-r.OriginY, b.X-r.OriginX, b.Y-r.OriginY)
			margin := max(1, 3*m.Spacing)
			usable := s.length() - 2*margin
			if usable < max(1, 3*m.Spacing) {
				continue
			}
			pieces := max(1, math.Round(usable/noisePiece))
			for k := range int(pieces) {
				t := s.ta + margin + float64(k)*usable/pieces
				p.piece(&e, f, &s, t, usable/pieces, m)
			}
		}
	}
	return e
}

// segment is the span from a to b with the roof on its left.
func segment(ax, ay, bx, by float64) span {
	l := math.Hypot(bx-ax, by-ay)
	s := span{nx: (by - ay) / l, ny: (ax - bx) / l, ax: ax, ay: ay, bx: bx, by: by}
	s.d = s.nx*ax + s.ny*ay
	s.ta, s.tb = s.along(ax, ay), s.along(bx, by)
	return s
}

func sortedCopy(obs []Observation, ox, oy float64) []Observation {
	c := make([]Observation, len(obs))
	for i, o := range obs {
		c[i] = Observation{o.X - ox, o.Y - oy, o.Side, o.Swath, o.Blind}
	}
	return c
}

// piece adds the evidence of one piece of edge: for each pair of candidates the log of the likelihood averaged over its offset.
func (p *Profiler) piece(e *NoiseEvidence, f *field, s *span, t0, length float64, m Measures) {
	near := f.strip(s, t0, t0+length)
	var count [3]int64
	for side := range near {
		for _, c := range near[side] {
			count[side] += int64(c.weight)
		}
	}
	if count[Inside] < 5 || count[Outside] < 5 {
		return
	}
	hard := m.Spacing * m.Spacing / length
	half := 4*hard + 4*math.Sqrt(max(m.Sigma, 0.02)*hard)
	stride := max(int(math.Ceil(2*half/noiseBin/(noiseOffsets-1))), 1)
	if stride*noiseOffsets/2 >= p.half/2 {
		return
	}
	e.Pieces++
	e.Inside, e.Split, e.Outside = e.Inside+count[Inside], e.Split+count[Split], e.Outside+count[Outside]
	for i := range p.table {
		for k := range p.table[i] {
			e.LogLik[i][k] += int64(math.Round(noiseNats * p.averaged(i, k, &near, stride)))
		}
	}
}

// averaged is the log of the mean over offsets of the likelihood of the observations near a piece of edge.
func (p *Profiler) averaged(i, k int, near *[3][]binned, stride int) float64 {
	var sums [noiseOffsets]float64
	most := math.Inf(-1)
	for o := range sums {
		shift := p.half - (o-noiseOffsets/2)*stride
		sum := 0.0
		for side, list := range near {
			table := p.table[i][k][side]
			for _, c := range list {
				sum += c.weight * float64(table[c.bin+shift])
			}
		}
		sums[o] = sum
		most = max(most, sum)
	}
	total := 0.0
	for _, v := range sums {
		total += math.Exp(v - most)
	}
	return most + math.Log(total/noiseOffsets)
}

// A binned is how many observations of one side lie at an outward distance, in bins.
type binned struct {
	bin    int
	weight float64
}

// strip counts the observations within reach of a piece of edge by side and outward distance.
func (f *field) strip(s *span, t0, t1 float64) (near [3][]binned) {
	const reach = 188 // noiseReach/2 in bins, rounded up
	var count [3][2*reach + 1]int
	w := f.around(min(s.ax, s.bx), min(s.ay, s.by), max(s.ax, s.bx), max(s.ay, s.by), noiseReach)
	for row := w.r0; row < w.r1; row++ {
		for col := w.c0; col < w.c1; col++ {
			c := row*f.cols + col
			for q := f.start[c]; q < f.start[c+1]; q++ {
				h, t := -s.inward(f.x[q], f.y[q]), s.along(f.x[q], f.y[q])
				if t >= t0 && t < t1 && math.Abs(h) < noiseReach/2 && f.side[q] != Unknown && !f.blind[q] {
					count[f.side[q]][int(math.Round(h/noiseBin))+reach]++
				}
			}
		}
	}
	for side := range count {
		for k, n := range count[side] {
			if n > 0 {
				near[side] = append(near[side], binned{k - reach, float64(n)})
			}
		}
	}
	return near
}
