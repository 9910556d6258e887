package swath

import (
	"math"

	"quoin/extract/cloud"
)

// The scan angle is the angle of a pulse from nadir, across the flight. Over
// half a second, a point at height ζ above the mean of its window lies at
//
//	X = S + V·τ + H·T·u + (H−ζ)·tan φ·w,  T = tan θ·(1−ζ/H)
//
// with the sensor at S over the mean height and H above it, its velocity V,
// the unit vectors u across and w along the flight, the scan angle θ and the
// tilt φ of the scan plane. X on 1, τ, T and ζ gives S + H·tan φ·w, V, H·u and
// −tan φ·w. The tilt is taken as constant along a line: it shows only in what
// stands out of the ground.

const (
	// anglePoints is about how many points of a window are looked at.
	anglePoints = 400
	// angleLeast is the least number that gives a position.
	angleLeast = 30
	// widestAngle is the angle in degrees up to which the column is believed.
	widestAngle = 60
	// leastSpread is the least standard deviation of tan θ in a window (3°)
	// that tells across from along.
	leastSpread = 0.05
	// leastExplained is the least share of the variance across the flight that
	// the angle must explain, for the column to be what it says.
	leastExplained = 0.9
	// mostCrab is the largest cosine of the angle between u and V.
	mostCrab = 0.6
	// angleBias is what the column may be off by all along a line, in radians:
	// half a step of a whole degree, or a mounting that it leaves out.
	angleBias = 0.01
	// fan is the standard deviation along the flight, in shares of the height,
	// that a tilted plane over houses does not reach.
	fan = 0.02
	// usualTilt is the standard error of the tilt where nothing tells it.
	usualTilt = 0.05
)

// A sighting is a point with its angle, about the origin of its line.
type sighting struct {
	line, window int // window's place in the line's list
	at           vec
	tau, tan     float64 // seconds since the middle of the window; tan θ
}

// A fix is the sensor's position in the middle of a window.
type fix struct {
	number   uint32
	at       vec // without the tilt's share
	across   vec // unit vector u
	ahead    vec // unit vector w
	height   float64
	tilt     float64 // tan φ from this window alone, and its variance
	tiltVar  float64
	cov      weight
	fraction float64 // of the points of a full window
	spread   float64 // standard deviation along the flight that nothing explains
}

// sight collects sightings of the lines that are asked for, by line.
func (f *fleet) sight(b *cloud.Block, wanted []bool, origins []cloud.Point, workers int) [][]sighting {
	parts := inChunks(b, workers, func(points []cloud.Point, _ int) []sighting {
		var found []sighting
		for i := range points {
			p := &points[i]
			of := f.find(p.Source, p.Tick())
			if !wanted[of] || p.ScanAngle < -widestAngle || p.ScanAngle > widestAngle {
				continue
			}
			l := &f.lines[of]
			w := l.window(windowOf(p.Tick()))
			n := uint64(l.windows[w].points)
			if n > anglePoints && mix(p.Tick()^uint64(p.Source)<<48^uint64(p.Return())<<44)%n >= anglePoints {
				continue
			}
			s := sheaf{origin: origins[of]}
			found = append(found, sighting{
				line: of, window: w, at: s.place(p),
				tau: (float64(p.Tick()%windowTicks) - windowTicks/2) * 1e-7,
				tan: math.Tan(float64(p.ScanAngle) * math.Pi / 180),
			})
		}
		return found
	})
	byLine := make([][]sighting, len(f.lines))
	for _, part := range parts {
		for _, s := range part {
			byLine[s.line] = append(byLine[s.line], s)
		}
	}
	return byLine
}

// regress returns the paths along a line that its scan angles tell.
func regress(l *line, sightings []sighting) (paths []path) {
	byWindow := make([][]sighting, len(l.windows))
	for _, s := range sightings {
		byWindow[s.window] = append(byWindow[s.window], s)
	}
	var most uint32
	for _, w := range l.windows {
		most = max(most, w.points)
	}
	var fixes []fix
	for i, w := range l.windows {
		if f, ok := fixOf(byWindow[i]); ok {
			f.number, f.fraction = w.number, float64(w.points)/float64(most)
			fixes = append(fixes, f)
		}
	}
	lo := 0
	for i := range fixes {
		if i+1 < len(fixes) && fixes[i+1].number-fixes[i].number <= longestGap {
			continue
		}
		if i > lo {
			paths = append(paths, connect(fixes[lo:i+1]))
		}
		lo = i + 1
	}
	return paths
}

