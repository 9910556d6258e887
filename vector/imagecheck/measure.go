package imagecheck

import (
	"math"
	"slices"
)

// A candidate is a step of the image across an edge.
type candidate struct {
	offset float64 // metres outward of the edge
	sigma  float64 // its standard error along the edge, texture and noise
	size   float64 // amplitude in standard deviations of the image beside it
}

// window is how far from where it is expected an image edge is fitted, in pixels.
const window = 8

// candidates returns the steps that a strip shows, in order of place, and how
// blurred they are in pixels.
func (s *strip) candidates(known blur) (list []candidate, width float64) {
	b := s.bundle(known)
	if len(b.rows) == 0 {
		return nil, 0
	}
	p := b.average(-1)
	m := p.locate()
	if len(m.steps) == 0 {
		return nil, 0
	}
	sigmas, formal := b.jackknife(&m), p.formal(&m)
	for k, st := range m.steps {
		sigma := math.Max(sigmas[k], formal[k]/2)
		if !(sigma < 2) || math.Abs(st.at) > window-1.5 {
			continue // not located, or at the rim
		}
		list = append(list, candidate{s.centre + st.at*s.pixel, sigma * s.pixel, st.size()})
	}
	slices.SortFunc(list, func(a, b candidate) int {
		switch {
		case a.offset < b.offset:
			return -1
		case a.offset > b.offset:
			return 1
		}
		return 0
	})
	return list, m.blur
}

// A bundle is the profiles of the sections of one edge, in channels that scatter
// alike and independently.
type bundle struct {
	from   float64
	width  int
	blur   blur
	rows   []profileRow
	weight []float64 // by row: 0 for a section that looks unlike the others
	noise  float64   // from place to place
}

// A profileRow holds the values of a section by channel: NaN where nothing is
// seen.
type profileRow [][]float64

func (s *strip) bundle(known blur) *bundle {
	b := &bundle{from: -float64(s.reach), width: s.width, blur: known}
	mix := s.whitening()
	var jitter []float64
	for j := range s.sections {
		row, seen := s.row(j, mix)
		if seen < s.width*2/3 {
			continue
		}
		b.rows = append(b.rows, row)
		for _, v := range row {
			for u := 1; u+1 < s.width; u++ {
				if d := math.Abs(v[u-1]-2*v[u]+v[u+1]) / math.Sqrt(6); !math.IsNaN(d) {
					jitter = append(jitter, d)
				}
			}
		}
	}
	b.noise = 1.4826 * median(jitter)
	if len(b.rows) > 0 {
		b.weigh()
	}
	return b
}

// row returns a section in the mixed channels, and at how many places it is seen.
func (s *strip) row(j int, mix [][]float64) (row profileRow, seen int) {
	row = make(profileRow, s.channels)
	for c := range row {
		row[c] = make([]float64, s.width)
		for u := range row[c] {
			if !s.ok[j*s.width+u] {
				row[c][u] = math.NaN()
				continue
			}
			if c == 0 {
				seen++
			}
			for k, w := range mix[c] {
				row[c][u] += w * s.value(j, u, k)
			}
		}
	}
	return row, seen
}

// whitening returns the mixture of channels in which the two sides of the edge
// scatter by one and independently: the inverse of the Cholesky factor of their
// covariance. Brightness that varies along a roof is one of the mixed channels,
// and the others are freed of it.
func (s *strip) whitening() [][]float64 {
	n := s.channels
	cov := newSystem(n)
	for _, side := range [2][][]float64{s.side(0, s.reach-1), s.side(s.reach+2, s.width)} {
		mean := means(side, n)
		for _, v := range side {
			d := make([]float64, n)
			for c := range d {
				d[c] = v[c] - mean[c]
			}
			cov.add(d, 0, 1/float64(s.sections*s.width))
		}
	}
	scatter := 0.0
	for c := range n {
		scatter += cov.mat[c*n+c] / float64(n)
	}
	for c := range n {
		cov.addPrior(c, 0.05*scatter+1e-6)
	}
	mix := make([][]float64, n)
	known := cov.factor()
	for c := range mix {
		mix[c] = make([]float64, n)
		mix[c][c] = 1
	}
	if !known {
		return mix
	}
	for i := range n { // rows of the inverse of the lower factor
		for k := range n {
			for j := range i {
				mix[i][k] -= cov.work[i*n+j] * mix[j][k]
			}
			mix[i][k] /= cov.work[i*n+i]
		}
	}
	return mix
}

// side returns the values seen from one place before another.
func (s *strip) side(from, until int) (all [][]float64) {
	for j := range s.sections {
		for u := from; u < until; u++ {
			if i := j*s.width + u; s.ok[i] {
				all = append(all, s.values[i*s.channels:(i+1)*s.channels])
			}
		}
	}
	return all
}

func means(v [][]float64, n int) []float64 {
	m := make([]float64, n)
	for _, x := range v {
		for c := range m {
			m[c] += x[c] / float64(len(v))
		}
	}
	return m
}
