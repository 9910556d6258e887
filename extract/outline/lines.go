package outline

import "math"

// scanLines looks for scan lines parallel to an edge in the distances of the points on both sides from it, and returns how far apart
// the lines are and the share of the points that lie on them, both 0 for none.
//
// Noise fills the gaps between the points of such lines, but not the gaps between the places that were truly hit, and those are what
// decides how well the edge is known. So the lines are looked for as a period: the power |Σ exp(2πi·f·h)|²/n of distances without one
// is exponential with mean 1 a side. Noise takes exp(-4π²σ²f²) of it, which is given back.
func scanLines(in, out []float64, spacing, sigma float64) (apart, share float64) {
	const (
		longest, shortest = 4, 0.4 // spacings
		perDepth          = 20     // frequencies a unit of 1/spacing: four to the resolution of strips five spacings deep
		significant       = 14     // (1+x)·exp(-x) is 1.2e-5, and some 45 frequencies are tried
		most              = 400    // points a side
	)
	in, out = thin(in, most), thin(out, most)
	best, at := 0.0, 0.0
	for k := perDepth / longest; k <= int(perDepth/shortest); k++ {
		f := float64(k) / (perDepth * spacing)
		if p := power(in, f) + power(out, f); p > best {
			best, at = p, f
		}
	}
	if best < significant {
		return 0, 0
	}
	a := 2 * math.Pi * sigma * at
	return 1 / at, min((best-2)/float64(len(in)+len(out))*math.Exp(a*a), 1)
}

func power(h []float64, f float64) float64 {
	if len(h) == 0 {
		return 0
	}
	re, im := 0.0, 0.0
	for _, v := range h {
		s, c := math.Sincos(2 * math.Pi * f * v)
		re, im = re+c, im+s
	}
	return (re*re + im*im) / float64(len(h))
}

// thin keeps every k-th of a list so that at most n are left.
func thin(list []float64, n int) []float64 {
	k := (len(list) + n - 1) / n
	if k <= 1 {
		return list
	}
	kept := make([]float64, 0, n)
	for i := 0; i < len(list); i += k {
		kept = append(kept, list[i])
	}
	return kept
}