// fixOf solves the regression of one window. Where the beams are fanned out
// along the flight, ζ depends on where a beam points and not the other way
// round: then ζ is left out, and nothing tells the tilt.
func fixOf(sightings []sighting) (fix, bool) {
	if len(sightings) < angleLeast {
		return fix{}, false
	}
	f, ok := solveFor(sightings, false)
	if !ok || f.spread > fan*f.height {
		f.tilt, f.tiltVar = 0, math.Inf(1)
		return f, ok
	}
	return solveFor(sightings, true)
}

// solveFor solves the regression a few times over: T needs the height.
func solveFor(sightings []sighting, tilted bool) (fix, bool) {
	height := math.Inf(1)
	var r regression
	for range 3 {
		r = newRegression(sightings, height)
		if !r.solve(tilted) {
			return fix{}, false
		}
		height = math.Hypot(r.x[2], r.y[2])
	}
	return r.fix(height)
}

// A regression is X and Y on 1, τ, T, ζ.
type regression struct {
	rows       [][4]float64
	xs, ys     []float64
	base, mean float64 // mean height, mean of T
	inverse    [4][4]float64
	x, y       [4]float64
}

func newRegression(sightings []sighting, height float64) regression {
	var r regression
	for _, s := range sightings {
		r.base += s.at[2]
	}
	r.base /= float64(len(sightings))
	for _, s := range sightings {
		zeta := s.at[2] - r.base
		r.rows = append(r.rows, [4]float64{1, s.tau, s.tan * (1 - zeta/height), zeta})
		r.xs, r.ys = append(r.xs, s.at[0]), append(r.ys, s.at[1])
		r.mean += s.tan * (1 - zeta/height)
	}
	r.mean /= float64(len(sightings))
	return r
}

// solve computes the coefficients; that of ζ is held at 0 unless tilted.
func (r *regression) solve(tilted bool) bool {
	var n [4][4]float64
	var bx, by [4]float64
	for k, row := range r.rows {
		for i := range 4 {
			for j := range 4 {
				n[i][j] += row[i] * row[j]
			}
			bx[i] += row[i] * r.xs[k]
			by[i] += row[i] * r.ys[k]
		}
	}
	// Where the ground is flat, ζ tells nothing: a millimetre keeps it regular.
	held := 1e-6
	if !tilted {
		held = 1e12
	}
	n[3][3] += held * float64(len(r.rows))
	var ok bool
	if r.inverse, ok = invert(n); !ok {
		return false
	}
	for i := range 4 {
		r.x[i], r.y[i] = 0, 0
		for j := range 4 {
			r.x[i] += r.inverse[i][j] * bx[j]
			r.y[i] += r.inverse[i][j] * by[j]
		}
	}
	return true
}

