package clean

import (
	"math"
	"math/rand/v2"
	"slices"

	"github.com/paulmach/orb"

	"quoin/extract/outline"
	"quoin/vector/accuracy/bound"
)

// A Sampling says how pulses fall.
type Sampling string

// The samplings. Scan lines lie 1.4 times as far apart as the pulses on them.
const (
	Poisson Sampling = "Poisson"
	Lines   Sampling = "lines, any heading"
	Along   Sampling = "lines along an edge"
	Swaths  Sampling = "two swaths"
	// Shadow is Lines where the roof hides what lies within three metres of it
	// on one side, square to two of its edges.
	Shadow Sampling = "one side in shadow"
)

// Samplings lists them.
func Samplings() []Sampling { return []Sampling{Poisson, Lines, Along, Swaths, Shadow} }

const (
	shadowLength = 3.0
	lineRatio    = 1.4
	// jitter is that of pulses along their line, in distances between them.
	jitter = 0.1
)

// A survey is what was seen of one plan, and what the scorer knows of that.
type survey struct {
	observations []outline.Observation
	views        []bound.View
}

// fly measures a plan: each pulse gets the label of the place it truly hit, and
// is reported at that place blurred by the noise.
func (c Cell) fly(p plan, rng *rand.Rand) survey {
	spacing := 1 / math.Sqrt(c.Density)
	places := c.places(p, p.bounds().Pad(max(2.5, 4*spacing)), rng)
	shadow := p.along + float64(rng.IntN(4))*math.Pi/2
	sigma, beam := c.Noise/100, c.Beam/100
	var s survey
	for _, v := range places {
		depth := p.depth(v[0], v[1])
		o := outline.Observation{X: v[0] + sigma*rng.NormFloat64(), Y: v[1] + sigma*rng.NormFloat64()}
		switch {
		case depth < -beam:
			o.Side = outline.Outside
		case depth < beam:
			o.Side = outline.Split
		}
		if c.Sampling == Shadow && o.Side == outline.Outside && depth > -shadowLength && p.shades(v[0], v[1], shadow) {
			continue
		}
		s.observations = append(s.observations, o)
	}
	s.views = c.views(p, places, shadow)
	return s
}

// shades reports whether the way back along the shadow meets the roof.
func (p plan) shades(x, y, shadow float64) bool {
	const step = 0.1
	sin, cos := math.Sincos(shadow)
	for t := step; t <= shadowLength; t += step {
		if p.depth(x-t*cos, y-t*sin) > 0 {
			return true
		}
	}
	return false
}

// places are where pulses hit within a rectangle.
func (c Cell) places(p plan, box orb.Bound, rng *rand.Rand) [][2]float64 {
	any := func() float64 { return rng.Float64() * math.Pi }
	switch c.Sampling {
	case Poisson:
		return strewn(c.Density, box, rng)
	case Along:
		return lines(c.Density, p.along, box, rng)
	case Swaths:
		return append(lines(c.Density/2, any(), box, rng), lines(c.Density/2, any(), box, rng)...)
	}
	return lines(c.Density, any(), box, rng)
}

// strewn is a Poisson pattern: distances between its points, sorted along a
// line of unit intensity, are exponential.
func strewn(density float64, box orb.Bound, rng *rand.Rand) [][2]float64 {
	width, height := box.Max[0]-box.Min[0], box.Max[1]-box.Min[1]
	var all [][2]float64
	for at := rng.ExpFloat64(); at < density*width*height; at += rng.ExpFloat64() {
		all = append(all, [2]float64{box.Min[0] + rng.Float64()*width, box.Min[1] + rng.Float64()*height})
	}
	return all
}

func lines(density, heading float64, box orb.Bound, rng *rand.Rand) [][2]float64 {
	along := 1 / math.Sqrt(lineRatio*density)
	apart := lineRatio * along
	middle := box.Center()
	radius := math.Hypot(box.Max[0]-box.Min[0], box.Max[1]-box.Min[1]) / 2
	sin, cos := math.Sincos(heading)
	var all [][2]float64
	for across := -radius + rng.Float64()*apart; across < radius; across += apart {
		for at := -radius + rng.Float64()*along; at < radius; at += along {
			t := at + jitter*along*rng.NormFloat64()
			v := [2]float64{middle[0] + cos*t - sin*across, middle[1] + sin*t + cos*across}
			if box.Contains(v) {
				all = append(all, v)
			}
		}
	}
	return all
}

// views tells the scorer how each edge was truly seen.
func (c Cell) views(p plan, places [][2]float64, shadow float64) []bound.View {
	all := make([]bound.View, len(p.ring))
	for i, a := range p.ring {
		b := p.ring[(i+1)%len(p.ring)]
		all[i] = bound.View{Density: c.Density, Sigma: c.Noise / 100, Beam: c.Beam / 100}
		if c.Sampling == Shadow {
			all[i].Hidden = p.hidden(a, b, shadow)
		}
		if c.Sampling != Poisson {
			all[i].Gaps = c.gaps(a, b, places)
		}
	}
	return all
}

// hidden is the share of an edge just outside of which the shadow lies.
func (p plan) hidden(a, b [2]float64, shadow float64) float64 {
	const places, beside = 50, 0.02
	l := math.Hypot(b[0]-a[0], b[1]-a[1])
	nx, ny := (b[1]-a[1])/l, (a[0]-b[0])/l
	n := 0
	for k := range places {
		f := (float64(k) + 0.5) / places
		if p.shades(a[0]+f*(b[0]-a[0])+beside*nx, a[1]+f*(b[1]-a[1])+beside*ny, shadow) {
			n++
		}
	}
	return float64(n) / places
}

// gapLines is over how many line distances, to either side of an edge, the gaps
// of the pattern about it are taken.
const gapLines = 6

// gaps are the distances between true places about an edge, projected on its
// normal.
func (c Cell) gaps(a, b [2]float64, places [][2]float64) []float64 {
	reach := gapLines * math.Sqrt(lineRatio/c.Density)
	l := math.Hypot(b[0]-a[0], b[1]-a[1])
	tx, ty := (b[0]-a[0])/l, (b[1]-a[1])/l
	var across []float64
	for _, v := range places {
		dx, dy := v[0]-a[0], v[1]-a[1]
		if t, d := dx*tx+dy*ty, dx*ty-dy*tx; t > 0 && t < l && math.Abs(d) < reach {
			across = append(across, d)
		}
	}
	slices.Sort(across)
	var gaps []float64
	for i := 1; i < len(across); i++ {
		gaps = append(gaps, across[i]-across[i-1])
	}
	return gaps
}
