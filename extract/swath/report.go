package swath

import "math"

// A Report is what was measured of a block and how, for people and for the
// record of a run. Lengths are metres, densities pulses a square metre.
type Report struct {
	Density Density  `json:"density"`
	Spacing float64  `json:"spacing_m"`
	Surface Surface  `json:"smooth_surfaces"`
	Sigma   Estimate `json:"horizontal_noise"`
	Beam    Estimate `json:"beam_half_width"`
	Swaths  []Swath  `json:"swaths"`
	Pairs   []Pair   `json:"swath_pairs"`
	// Turning is the share of points measured in turns, among those whose
	// sensor position is known.
	Turning float64 `json:"share_in_turns"`
	Located float64 `json:"share_with_sensor_position"`
}

// A Surface is the noise of points about smooth hard surfaces, along their
// normal.
type Surface struct {
	// Within is the standard deviation within a swath: its repeatability.
	Within float64 `json:"sigma_within_swath_m"`
	// Together is that of all swaths taken together: noise and what the swaths
	// are shifted against each other.
	Together float64 `json:"sigma_all_swaths_m"`
	// Patches is how many smooth patches tell it, of a side of Size.
	Patches int     `json:"patches"`
	Size    float64 `json:"patch_m"`
	// Assumed is set where there was no patch to measure it on.
	Assumed bool `json:"assumed"`

	class class // of the surfaces that tell it
}

// An Estimate is a measured length, or the stated default where the geometry
// could not tell.
type Estimate struct {
	Value float64 `json:"value_m"`
	// From says in words what it was taken from.
	From string `json:"from"`
	// Samples is how many smooth patches, or points on walls or edges, tell
	// it; 0 for a default.
	Samples int `json:"samples"`
}

// A Swath is an uninterrupted run of one source without a turn.
type Swath struct {
	Source  uint16  `json:"source"`
	Start   float64 `json:"start_s"` // GPS time as stored, modulo 325 days
	Seconds float64 `json:"seconds"`
	Points  int     `json:"points"`
	// Sigma is its repeatability: the noise about surfaces of the kind that
	// was found smoothest, level or sloping; 0 where it saw none.
	Sigma float64 `json:"sigma_m"`
	// Position says how the sensor's positions were found, and how well: the
	// median standard error per axis across the rays, the median distance
	// from the sensor to what it measured.
	Position      Method  `json:"position_from"`
	PositionSigma float64 `json:"position_sigma_m"`
	Range         float64 `json:"range_m"`
	// Known is the share of its points with a sensor position.
	Known float64 `json:"share_with_sensor_position"`
	// Speed is in m/s, Heading in degrees from grid north: of the median
	// window.
	Speed   float64 `json:"speed_m_per_s"`
	Heading float64 `json:"heading_deg"`
	// EdgeSigma is the noise of positions in plan, and BeamAlong and
	// BeamAcross the half-widths of the beam by the direction of flight, as
	// edges of roofs tell them of this source; 0 where they do not, or where the
	// source does not differ from the block. Filled in by the outlines' stage.
	EdgeSigma  float64 `json:"edge_sigma_m"`
	BeamAlong  float64 `json:"beam_half_width_along_m"`
	BeamAcross float64 `json:"beam_half_width_across_m"`
}

// swaths describes the legs, their repeatability on surfaces of one class.
func (v *voyage) swaths(planes []patch, c class) []Swath {
	hists := make([]*histogram, len(v.fleet.legs))
	for i := range planes {
		if !c.holds(&planes[i]) {
			continue
		}
		for _, q := range planes[i].parts {
			if hists[q.leg] == nil {
				hists[q.leg] = noiseHistogram()
			}
			hists[q.leg].add(q.sigma)
		}
	}
	swaths := make([]Swath, len(v.fleet.legs))
	for i := range swaths {
		g := &v.fleet.legs[i]
		first, last := g.windows[0].number, g.windows[len(g.windows)-1].number
		s := &swaths[i]
		*s = Swath{
			Source: v.fleet.lines[g.line].source, Start: float64(first) * windowSeconds,
			Seconds: float64(last-first+1) * windowSeconds, Points: g.points(), Position: Unknown,
		}
		s.Known = share(v.trajectory.follow(s.Source, g, s), s.Points)
		if hists[i] != nil {
			s.Sigma, _ = hists[i].lowestPeak(smoothShare)
		}
	}
	return swaths
}

// follow fills in what the trajectory tells of a leg, and counts its points
// with a position.
func (t *Trajectory) follow(source uint16, g *leg, s *Swath) (known int) {
	var sigmas, ranges, speeds, norths, easts []float64
	for _, w := range g.windows {
		tick := uint64(w.number)*windowTicks + windowTicks/2
		k, i, _ := t.find(source, tick)
		if k == nil {
			continue
		}
		s.Position = k.method
		known += int(w.points)
		d := k.knots[i+1].at.sub(k.knots[i].at)
		sigmas, ranges = append(sigmas, t.Sigma(source, tick)), append(ranges, k.reach)
		speeds = append(speeds, math.Hypot(d[0], d[1])/windowSeconds)
		easts, norths = append(easts, d[0]), append(norths, d[1])
	}
	if len(sigmas) > 0 {
		s.PositionSigma, s.Range, s.Speed = median(sigmas), median(ranges), median(speeds)
		s.Heading = math.Mod(math.Atan2(median(easts), median(norths))*180/math.Pi+360, 360)
	}
	return known
}

// shares returns the share of all points with a sensor position, and among
// those the share measured in turns.
func (v *voyage) shares() (located, turning float64) {
	var points, known, turned int
	for i := range v.fleet.lines {
		l := &v.fleet.lines[i]
		for _, w := range l.windows {
			points += int(w.points)
			k, n, _ := v.trajectory.find(l.source, uint64(w.number)*windowTicks)
			if k == nil {
				continue
			}
			known += int(w.points)
			if k.turning[n] {
				turned += int(w.points)
			}
		}
	}
	return share(known, points), share(turned, known)
}

func share(part, whole int) float64 {
	if whole == 0 {
		return 0
	}
	return float64(part) / float64(whole)
}
