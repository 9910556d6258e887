package extract

import (
	"math"
	"slices"

	"quoin/extract/outline"
	"quoin/extract/swath"
)

// A swathNoise is what edges tell of the pulses of one swath: the noise of
// positions within it, 0 where that is not told, and the footprint, zero where
// that is not.
type swathNoise struct {
	sigma     float64
	footprint outline.Ellipse
	// along and across are the footprint's half-widths by the flight's
	// direction.
	along, across float64
}

// A pulseNoise is what was measured of noise and beam at edges: of the block,
// and of its swaths.
type pulseNoise struct {
	block  outline.Measures
	swaths map[uint16]swathNoise
	// within is the root mean square noise within the swaths that tell it.
	within float64
}

// A swathEvidence is what the edges of one building tell of one swath, apart
// for edges whose normal is nearer to the direction of flight and for the
// others.
type swathEvidence struct {
	swath         uint16
	along, across facingEvidence
	observations  int
}

// A facingEvidence is that of edges that face about one way: their length, and
// that times cos² of their normals' angle from the direction of flight.
type facingEvidence struct {
	outline.NoiseEvidence
	length, cosines float64
}

func (e *facingEvidence) add(o facingEvidence) {
	e.Add(o.NoiseEvidence)
	e.length, e.cosines = e.length+o.length, e.cosines+o.cosines
}

const (
	// leastShare is the share of a building's observations below which a swath
	// is not looked at.
	leastShare = 0.05
	// leastPieces is the number of pieces of edge, of 8 m or a little less, that
	// tell a swath's noise, or its beam in one direction.
	leastPieces = 8
	// sureNats is how much more likely, in nats, an elongated beam must make
	// what a swath shows than a round one.
	sureNats = 3
)

// bySwath takes the evidence of each swath that shows enough of a building.
// headings are directions of flight, radians from east; a swath without one
// counts as if it flew east, and its beam as round.
func bySwath(p *outline.Profiler, obs []outline.Observation, m outline.Measures, r outline.Result, headings map[uint16]float64) []swathEvidence {
	parts := make(map[uint16][]outline.Observation)
	for _, o := range obs {
		parts[o.Swath] = append(parts[o.Swath], o)
	}
	if len(parts) == 0 {
		return nil
	}
	var all []swathEvidence
	for id, part := range parts {
		share := float64(len(part)) / float64(len(obs))
		if share < leastShare {
			continue
		}
		alone := m
		alone.Spacing /= math.Sqrt(share)
		heading := headings[id]
		all = append(all, swathEvidence{
			swath: id, observations: len(part),
			along:  facing(p, part, alone, r, heading, true),
			across: facing(p, part, alone, r, heading, false),
		})
	}
	slices.SortFunc(all, func(a, b swathEvidence) int { return int(a.swath) - int(b.swath) })
	return all
}

// facing takes the evidence of those edges whose normal is within 45 degrees of
// a direction, or of square to it.
func facing(p *outline.Profiler, obs []outline.Observation, m outline.Measures, r outline.Result, direction float64, along bool) facingEvidence {
	var e facingEvidence
	rings := make([]outline.Ring, len(r.Rings))
	for i, ring := range r.Rings {
		rings[i] = ring
		rings[i].Edges = slices.Clone(ring.Edges)
		for k := range ring.Edges {
			a, b := ring.Vertices[k], ring.Vertices[(k+1)%len(ring.Vertices)]
			// The edge lies across where its normal is along.
			cos := math.Sin(math.Atan2(b.Y-a.Y, b.X-a.X) - direction)
			if (math.Abs(cos) > math.Sqrt2/2) != along {
				rings[i].Edges[k].Seen = 0
				continue
			}
			e.length += ring.Edges[k].Length
			e.cosines += ring.Edges[k].Length * cos * cos
		}
	}
	r.Rings = rings
	e.NoiseEvidence = p.Evidence(obs, m, r)
	return e
}

// measurePulses pools the evidence of buildings by swath. block is what all
// swaths together tell, and stands where a swath does not tell its own.
func measurePulses(block outline.Measures, buildings [][]swathEvidence, headings map[uint16]float64) pulseNoise {
	pooled := make(map[uint16]*swathEvidence)
	var ids []uint16
	for _, list := range buildings {
		for _, e := range list {
			p := pooled[e.swath]
			if p == nil {
				p = &swathEvidence{swath: e.swath}
				pooled[e.swath], ids = p, append(ids, e.swath)
			}
			p.along.add(e.along)
			p.across.add(e.across)
			p.observations += e.observations
		}
	}
	slices.Sort(ids)
	n := pulseNoise{block: block, swaths: make(map[uint16]swathNoise)}
	var sum, weight float64
	for _, id := range ids {
		heading, known := headings[id]
		s := pooled[id].noise(block, heading, known)
		n.swaths[id] = s
		if s.sigma > 0 {
			w := float64(pooled[id].observations)
			sum, weight = sum+w*s.sigma*s.sigma, weight+w
		}
	}
	if weight > 0 {
		n.within = math.Sqrt(sum / weight)
	}
	return n
}

