package imagecheck

import "math"

// A Verdict says what kind of image it is.
type Verdict string

// The verdicts.
const (
	// TrueOrtho: roofs lie over their plans; any lean is below LeanLimit.
	TrueOrtho Verdict = "true-ortho"
	// ReliefDisplacement: what stands up leans.
	ReliefDisplacement Verdict = "relief-displacement"
	// Undecided: heights are not known, or too little was seen.
	Undecided Verdict = "undecided"
)

// LeanLimit is the lean in metres per metre of height above which an image is no
// true-ortho: that of a view 1.7° off the vertical, a tenth of a metre on the
// eave of a house.
const LeanLimit = 0.03

// Lean says how much what stands up leans in the image.
type Lean struct {
	Verdict Verdict `json:"verdict"`
	// Reason says in a few words what the verdict rests on.
	Reason string `json:"reason"`
	// Slope is the lean in metres per metre of height (R/H for a low roof), as a root mean square over
	// the buildings; Sigma its standard error. NaN when heights are unknown.
	Slope Number `json:"slope"`
	Sigma Number `json:"slope_sigma"`
	// Nadir is where a single camera would have been, in the CRS; Height how high
	// above ground in metres. Only with a lean away from one place.
	Nadir  *[2]float64 `json:"nadir,omitempty"`
	Height Number      `json:"camera_height_m"`
	// Least is the lean in metres per metre that would have been seen in 95 of
	// 100 cases.
	Least Number `json:"least_slope_seen"`
	// Buildings is the number of those with a known height.
	Buildings int `json:"buildings"`
}

// A leanFit is a lean with the fits behind it.
type leanFit struct {
	Lean
	field       *adjustment
	fieldCounts bool
	slopes      float64 // typical displacement per metre of height, of a mosaic
}

// counts reports whether the image leans as one field of lean has it.
func (f *leanFit) counts() bool {
	return f.field != nil && f.Verdict == ReliefDisplacement && f.fieldCounts
}

// A displaced building: by how much it lies beside the block's common shift.
type displaced struct {
	by, variance float64 // metres, along either axis
	height       float64
}

// judgeLean looks for displacements that grow with height: in one field, as a
// single image has them, and without order, as a mosaic has them.
func (c *checker) judgeLean(all []observation, plain *adjustment, use [unknowns]bool) leanFit {
	f := leanFit{Lean: Lean{Verdict: Undecided, Slope: Number(math.NaN()), Sigma: Number(math.NaN()), Least: Number(math.NaN()), Height: Number(math.NaN())}}
	list := c.displacements(all, plain)
	f.Buildings = len(list)
	if len(list) < fewGroups+1 {
		f.Reason = "heights are known of too few buildings that were measured"
		return f
	}
	use[uLeanEast], use[uLeanNorth], use[uLeanAway] = true, true, true
	field := c.adjust(append([]observation(nil), all...), use, 0)
	if field != nil {
		if camera, ok := c.cameraOf(field); ok { // once more, with the lean as it grows
			field = c.adjust(append([]observation(nil), all...), use, camera)
		}
	}
	if field == nil {
		f.Reason = "the edges do not determine a lean"
		return f
	}
	f.field = field
	c.fieldLean(&f, list)
	apart := apartBy(list)
	growth := growthOf(list)
	f.slopes = apart
	const confident = 3 // difference of log likelihoods
	slope, sigma := float64(f.Slope), float64(f.Sigma)
	switch {
	case slope > LeanLimit && slope > 5*sigma:
		f.Verdict, f.fieldCounts = ReliefDisplacement, true
		f.Reason = "buildings lie the further off the higher they are, in one direction or away from one place"
		c.nadir(&f)
	case apart > LeanLimit && growth > confident:
		f.Verdict = ReliefDisplacement
		f.Slope, f.Sigma = Number(apart), Number(apart/math.Sqrt(float64(2*len(list))))
		f.Reason = "buildings lie the further off the higher they are, in many directions, as in a mosaic of leaning images"
	case slope+2*sigma < LeanLimit && apart < LeanLimit:
		f.Verdict, f.Reason = TrueOrtho, "buildings of different heights lie alike"
	case slope+2*sigma >= LeanLimit:
		f.Reason = "the lean is too small, or not well enough determined, to tell"
	default:
		f.Reason = "buildings lie apart, but not by their height"
	}
	return f
}

