package swath

import (
	"cmp"
	"math"
	"slices"
)

const (
	// smoothest is how many times the noise within a swath a patch may have
	// to take part in the comparison of swaths.
	smoothest = 2
	// mostSteps is about how many differences are looked at: where twenty
	// lines overlap, each patch gives two hundred.
	mostSteps = 1 << 20
	// leastShared is the least number of shared patches for a comparison.
	leastShared = 20
	// flat is the tangent of the slope (10°) below which a patch tells of
	// heights alone.
	flat = 0.176
	// sideways is the largest standard error in metres of a horizontal shift
	// with which it is stated.
	sideways = 0.02
	// clearGradients is how many times the gradients must vary more than their
	// noise does, also in the direction in which they differ least.
	clearGradients = 2
	// A shift counts as real beyond surely standard errors and leastShift
	// metres: below that, it is what good swaths drift.
	surely     = 3
	leastShift = 0.01
)

// A Pair is how two swaths that overlap are shifted against each other: the
// second minus the first, by their index in the report.
type Pair struct {
	First  int `json:"first"`
	Second int `json:"second"`
	// Patches is how many smooth patches both measured.
	Patches int `json:"patches"`
	// DZ and its standard error; RMSDZ is the root mean square of the height
	// differences on patches flatter than 10°.
	DZ      float64 `json:"dz_m"`
	SigmaDZ float64 `json:"sigma_dz_m"`
	RMSDZ   float64 `json:"rms_dz_m"`
	// DE and DN are stated only where roofs or slopes in enough directions
	// tell them: then Horizontal is set.
	Horizontal bool    `json:"horizontal"`
	DE         float64 `json:"de_m"`
	DN         float64 `json:"dn_m"`
	SigmaDE    float64 `json:"sigma_de_m"`
	SigmaDN    float64 `json:"sigma_dn_m"`
	// Shifted is set where a shift is larger than three standard errors and
	// than one centimetre.
	Shifted bool `json:"shifted"`
}

// A step is the height difference of two swaths on a patch.
type step struct {
	first, second int
	dz, gx, gy    float64
	variance      float64    // formal, for the noise within swaths
	vague         [3]float64 // variance of the gradient: xx, xy, yy
}

// isFlat reports whether the patch is flat: it tells of heights alone.
func (s step) isFlat() bool { return s.gx*s.gx+s.gy*s.gy <= flat*flat }

// compare returns the shifts between all legs that share enough patches.
//
// A plane of gradient g that is shifted by (dx, dy, dz) rises by
// dz − g·(dx, dy); that is fitted to the steps of all shared patches.
func compare(planes []patch, noise float64) []Pair {
	count := 0
	for i := range planes {
		count += len(planes[i].parts) * (len(planes[i].parts) - 1) / 2
	}
	every := count/mostSteps + 1
	var steps []step
	for i := 0; i < len(planes); i += every {
		if p := &planes[i]; p.within <= smoothest*noise {
			steps = p.steps(steps, noise)
		}
	}
	slices.SortStableFunc(steps, func(a, b step) int {
		return cmp.Or(cmp.Compare(a.first, b.first), cmp.Compare(a.second, b.second))
	})
	var pairs []Pair
	for lo := 0; lo < len(steps); {
		hi := lo + 1
		for hi < len(steps) && steps[hi].first == steps[lo].first && steps[hi].second == steps[lo].second {
			hi++
		}
		if hi-lo >= leastShared {
			pairs = append(pairs, newPair(steps[lo:hi]))
		}
		lo = hi
	}
	return pairs
}

// steps appends the steps between all lines on a patch.
func (p *patch) steps(steps []step, noise float64) []step {
	for j := range p.parts {
		for i := range p.parts {
			a, b := &p.parts[i], &p.parts[j]
			if a.leg >= b.leg {
				continue
			}
			dx, dy := b.x-a.x, b.y-a.y
			lever := dx*dx*p.inverse[0] + 2*dx*dy*p.inverse[1] + dy*dy*p.inverse[2]
			upright := (max(noise*noise, p.within*p.within) + 1e-10) * (1 + p.slopeSq())
			steps = append(steps, step{
				first: a.leg, second: b.leg, gx: p.gx, gy: p.gy,
				dz:       b.z - a.z - p.gx*dx - p.gy*dy,
				variance: upright * (1/float64(a.n) + 1/float64(b.n) + lever),
				vague:    [3]float64{upright * p.inverse[0], upright * p.inverse[1], upright * p.inverse[2]},
			})
		}
	}
	return steps
}

