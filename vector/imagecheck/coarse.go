package imagecheck

import (
	"math"
	"slices"
)

// evidence returns for each place of a strip how much looks like an edge there,
// from 0 to 1: the step between the means of two pixels on either side, set
// against its scatter from section to section and against the largest step in
// the strip. Texture has large steps, too, but not the same ones all along.
func (s *strip) evidence() []float64 {
	const span = 2
	const enough = 25 // squared ratio of step and error at which evidence is half
	size, ratio := make([]float64, s.width), make([]float64, s.width)
	for u := span; u < s.width-span; u++ {
		for c := range s.channels {
			var steps []float64
			for j := range s.sections {
				if v, ok := s.step(j, u, c, span); ok {
					steps = append(steps, v)
				}
			}
			if len(steps) == 0 {
				continue
			}
			mean, sd := meanAndDeviation(steps)
			floor := math.Abs(mean)/4 + 1e-9 // one section says nothing of its scatter
			if len(steps) < 3 {
				sd = max(sd, floor)
			}
			size[u] += mean * mean
			ratio[u] += mean * mean / (sd*sd/float64(len(steps)) + 0.05*mean*mean + 1e-12)
		}
	}
	top := math.Sqrt(slices.Max(size))
	out := make([]float64, s.width)
	if top == 0 {
		return out
	}
	for u := range out {
		out[u] = math.Sqrt(size[u]) / top * ratio[u] / (ratio[u] + enough)
	}
	return widened(out)
}

func (s *strip) step(j, u, c, span int) (float64, bool) {
	sum := 0.0
	for k := 1; k <= span; k++ {
		if !s.ok[j*s.width+u+k] || !s.ok[j*s.width+u-k] {
			return 0, false
		}
		sum += s.value(j, u+k, c) - s.value(j, u-k, c)
	}
	return sum / float64(span), true
}

// widened spreads each entry to its neighbours, so that shifts in whole pixels
// find the crest of all edges of a building at once.
func widened(v []float64) []float64 {
	out := make([]float64, len(v))
	for i := range v {
		for k := max(i-1, 0); k <= min(i+1, len(v)-1); k++ {
			weight := 1.0
			if k != i {
				weight = 0.8
			}
			out[i] = max(out[i], weight*v[k])
		}
	}
	return out
}

// A crest is a local maximum of a building's evidence over shifts.
type crest struct {
	shift vec
	score float64 // mean evidence of the building's edges, 0 to 1
}

// A trace is an edge's evidence by offset.
type trace struct {
	normal   vec
	weight   float64
	evidence []float64
	reach    int
	pixel    float64
}

// of returns the evidence at an offset in metres.
func (t *trace) of(offset float64) float64 {
	i := int(math.Round(offset/t.pixel)) + t.reach
	if i < 0 || i >= len(t.evidence) {
		return 0
	}
	return t.evidence[i]
}

// A field is a building's evidence over a square of shifts, row by row.
type field struct {
	reach int // steps on either side
	step  float64
	score []float64
}

func fieldOf(traces []trace, reach int, step float64) field {
	f := field{reach: reach, step: step, score: make([]float64, (2*reach+1)*(2*reach+1))}
	total := 0.0
	for i := range traces {
		total += traces[i].weight
	}
	for k := range f.score {
		at := f.shift(k)
		if at.length() > float64(reach)*step {
			continue
		}
		for i := range traces {
			t := &traces[i]
			f.score[k] += t.weight * t.of(at.dot(t.normal))
		}
		f.score[k] /= total
	}
	return f
}

func (f field) shift(k int) vec {
	side := 2*f.reach + 1
	return vec{float64(k%side - f.reach), float64(k/side - f.reach)}.mul(f.step)
}

// crests returns the largest local maxima, the highest first.
func (f field) crests(most int) []crest {
	side := 2*f.reach + 1
	var all []crest
	for k, v := range f.score {
		if v > 0 && f.isCrest(k, side) {
			all = append(all, crest{f.shift(k), v})
		}
	}
	slices.SortStableFunc(all, func(a, b crest) int {
		switch {
		case a.score > b.score:
			return -1
		case a.score < b.score:
			return 1
		}
		return 0
	})
	return all[:min(len(all), most)]
}

func (f field) isCrest(k, side int) bool {
	col, row := k%side, k/side
	for r := max(row-2, 0); r <= min(row+2, side-1); r++ {
		for c := max(col-2, 0); c <= min(col+2, side-1); c++ {
			if o := r*side + c; f.score[o] > f.score[k] || f.score[o] == f.score[k] && o < k {
				return false
			}
		}
	}
	return true
}

func meanAndDeviation(v []float64) (mean, sd float64) {
	for _, x := range v {
		mean += x / float64(len(v))
	}
	for _, x := range v {
		sd += (x - mean) * (x - mean)
	}
	return mean, math.Sqrt(sd / max(float64(len(v)-1), 1))
}

// median returns the middle of v, which it sorts; 0 for none.
func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	n := len(v)
	return (v[(n-1)/2] + v[n/2]) / 2
}
