package outline

import (
	"math"
	"slices"
)

const (
	agreementMargin  = 0.3 // metres kept from the corners, or a spacing if more
	agreementLength  = 2.0 // metres of edge that are needed, or four spacings if more
	agreementLeast   = 3   // observations of a swath on each side
	agreementReach   = 0.3 // metres, how far an edge is moved
	agreementSteps   = 60
	agreementChoices = 10
	// agreementPrior is the scale, metres, of the half-normal that says how far swaths lie apart before any edge is seen: positions by
	// satellite are good to 2 cm, and offsets of strips to 3-4 cm in good blocks (Vosselman 2008, IAPRS XXXVII(B3a)).
	agreementPrior = 0.02
)

// agreementCandidates are the standard deviations tried, metres.
func agreementCandidates() [agreementChoices]float64 {
	return [agreementChoices]float64{0, 0.005, 0.01, 0.015, 0.02, 0.025, 0.03, 0.04, 0.06, 0.09}
}

// A SwathEvidence is what edges seen by several swaths say of how far a swath puts an edge from where the others do: for each candidate
// of that standard deviation the log of the likelihood, in whole units of 1/4096 nat, so that sums are the same in any order.
type SwathEvidence struct {
	LogLik [agreementChoices]int64
	// Edges is the number of edges that two swaths or more show.
	Edges int64
}

// Add adds the evidence of other buildings.
func (e *SwathEvidence) Add(other SwathEvidence) {
	for i, v := range other.LogLik {
		e.LogLik[i] += v
	}
	e.Edges += other.Edges
}

// Disagreement is the root mean square, metres, of what a swath adds to the place of an edge beyond sampling and noise: calibration,
// and drift of the trajectory. It is the mean over what the evidence leaves likely, and that of blocks in general where there is none.
func (e *SwathEvidence) Disagreement() float64 {
	candidates := agreementCandidates()
	best := slices.Max(e.LogLik[:])
	sum, square := 0.0, 0.0
	for i, tau := range candidates {
		width := candidates[min(i+1, agreementChoices-1)] - candidates[max(i-1, 0)]
		z := tau / agreementPrior
		w := width * math.Exp(float64(e.LogLik[i]-best)/noiseNats-z*z/2)
		sum, square = sum+w, square+w*tau*tau
	}
	return math.Sqrt(square / sum)
}

// Agreement takes the evidence of the edges of an outline that are seen from both sides by two swaths or more. The offset of the edge
// and those of the swaths are integrated out: few points of one swath bound an edge only roughly, and their best place would be no more
// than a guess.
//
// m.Sigma is the noise of all swaths together, which holds what they are off against each other; within that of one swath, 0 where it
// is not known: then it is what a candidate leaves of the whole.
func Agreement(obs []Observation, m Measures, within float64, r Result) SwathEvidence {
	var e SwathEvidence
	for _, ring := range r.Rings {
		for i, edge := range ring.Edges {
			margin := max(agreementMargin, m.Spacing)
			if edge.OneSided || edge.Seen < 0.8 || edge.Arc > 0 || edge.Length < 2*margin+max(agreementLength, 4*m.Spacing) {
				continue
			}
			a, b := ring.Vertices[i], ring.Vertices[(i+1)%len(ring.Vertices)]
			s := segment(a.X-r.OriginX, a.Y-r.OriginY, b.X-r.OriginX, b.Y-r.OriginY)
			if views := bySwath(obs, &s, m, r, margin); len(views) > 1 {
				e.add(views, m.at(&s), within)
			}
		}
	}
	return e
}