func newPair(steps []step) Pair {
	p := Pair{First: steps[0].first, Second: steps[0].second, Patches: len(steps)}
	level := slices.DeleteFunc(slices.Clone(steps), func(s step) bool { return !s.isFlat() })
	var sum float64
	for _, s := range level {
		sum += s.dz * s.dz
	}
	if len(level) > 0 {
		p.RMSDZ = math.Sqrt(sum / float64(len(level)))
	}
	if x, sd, ok := fitShift(steps, 3); ok && diverse(steps) && sd[1] <= sideways && sd[2] <= sideways {
		p.Horizontal = true
		p.DZ, p.DE, p.DN = x[0], x[1], x[2]
		p.SigmaDZ, p.SigmaDE, p.SigmaDN = sd[0], sd[1], sd[2]
	} else {
		if len(level) >= leastShared {
			steps = level
		}
		x, sd, _ := fitShift(steps, 1)
		p.DZ, p.SigmaDZ = x[0], sd[0]
	}
	real := func(shift, sigma float64) bool {
		return math.Abs(shift) > surely*sigma && math.Abs(shift) > leastShift
	}
	p.Shifted = real(p.DZ, p.SigmaDZ) || real(p.DE, p.SigmaDE) || real(p.DN, p.SigmaDN)
	return p
}

// diverse reports whether the gradients of what slopes differ in all directions, beyond their
// own noise: flat ground and roofs with one direction of ridges do not tell a
// horizontal shift, but noisy gradients would pretend to.
func diverse(steps []step) bool {
	steps = slices.DeleteFunc(slices.Clone(steps), step.isFlat)
	if len(steps) < leastShared {
		return false
	}
	var mx, my, xx, xy, yy, noise float64
	n := float64(len(steps))
	for _, s := range steps {
		mx += s.gx / n
		my += s.gy / n
	}
	for _, s := range steps {
		dx, dy := s.gx-mx, s.gy-my
		xx += (dx*dx - s.vague[0]) / n
		xy += (dx*dy - s.vague[1]) / n
		yy += (dy*dy - s.vague[2]) / n
		noise += (s.vague[0] + s.vague[2]) / 2 / n
	}
	least := (xx+yy)/2 - math.Hypot((xx-yy)/2, xy) // smaller eigenvalue
	return least > clearGradients*noise
}

// fitShift fits dz alone, or dz, dx and dy: first by least absolute residuals,
// then by biweight. The standard errors are those of the residuals' scale,
// never below the formal ones.
func fitShift(steps []step, unknowns int) (x, sd [3]float64, ok bool) {
	const absolute, robust = 15, 8
	weights := make([]float64, len(steps))
	for i := range weights {
		weights[i] = 1
	}
	residuals := make([]float64, len(steps))
	var inverse [4][4]float64
	scale := 1.0
	for round := range absolute + robust {
		if inverse, ok = solveShift(steps, weights, unknowns, &x); !ok {
			return x, sd, false
		}
		for i, s := range steps {
			residuals[i] = math.Abs(s.dz-x[0]+s.gx*x[1]+s.gy*x[2]) / math.Sqrt(s.variance)
		}
		scale = max(median(residuals)/0.6745, 1)
		for i, r := range residuals {
			if round < absolute {
				weights[i] = 1 / max(r, 0.1)
				continue
			}
			u := r / (tukey * scale)
			weights[i] = max(1-u*u, 0) * max(1-u*u, 0)
		}
	}
	for i := range unknowns {
		sd[i] = scale * math.Sqrt(inverse[i][i])
	}
	return x, sd, true
}

// solveShift solves for given weights. The noise of the gradients is taken off
// the normal matrix, else it would make the shift look smaller than it is
// (Fuller 1987, Measurement Error Models).
//
// The many noisy gradients of flat patches would tell more of their noise than
// of the shift: flat patches are only brought to the present horizontal one.
func solveShift(steps []step, weights []float64, unknowns int, x *[3]float64) (inverse [4][4]float64, ok bool) {
	var n [4][4]float64
	var rhs [4]float64
	for k, s := range steps {
		row, dz := [4]float64{1, -s.gx, -s.gy}, s.dz
		if s.isFlat() {
			row, dz = [4]float64{1}, dz+s.gx*x[1]+s.gy*x[2]
		}
		w := weights[k] / s.variance
		for i := range unknowns {
			for j := range unknowns {
				n[i][j] += w * row[i] * row[j]
			}
			rhs[i] += w * row[i] * dz
		}
		if unknowns == 3 && !s.isFlat() {
			n[1][1] -= w * s.vague[0]
			n[1][2] -= w * s.vague[1]
			n[2][1] -= w * s.vague[1]
			n[2][2] -= w * s.vague[2]
		}
	}
	for i := unknowns; i < 4; i++ {
		n[i][i] = 1
	}
	if inverse, ok = invert(n); !ok {
		return inverse, false
	}
	for i := range unknowns {
		x[i] = 0
		for j := range unknowns {
			x[i] += inverse[i][j] * rhs[j]
		}
	}
	return inverse, true
}
