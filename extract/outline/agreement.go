package outline

import (
	"math"
	"slices"
)

// A SwathOffset is where one swath alone puts an edge.
type SwathOffset struct {
	// Edge numbers the edge, all rings in order.
	Edge  int
	Swath uint16
	// Offset is outward from the fitted edge, Variance that of the offset as
	// far as sampling and noise go; metres and square metres.
	Offset, Variance float64
}

const (
	agreementMargin = 0.5 // metres kept from the corners, or three spacings if more
	agreementLength = 1.5 // metres of edge that are needed
	agreementLeast  = 12  // observations on each side
	agreementSteps  = 25
)

// SwathOffsets returns for each edge that is seen from both sides, and each
// swath that shows enough of it, the offset that the swath's observations give
// it. Where swaths disagree by more than their variances, positions hold more
// error than the noise within a swath: calibration, and drift of the
// trajectory. Edges are in order, swaths ascending.
func SwathOffsets(obs []Observation, m Measures, r Result) []SwathOffset {
	var out []SwathOffset
	edge := -1
	for _, ring := range r.Rings {
		for i, e := range ring.Edges {
			edge++
			margin := max(agreementMargin, 3*m.Spacing)
			if e.OneSided || e.Seen < 0.8 || e.Length < 2*margin+agreementLength {
				continue
			}
			a, b := ring.Vertices[i], ring.Vertices[(i+1)%len(ring.Vertices)]
			s := segment(a.X-r.OriginX, a.Y-r.OriginY, b.X-r.OriginX, b.Y-r.OriginY)
			for swath, seen := range bySwath(obs, &s, m, r, margin) {
				if offset, variance, ok := seen.fit(m, s.length()-2*margin); ok {
					out = append(out, SwathOffset{edge, swath, offset, variance})
				}
			}
		}
	}
	slices.SortFunc(out, func(a, b SwathOffset) int {
		if a.Edge != b.Edge {
			return a.Edge - b.Edge
		}
		return int(a.Swath) - int(b.Swath)
	})
	return out
}

// A sideView is what one swath shows of one edge: outward distances and sides.
type sideView struct {
	distance []float64
	side     []Side
	blind    []bool
	count    [3]int
	band     float64 // half the width of the strip
}

func bySwath(obs []Observation, s *span, m Measures, r Result, margin float64) map[uint16]*sideView {
	band := max(4*m.Sigma+m.Beam, 2*m.Spacing)
	views := make(map[uint16]*sideView)
	for _, o := range obs {
		if o.Side == Unknown {
			continue
		}
		x, y := o.X-r.OriginX, o.Y-r.OriginY
		out, t := -s.inward(x, y), s.along(x, y)
		if math.Abs(out) > band || t < s.ta+margin || t > s.tb-margin {
			continue
		}
		v := views[o.Swath]
		if v == nil {
			v = &sideView{band: band}
			views[o.Swath] = v
		}
		v.distance, v.side, v.blind = append(v.distance, out), append(v.side, o.Side), append(v.blind, o.Blind)
		v.count[o.Side]++
	}
	return views
}

// fit finds the offset of the edge that makes the view most likely, by golden
// section over the strip: the likelihood of one offset has one peak, or a flat
// top when noise is small, of which the middle is as good as any.
func (v *sideView) fit(m Measures, length float64) (offset, variance float64, ok bool) {
	if v.count[Inside]+v.count[Split] < agreementLeast || v.count[Outside] < agreementLeast {
		return 0, 0, false
	}
	gap := 2 * v.band / float64(len(v.distance)) // 1/(ρL)
	sigma := max(m.Sigma, 0.5*gap)
	lo, hi := -v.band/2, v.band/2
	golden := (math.Sqrt(5) - 1) / 2
	a, b := hi-golden*(hi-lo), lo+golden*(hi-lo)
	fa, fb := v.logLik(a, sigma, m.Beam), v.logLik(b, sigma, m.Beam)
	for range agreementSteps {
		if fa > fb {
			hi, b, fb = b, a, fa
			a = hi - golden*(hi-lo)
			fa = v.logLik(a, sigma, m.Beam)
		} else {
			lo, a, fa = a, b, fb
			b = lo + golden*(hi-lo)
			fb = v.logLik(b, sigma, m.Beam)
		}
	}
	offset = (lo + hi) / 2
	nu := m.Sigma / gap
	variance = math.Pow(0.3535+0.412*math.Pow(nu, 1.5), 2.0/3) * gap * gap
	return offset, variance, math.Abs(offset) < 0.45*v.band && length > 0
}

// logLik is the log-likelihood of the view with the edge moved outward.
func (v *sideView) logLik(offset, sigma, beam float64) float64 {
	const mislabel = 0.01
	sum := 0.0
	for i, d := range v.distance {
		u := d - offset
		in, out := cumulative((-u-beam)/sigma), cumulative((u-beam)/sigma)
		if v.blind[i] {
			in = 1 - out
		}
		p := in
		switch v.side[i] {
		case Outside:
			p = out
		case Split:
			p = max(1-in-out, 0)
		}
		sum += math.Log(mislabel + (1-2*mislabel)*p)
	}
	return sum
}

// Disagreement returns the standard deviation, metres, of what a swath adds to
// the place of an edge beyond its variance: the method-of-moments estimate of
// DerSimonian & Laird 1986 (Controlled Clinical Trials 7:177–188), pooled over
// edges. groups holds the offsets of one building each. ok is false when fewer
// than ten edges are seen by two swaths.
func Disagreement(groups [][]SwathOffset) (sigma float64, ok bool) {
	var excess, weight float64
	edges := 0
	for _, group := range groups {
		for len(group) > 0 {
			n := 1
			for n < len(group) && group[n].Edge == group[0].Edge {
				n++
			}
			if n > 1 {
				e, w := heterogeneity(group[:n])
				excess, weight = excess+e, weight+w
				edges++
			}
			group = group[n:]
		}
	}
	if edges < 10 {
		return 0, false
	}
	return math.Sqrt(max(excess/weight, 0)), true
}

// heterogeneity returns Q − (n − 1) and Σw − Σw²/Σw, whose ratio is the
// variance between swaths.
func heterogeneity(offsets []SwathOffset) (excess, weight float64) {
	var sw, sww, swx float64
	for _, o := range offsets {
		w := 1 / o.Variance
		sw, sww, swx = sw+w, sww+w*w, swx+w*o.Offset
	}
	mean := swx / sw
	for _, o := range offsets {
		excess += (o.Offset - mean) * (o.Offset - mean) / o.Variance
	}
	return excess - float64(len(offsets)-1), sw - sww/sw
}
