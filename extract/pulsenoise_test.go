package extract

import (
	"math"
	"math/rand/v2"
	"testing"

	"quoin/extract/outline"
	"quoin/extract/swath"
)

// A flown swath, for tests: noise of positions, half-widths of a beam with a
// sharp elliptic rim along and across the flight, and its direction.
type flown struct{ sigma, along, across, heading float64 }

// pass returns what the swath shows of a house of 14 m by 9 m, turned, at a
// density.
func (f flown) pass(id uint16, turn, density float64, rng *rand.Rand) []outline.Observation {
	const length, width, margin = 14.0, 9.0, 3.0
	e := outline.NewEllipse(f.along, f.across, f.heading-turn)
	fx, fy := e.Across(1, 0), e.Across(0, 1)
	sin, cos := math.Sincos(turn)
	var obs []outline.Observation
	for range int(density * (length + 2*margin) * (width + 2*margin)) {
		x, y := (length+2*margin)*rng.Float64()-margin, (width+2*margin)*rng.Float64()-margin
		o := outline.Observation{Swath: id}
		switch {
		case x < -fx || x > length+fx || y < -fy || y > width+fy:
			o.Side = outline.Outside
		case x < fx || x > length-fx || y < fy || y > width-fy:
			o.Side = outline.Split
		}
		x, y = x+f.sigma*rng.NormFloat64(), y+f.sigma*rng.NormFloat64()
		o.X, o.Y = cos*x-sin*y, sin*x+cos*y
		obs = append(obs, o)
	}
	return obs
}

// measured runs the measuring pass over houses seen by two swaths.
func measured(t *testing.T, swaths [2]flown, start outline.Measures) (pulseNoise, []outline.Observation) {
	t.Helper()
	profiler := outline.NewProfiler(0.005)
	headings := map[uint16]float64{1: swaths[0].heading, 2: swaths[1].heading}
	var evidence [][]swathEvidence
	var pooled outline.NoiseEvidence
	var last []outline.Observation
	for k := range 6 {
		rng := rand.New(rand.NewPCG(9, uint64(k)))
		turn := 0.08 * float64(k)
		obs := append(swaths[0].pass(1, turn, 20, rng), swaths[1].pass(2, turn, 20, rng)...)
		r, err := outline.Fit(obs, start, outline.DefaultOptions(start))
		if err != nil {
			t.Fatal(err)
		}
		evidence = append(evidence, bySwath(profiler, obs, start, r, headings))
		pooled.Add(profiler.Evidence(obs, start, r))
		last = obs
	}
	block := start
	if sigma, beam, ok := outline.EstimateNoise(pooled); ok {
		block.Sigma, block.Beam = sigma, beam
	}
	return measurePulses(block, evidence, headings), last
}

// Noise and beam of each swath follow what they truly are, from starts that are
// neither, and so does what a building is fitted with.
func TestNoiseAndBeamFollowTheSwaths(t *testing.T) {
	start := outline.Measures{Spacing: 1 / math.Sqrt(40), Sigma: 0.02, Beam: 0.05}
	for _, swaths := range [][2]flown{
		{{0.01, 0.10, 0.03, 0.1}, {0.04, 0.06, 0.06, 1.7}},
		{{0.04, 0.03, 0.12, 0.1}, {0.01, 0.10, 0.04, 1.7}},
	} {
		n, obs := measured(t, swaths, start)
		for i, f := range swaths {
			s := n.swaths[uint16(i+1)]
			near := func(what string, got, want, tolerance float64) {
				if math.Abs(got-want) > tolerance {
					t.Errorf("swath %d: %s is %.4f m, not %.3f", i+1, what, got, want)
				}
			}
			near("noise", s.sigma, f.sigma, 0.2*f.sigma+0.001)
			near("half-width along the flight", s.along, f.along, 0.015)
			near("half-width across", s.across, f.across, 0.015)
		}
		quiet := n.of(obs[:len(obs)/2])
		noisy := n.of(obs[len(obs)/2:])
		if (quiet.Sigma < noisy.Sigma) != (swaths[0].sigma < swaths[1].sigma) {
			t.Errorf("buildings seen by one swath alone have noises %.4f and %.4f m", quiet.Sigma, noisy.Sigma)
		}
		c, s := math.Cos(swaths[0].heading), math.Sin(swaths[0].heading)
		if got := quiet.Footprint.Across(c, s); math.Abs(got-swaths[0].along) > 0.015 {
			t.Errorf("the half-width across an edge square to the flight is %.3f m, not %.3f", got, swaths[0].along)
		}
	}
}

// Without what tells split pulses, no beam is measured, and what the block has
// stands.
func TestMergedSplitsTellNoBeam(t *testing.T) {
	swaths := [2]flown{{0.01, 0, 0, 0}, {0.03, 0, 0, 1.5}}
	n, obs := measured(t, swaths, outline.Measures{Spacing: 1 / math.Sqrt(40), Sigma: 0.02, Beam: 0, SplitsMerged: true})
	if m := n.of(obs); m.Footprint != (outline.Ellipse{}) || m.Beam != n.block.Beam {
		t.Errorf("a footprint %v was measured", m.Footprint)
	}
	if a, b := n.swaths[1].sigma, n.swaths[2].sigma; !(a > 0 && b > 2*a) {
		t.Errorf("noises are %.4f and %.4f m, not 0.01 and 0.03", a, b)
	}
}

func TestHeadingsOfSources(t *testing.T) {
	got := headingsOf([]swath.Swath{
		{Source: 1, Heading: 90, Speed: 5},  // east
		{Source: 1, Heading: 272, Speed: 5}, // and back
		{Source: 2, Heading: 0, Speed: 5},
		{Source: 2, Heading: 90, Speed: 5}, // a cross line of the same source
		{Source: 3},
		{Source: 4, Heading: 0, Speed: 5},
	})
	if len(got) != 2 || math.Abs(got[1]) > 1e-9 || math.Abs(got[4]-math.Pi/2) > 1e-9 {
		t.Errorf("headings are %v", got)
	}
}