// fieldLean fills in the root mean square slope of the fitted field.
func (c *checker) fieldLean(f *leanFit, list []displaced) {
	a := f.field
	square, variance, worst, n := 0.0, 0.0, 0.0, 0.0
	for k := range c.groups {
		g := &c.groups[k]
		if !(g.height > 0) {
			continue
		}
		m := g.middle.mul(1 / a.half)
		east := [unknowns]float64{uLeanEast: 1, uLeanAway: m.x}
		north := [unknowns]float64{uLeanNorth: 1, uLeanAway: m.y}
		e, ve := a.combine(east)
		r, vr := a.combine(north)
		square += (e*e + r*r) / (usualHeight * usualHeight)
		variance += (ve + vr) / (usualHeight * usualHeight)
		worst, n = max(worst, math.Sqrt(max(ve, vr))/usualHeight), n+1
	}
	square, variance = square/n, variance/n
	f.Slope = Number(math.Sqrt(max(square-variance, 0)))
	f.Sigma = Number(math.Sqrt(variance))
	f.Least = Number(seenFactor * worst)
}

// seenFactor times a standard error is what is told from nothing at the 5 % level
// in 95 of 100 cases: 1.960 + 1.645 of the normal distribution.
const seenFactor = 3.605

// combine returns a linear function of the unknowns with its variance.
func (a *adjustment) combine(w [unknowns]float64) (value, variance float64) {
	for i := range w {
		value += w[i] * a.x[i]
		for k := range w {
			variance += w[i] * w[k] * a.cov[i][k]
		}
	}
	return value, variance
}

// cameraOf returns how high above ground a single camera was, where the lean
// points away from one place.
func (c *checker) cameraOf(a *adjustment) (float64, bool) {
	away := a.x[uLeanAway] / a.half / usualHeight // lean per metre of height and of distance
	if away <= 0 || a.x[uLeanAway] < 5*a.sigma(uLeanAway) {
		return 0, false
	}
	if a.camera > 0 {
		return 1 / away, true
	}
	return 1/away + c.typicalHeight(), true // that of a fit that is linear in h
}

// nadir works out where the camera was: where the lean is nought.
func (c *checker) nadir(f *leanFit) {
	a := f.field
	camera, ok := c.cameraOf(a)
	if !ok {
		return
	}
	away := a.x[uLeanAway] / a.half / usualHeight
	at := vec{a.x[uLeanEast], a.x[uLeanNorth]}.mul(-1 / usualHeight / away)
	p := [2]float64(c.frame.place(at))
	f.Nadir = &p
	f.Height = Number(camera)
}

// typicalHeight returns the mean height of the buildings.
func (c *checker) typicalHeight() float64 {
	sum, n := 0.0, 0.0
	for _, g := range c.groups {
		if g.height > 0 {
			sum, n = sum+g.height, n+1
		}
	}
	return sum / n
}

// displacements returns how each building with a known height lies beside the
// block.
func (c *checker) displacements(all []observation, a *adjustment) []displaced {
	var list []displaced
	for k := range c.groups {
		h := c.groups[k].height
		if !(h >= 1) {
			continue
		}
		s := c.single(c.groups[k].of(all), a, nil)
		if !s.ok {
			continue
		}
		for _, axis := range [2]int{uEast, uNorth} {
			list = append(list, displaced{s.by[axis], s.cov[axis][axis], h})
		}
	}
	return list
}

// apartBy returns the typical displacement per metre of height along an axis,
// noise taken out: from the median, so that single buildings do not count.
func apartBy(list []displaced) float64 {
	var v []float64
	for _, d := range list {
		v = append(v, (d.by*d.by-d.variance)/(d.height*d.height))
	}
	return math.Sqrt(max(median(v), 0) / 0.4549 * 2) // both axes
}

// growthOf compares two explanations of the displacements: that they grow with
// height, and that they do not; as the difference of log likelihoods, each at
// its best.
func growthOf(list []displaced) float64 {
	best := func(scale func(d displaced) float64) float64 {
		top := math.Inf(-1)
		for s := 0.002; s < 5; s *= 1.15 {
			sum := 0.0
			for _, d := range list {
				v := d.variance + s*s*scale(d)*scale(d)
				// Student's t with four degrees: a few buildings that lie elsewhere.
				sum -= 0.5*math.Log(v) + 2.5*math.Log(1+d.by*d.by/v/4)
			}
			top = max(top, sum)
		}
		return top
	}
	return best(func(d displaced) float64 { return d.height }) - best(func(displaced) float64 { return usualHeight })
}