// bySwath lists the readings of an edge away from its corners, of each swath that shows both of its sides, in the swaths' order.
func bySwath(obs []Observation, s *span, m Measures, r Result, margin float64) [][]reading {
	type view struct {
		near  []reading
		count [4]int
	}
	views := make(map[uint16]*view)
	var ids []uint16
	for _, o := range obs {
		if o.Side == Unknown {
			continue
		}
		x, y := o.X-r.OriginX, o.Y-r.OriginY
		h, t := s.inward(x, y), s.along(x, y)
		if math.Abs(h) > max(agreementReach, 2*m.Spacing) || t < s.ta+margin || t > s.tb-margin {
			continue
		}
		v := views[o.Swath]
		if v == nil {
			v = &view{}
			views[o.Swath], ids = v, append(ids, o.Swath)
		}
		v.near = append(v.near, reading{h, t, o.Side, m.SplitsMerged || o.Blind})
		v.count[o.Side]++
	}
	slices.Sort(ids)
	var list [][]reading
	for _, id := range ids {
		if v := views[id]; v.count[Inside]+v.count[Split] >= agreementLeast && v.count[Outside] >= agreementLeast {
			list = append(list, v.near)
		}
	}
	return list
}

type offsetGrid [agreementSteps + 1]float64

// likelihoods is that of each swath's readings by the offset of the edge, over the greatest; scale is the logarithm of what was taken out
// of all.
func (p sideModel) likelihoods(views [][]reading) (grids []offsetGrid, scale float64) {
	grids = make([]offsetGrid, len(views))
	for k, near := range views {
		g := &grids[k]
		for j := range g {
			moved := (2*float64(j)/agreementSteps - 1) * agreementReach
			for i := range near {
				g[j] += p.logLik(&near[i], moved)
			}
		}
		best := slices.Max(g[:])
		for j := range g {
			g[j] = math.Exp(g[j] - best)
		}
		scale += best
	}
	return grids, scale
}

// add adds the evidence of one edge: with a swath's own offset blurred by a candidate, the likelihood that all swaths see the same edge,
// averaged over where that lies.
func (e *SwathEvidence) add(views [][]reading, m Measures, within float64) {
	e.Edges++
	sides := sideModel{normal: normals(), beam: m.Beam, floor: 0.01, three: !m.SplitsMerged && m.Beam > 0}
	var grids []offsetGrid
	scale, before := 0.0, math.NaN()
	for c, tau := range agreementCandidates() {
		if sides.sigma = noiseWithin(m.Sigma, within, tau, len(views)); sides.sigma != before {
			before = sides.sigma
			grids, scale = sides.likelihoods(views)
		}
		var product offsetGrid
		for j := range product {
			product[j] = 1
		}
		for k := range grids {
			blurred := grids[k].blurred(tau)
			for j := range product {
				product[j] *= blurred[j]
			}
		}
		total := 0.0
		for _, v := range product {
			total += v
		}
		e.LogLik[c] += int64(math.Round(noiseNats * (scale + math.Log(total/(agreementSteps+1)+1e-30))))
	}
}

// noiseWithin is the noise of one of n swaths that lie apart by tau: of the variance of all, that of n places about their mean is theirs.
func noiseWithin(all, within, tau float64, n int) float64 {
	const finest = agreementReach / agreementSteps // half a step
	if within > 0 {
		return max(within, finest)
	}
	return max(math.Sqrt(max(all*all-tau*tau*(1-1/float64(n)), all*all/16)), finest)
}

// blurred is the likelihood averaged over a normal of the given standard deviation.
func (g *offsetGrid) blurred(tau float64) *offsetGrid {
	const step = 2 * agreementReach / agreementSteps
	half := int(math.Ceil(4 * tau / step))
	if half == 0 {
		return g
	}
	weights := make([]float64, half+1)
	total := 0.0
	for i := range weights {
		weights[i] = math.Exp(-0.5 * float64(i) * step / tau * float64(i) * step / tau)
		total += 2 * weights[i]
	}
	total -= weights[0]
	var out offsetGrid
	for j := range out {
		for i := -half; i <= half; i++ {
			if k := j + i; k >= 0 && k <= agreementSteps {
				out[j] += g[k] * weights[max(i, -i)] / total
			}
		}
	}
	return &out
}