// noise returns what the evidence tells of the swath. The square of the beam's
// half-width across an edge is that along the flight times cos² of the normal's
// angle from it, plus that across times sin²: two equations for the edges that
// face about along and about across.
func (e *swathEvidence) noise(block outline.Measures, heading float64, known bool) swathNoise {
	var s swathNoise
	all := e.along.NoiseEvidence
	all.Add(e.across.NoiseEvidence)
	if all.Pieces < leastPieces {
		return s
	}
	sigma, beams, gain, ok := outline.EstimateApart(e.along.NoiseEvidence, e.across.NoiseEvidence)
	if ok && known && gain > sureNats && min(e.along.Pieces, e.across.Pieces) >= leastPieces && !block.SplitsMerged {
		a, c := beams[0]*beams[0], beams[1]*beams[1]
		p, q := e.along.cosines/e.along.length, e.across.cosines/e.across.length
		s.sigma = sigma // a = p·along² + (1−p)·across², c = q·along² + (1−q)·across²
		s.along = math.Sqrt(max(((1-q)*a-(1-p)*c)/(p-q), 0))
		s.across = math.Sqrt(max((p*c-q*a)/(p-q), 0))
		s.footprint = outline.NewEllipse(s.along, s.across, heading)
		return s
	}
	sigma, round, ok := outline.EstimateNoise(all)
	if !ok {
		return s
	}
	s.sigma = sigma
	if block.SplitsMerged {
		return s
	}
	s.along, s.across = round, round
	s.footprint = outline.NewEllipse(s.along, s.across, heading)
	return s
}

// of returns what holds for one building: noise and footprint of the swaths
// that show it, by their shares of its observations. What swaths are off against
// each other is part of the block's noise and stays so.
func (n *pulseNoise) of(obs []outline.Observation) outline.Measures {
	counts := make(map[uint16]int)
	for _, o := range obs {
		counts[o.Swath]++
	}
	ids := make([]uint16, 0, len(counts))
	for id := range counts {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	var squares float64
	var footprint outline.Ellipse
	round := outline.NewEllipse(n.block.Beam, n.block.Beam, 0)
	own := false
	for _, id := range ids {
		share := float64(counts[id]) / float64(len(obs))
		s := n.swaths[id]
		ratio := 1.0
		if s.sigma > 0 {
			ratio = s.sigma / n.within
		}
		squares += share * ratio * ratio
		if s.footprint == (outline.Ellipse{}) {
			footprint = footprint.Plus(round.Scaled(share))
			continue
		}
		footprint, own = footprint.Plus(s.footprint.Scaled(share)), true
	}
	m := n.block
	m.Sigma *= math.Sqrt(squares)
	if own {
		m.Footprint, m.Beam = footprint, footprint.Mean()
		m.BeamDoubt = beamDoubt * m.Beam
	}
	return m
}

// withinSwaths returns the noise within the swaths that show a building, given what
// holds for it; 0 where swaths do not tell it.
func (n *pulseNoise) withinSwaths(m outline.Measures) float64 {
	if n.within == 0 || n.block.Sigma == 0 {
		return 0
	}
	return m.Sigma * min(n.within/n.block.Sigma, 1)
}

// headingsOf returns the direction of flight of each source, radians from east,
// of those that flew one line or lines parallel to within 20 degrees.
func headingsOf(swaths []swath.Swath) map[uint16]float64 {
	const parallel = 20 * math.Pi / 180
	first := make(map[uint16]float64)
	mixed := make(map[uint16]bool)
	for _, s := range swaths {
		if s.Speed == 0 {
			mixed[s.Source] = true
			continue
		}
		direction := math.Pi/2 - s.Heading*math.Pi/180
		before, seen := first[s.Source]
		if !seen {
			first[s.Source] = direction
		} else if math.Abs(math.Remainder(direction-before, math.Pi)) > parallel {
			mixed[s.Source] = true
		}
	}
	for id := range mixed {
		delete(first, id)
	}
	return first
}

// tell fills in what edges told of the swaths.
func (n *pulseNoise) tell(swaths []swath.Swath) {
	for i := range swaths {
		s := n.swaths[swaths[i].Source]
		swaths[i].EdgeSigma, swaths[i].BeamAlong, swaths[i].BeamAcross = s.sigma, s.along, s.across
	}
}
