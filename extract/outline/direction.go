package outline

import "math"

// boundaryPoints are places near the outline, in turned coordinates: for each pair of cells side by side of which one is roof and the
// other open, the middle between the centroids of their points. Centroids rather than cells keep the grid's own direction out.
func (g *raster) boundaryPoints(lab []label) [][2]float64 {
	var points [][2]float64
	pair := func(a, b int) {
		if lab[a] == open {
			a, b = b, a
		}
		if lab[a] != roof || lab[b] != open || g.in[a] == 0 || g.out[b] == 0 {
			return
		}
		i, o := float64(g.in[a]), float64(g.out[b])
		points = append(points, [2]float64{(g.inU[a]/i + g.outU[b]/o) / 2, (g.inV[a]/i + g.outV[b]/o) / 2})
	}
	for row := 0; row < g.rows-1; row++ {
		for col := 0; col < g.cols-1; col++ {
			c := row*g.cols + col
			pair(c, c+1)
			pair(c, c+g.cols)
		}
	}
	return points
}

// mainDirection is the angle in [0, π/2) along or across which the projections of the points pile up most: the energy, the sum of
// squared bins, of the histograms of both coordinates. The bins shrink with the step of the angle down to bin, so that a long wall's
// narrow peak is met on the way.
func mainDirection(points [][2]float64, bin float64) float64 {
	if len(points) == 0 {
		return 0
	}
	extent := 0.0
	for _, p := range points {
		extent = max(extent, math.Abs(p[0]-points[0][0])+math.Abs(p[1]-points[0][1]))
	}
	step := math.Pi / 180
	width := max(bin, extent*step)
	best, most := 0.0, -1.0
	for k := 0; k < 90; k++ {
		if e := energy(points, float64(k)*step, width); e > most {
			best, most = float64(k)*step, e
		}
	}
	for step*extent > bin/4 {
		step /= 2
		width = max(bin, width/2)
		here, most := best, -1.0
		for k := -2; k <= 2; k++ {
			if e := energy(points, here+float64(k)*step, width); e > most {
				best, most = here+float64(k)*step, e
			}
		}
	}
	return math.Mod(best+math.Pi/2, math.Pi/2)
}

// energy is the sum of squares of linearly shared bins of both turned coordinates.
func energy(points [][2]float64, theta, bin float64) float64 {
	s, c := math.Sincos(theta)
	var lo, hi [2]float64
	for i := range lo {
		lo[i], hi[i] = math.Inf(1), math.Inf(-1)
	}
	for _, p := range points {
		for i, t := range [2]float64{c*p[0] + s*p[1], c*p[1] - s*p[0]} {
			lo[i], hi[i] = min(lo[i], t), max(hi[i], t)
		}
	}
	sum := 0.0
	for i := range lo {
		bins := make([]float64, int((hi[i]-lo[i])/bin)+3)
		for _, p := range points {
			t := c*p[0] + s*p[1]
			if i == 1 {
				t = c*p[1] - s*p[0]
			}
			at := (t - lo[i]) / bin
			k := int(at)
			bins[k] += 1 - (at - float64(k))
			bins[k+1] += at - float64(k)
		}
		for _, b := range bins {
			sum += b * b
		}
	}
	return sum
}
