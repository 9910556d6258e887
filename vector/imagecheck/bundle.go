package imagecheck

import (
	"math"
)

// weigh takes sections out that look unlike the others, a tree over the edge or
// a car beside it: Tukey's weights of the distance from the median profile.
func (b *bundle) weigh() {
	b.weight = make([]float64, len(b.rows))
	if len(b.rows) < 4 {
		for j := range b.weight {
			b.weight[j] = 1
		}
		return
	}
	distance := b.distances()
	const reach = 3 // times the usual distance
	usual := median(append([]float64(nil), distance...))
	for j, d := range distance {
		if x := d / (reach * usual); x < 1 {
			b.weight[j] = (1 - x*x) * (1 - x*x)
		}
	}
}

// distances returns how far each section is from the median of all, as a root
// mean square.
func (b *bundle) distances() []float64 {
	out, count := make([]float64, len(b.rows)), make([]float64, len(b.rows))
	v := make([]float64, 0, len(b.rows))
	for c := range b.rows[0] {
		for u := range b.width {
			v = v[:0]
			for _, r := range b.rows {
				if !math.IsNaN(r[c][u]) {
					v = append(v, r[c][u])
				}
			}
			middle := median(v)
			for j, r := range b.rows {
				if !math.IsNaN(r[c][u]) {
					out[j] += (r[c][u] - middle) * (r[c][u] - middle)
					count[j]++
				}
			}
		}
	}
	for j := range out {
		out[j] = math.Sqrt(out[j] / max(count[j], 1))
	}
	return out
}

// average returns the mean profile of the sections but one (−1: of all), with
// weights that follow from the scatter between sections.
func (b *bundle) average(without int) profile {
	p := profile{from: b.from, blur: b.blur}
	for c := range b.rows[0] {
		values, weight := b.channel(c, without)
		p.values, p.weight = append(p.values, values), append(p.weight, weight)
	}
	return p
}

func (b *bundle) channel(c, without int) (values, weight []float64) {
	values, weight = make([]float64, b.width), make([]float64, b.width)
	variance, count := make([]float64, b.width), make([]float64, b.width)
	for u := range b.width {
		sum, square := 0.0, 0.0
		first := math.NaN() // values are summed about it
		for j, r := range b.rows {
			v := r[c][u]
			if j == without || math.IsNaN(v) {
				continue
			}
			if math.IsNaN(first) {
				first = v
			}
			w, d := b.weight[j], v-first
			sum, square, count[u] = sum+w*d, square+w*d*d, count[u]+w
		}
		if count[u] < 0.5 {
			count[u] = 0
			continue
		}
		mean := sum / count[u]
		values[u], variance[u] = first+mean, max(square/count[u]-mean*mean, 0)
	}
	pooled := median(append([]float64(nil), variance...))
	for u := range b.width {
		if count[u] > 0 {
			weight[u] = count[u] / ((variance[u]+pooled)/2 + b.noise*b.noise + 1e-9)
		}
	}
	return values, weight
}

// jackknife returns the standard error of each step's place in pixels, from
// leaving out one section after the other (Tukey 1958); 0 when there are less
// than four sections.
func (b *bundle) jackknife(m *model) []float64 {
	out := make([]float64, len(m.steps))
	places := make([][]float64, len(m.steps))
	for j := range b.rows {
		if b.weight[j] < 0.05 {
			continue
		}
		p := b.average(j)
		tried := *m
		p.fit(&tried, 3)
		for k := range places {
			places[k] = append(places[k], tried.steps[k].at)
		}
	}
	for k, v := range places {
		if n := float64(len(v)); n >= 4 {
			_, sd := meanAndDeviation(v)
			out[k] = sd * (n - 1) / math.Sqrt(n)
		}
	}
	return out
}