// fix turns the regression's result into a position, and judges whether the
// angle explains what it should.
func (r *regression) fix(height float64) (fix, bool) {
	if !(height > 5) {
		return fix{}, false
	}
	u := vec{r.x[2] / height, r.y[2] / height, 0}
	v := vec{r.x[1], r.y[1], 0}
	w := vec{-u[1], u[0], 0}
	if w.dot(v) < 0 {
		w = w.scale(-1)
	}
	var res [3]float64 // covariance of the residuals: xx, xy, yy
	var spread float64
	for k, row := range r.rows {
		dx, dy := r.xs[k], r.ys[k]
		for i := range 4 {
			dx -= row[i] * r.x[i]
			dy -= row[i] * r.y[i]
		}
		res[0] += dx * dx
		res[1] += dx * dy
		res[2] += dy * dy
		spread += (row[2] - r.mean) * (row[2] - r.mean)
	}
	free := float64(len(r.rows) - 4)
	spread /= float64(len(r.rows))
	cov := weight{{res[0] / free, res[1] / free}, {res[1] / free, res[2] / free}}
	side := u.dot(cov.apply(u))
	if spread < leastSpread*leastSpread || side > (1-leastExplained)*(side+height*height*spread) ||
		math.Abs(u.dot(v)) > mostCrab*v.norm() {
		return fix{}, false
	}
	f := fix{
		at: vec{r.x[0], r.y[0], r.base + height}, across: u, ahead: w, height: height,
		tilt: -vec{r.x[3], r.y[3], 0}.dot(w), tiltVar: w.dot(cov.apply(w)) * r.inverse[3][3],
		spread: math.Sqrt(w.dot(cov.apply(w))),
	}
	tied := cov.apply(u).scale(r.inverse[0][2])
	for i := range 2 {
		for j := range 2 {
			f.cov[i][j] = cov[i][j] * r.inverse[0][0]
		}
		f.cov[i][2], f.cov[2][i] = tied[i], tied[i]
	}
	f.cov[2][2] = side * r.inverse[2][2]
	return f, true
}

// connect adjusts a path to fixes.
func connect(fixes []fix) path {
	tilt, tiltSigma := pooledTilt(fixes)
	first, last := fixes[0].number, fixes[len(fixes)-1].number
	p := path{first: first, knots: make([]knot, last-first+2), rays: len(fixes), used: len(fixes)}
	n, rhs := bandMatrix(make([][halfBand + 1]float64, 3*len(p.knots))), make([]float64, 3*len(p.knots))
	smooth(n)
	heights := make([]float64, len(fixes))
	widest := 0.0
	for i := range fixes {
		heights[i], widest = fixes[i].height, max(widest, fixes[i].spread)
	}
	for i := range fixes {
		f := &fixes[i]
		m, ok := f.weight(widest)
		if !ok {
			continue
		}
		observe(n, rhs, int(f.number-first), 0.5, f.at.sub(f.ahead.scale(f.height*tilt)), &m)
	}
	p.reach = median(heights)
	if !n.factor() {
		return path{}
	}
	n.solve(rhs)
	p.judge(n, vec{0, 0, 1})
	bias := math.Hypot(angleBias, tiltSigma/math.Sqrt2) * p.reach
	for k := range p.knots {
		o := &p.knots[k]
		o.at = vec{rhs[3*k], rhs[3*k+1], rhs[3*k+2]}
		o.across, o.position = math.Hypot(o.across, bias), math.Hypot(o.position, bias*math.Sqrt2)
	}
	return p
}

// weight returns the weight of a fix. Where the block shows only a share q of
// what a sensor with beams fanned out along the flight saw, the mean of what
// it shows is off by (1−q) times half of the fan, which is √3 times its
// standard deviation where nothing is cut: the widest of all windows.
func (f *fix) weight(widest float64) (weight, bool) {
	cov := f.cov
	cut := math.Sqrt(3) * widest * (1 - f.fraction)
	for i := range 3 {
		for j := range 3 {
			cov[i][j] += cut * cut * f.ahead[i] * f.ahead[j]
		}
		cov[i][i] += 1e-4 // a centimetre: keeps noise-free fixes regular
	}
	m := [4][4]float64{3: {3: 1}}
	for i := range cov {
		copy(m[i][:], cov[i][:])
	}
	inverse, ok := invert(m)
	var w weight
	for i := range w {
		copy(w[i][:], inverse[i][:3])
	}
	return w, ok
}

// pooledTilt returns the tangent of the scan plane's tilt along a line and its
// standard error; 0 and the usual one where there is not enough relief.
func pooledTilt(fixes []fix) (tilt, sigma float64) {
	var sum, weights float64
	for _, f := range fixes {
		v := f.tiltVar + 1e-8
		sum += f.tilt / v
		weights += 1 / v
	}
	if sigma = 1 / math.Sqrt(weights); sigma < usualTilt {
		return sum / weights, sigma
	}
	return 0, usualTilt
}
