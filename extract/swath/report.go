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
}

// An Estimate is a measured length, or the stated default where the geometry
// could not tell.
type Estimate struct {
	Value float64 `json:"value_m"`
	// From says in words what it was taken from.
	From string `json:"from"`
	// Patches is how many places it was measured at; 0 for a default.
	Patches int `json:"patches"`
}

// A Swath is one line: an uninterrupted run of one source.
type Swath struct {
	Source  uint16  `json:"source"`
	Start   float64 `json:"start_s"` // GPS time as stored, modulo 325 days
	Seconds float64 `json:"seconds"`
	Points  int     `json:"points"`
	// Position says how the sensor's positions were found, and how well: the
	// median standard error per axis across the rays, the median distance
	// from the sensor to what it measured.
	Position Method  `json:"position_from"`
	Sigma    float64 `json:"position_sigma_m"`
	Range    float64 `json:"range_m"`
	// Known is the share of its points with a sensor position.
	Known float64 `json:"share_with_sensor_position"`
	// Speed is in m/s, Heading in degrees from grid north: of the median
	// window. Turning is the share of its points measured in turns.
	Speed   float64 `json:"speed_m_per_s"`
	Heading float64 `json:"heading_deg"`
	Turning float64 `json:"share_in_turns"`
}

// describe returns the lines of a voyage and the shares of all points that
// are located and turning.
func (v *voyage) describe() (swaths []Swath, located, turning float64) {
	var points, known, turned int
	for i := range v.fleet.lines {
		l := &v.fleet.lines[i]
		s := Swath{
			Source: l.source, Start: float64(l.first) * windowSeconds,
			Seconds: float64(l.last-l.first+1) * windowSeconds, Points: l.points(), Position: Unknown,
		}
		k, t := v.trajectory.follow(l, &s)
		s.Known, s.Turning = share(k, s.Points), share(t, k)
		points, known, turned = points+s.Points, known+k, turned+t
		swaths = append(swaths, s)
	}
	return swaths, share(known, points), share(turned, known)
}

// follow fills in what the trajectory tells of a line and counts its points
// with a position and in turns.
func (t *Trajectory) follow(l *line, s *Swath) (known, turned int) {
	var sigmas, ranges, speeds, norths, easts []float64
	for _, w := range l.windows {
		tick := uint64(w.number)*windowTicks + windowTicks/2
		k, i, _ := t.find(l.source, tick)
		if k == nil {
			continue
		}
		s.Position = k.method
		known += int(w.points)
		if k.turning[i] {
			turned += int(w.points)
		}
		d := k.knots[i+1].at.sub(k.knots[i].at)
		sigmas, ranges = append(sigmas, t.Sigma(l.source, tick)), append(ranges, k.reach)
		speeds = append(speeds, math.Hypot(d[0], d[1])/windowSeconds)
		easts, norths = append(easts, d[0]), append(norths, d[1])
	}
	if len(sigmas) > 0 {
		s.Sigma, s.Range, s.Speed = median(sigmas), median(ranges), median(speeds)
		s.Heading = math.Mod(math.Atan2(median(easts), median(norths))*180/math.Pi+360, 360)
	}
	return known, turned
}

func share(part, whole int) float64 {
	if whole == 0 {
		return 0
	}
	return float64(part) / float64(whole)
}
