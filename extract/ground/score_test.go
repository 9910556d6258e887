package ground

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"quoin/extract/cloud"
)

// A tally is the cross matrix of a filter: ground kept and lost, objects kept
// as ground and removed. Sithole and Vosselman 2004, ISPRS J. 59:85–101.
type tally struct{ kept, lost, leaked, removed int }

func (t tally) typeI() float64  { return 100 * float64(t.lost) / float64(t.kept+t.lost) }
func (t tally) typeII() float64 { return 100 * float64(t.leaked) / float64(t.leaked+t.removed) }
func (t tally) n() int          { return t.kept + t.lost + t.leaked + t.removed }
func (t tally) total() float64  { return 100 * float64(t.lost+t.leaked) / float64(t.n()) }

// kappa is Cohen's coefficient of agreement (1960), in percent.
func (t tally) kappa() float64 {
	a, b, c, d, n := float64(t.kept), float64(t.lost), float64(t.leaked), float64(t.removed), float64(t.n())
	agree := (a + d) / n
	chance := ((a+b)*(a+c) + (c+d)*(b+d)) / (n * n)
	return 100 * (agree - chance) / (1 - chance)
}

// A score is what an estimate gets against the truth.
type score struct {
	tally
	leak, of [lowPoint + 1]int // points taken for ground, by what they lie on
	// roofBias and roofWorst are the mean and the 95 % absolute difference of
	// the surface from the truth under roofs, rms that of seen terrain, metres.
	roofBias, roofWorst, rms float64
}

func (s score) share(on int) float64 { return 100 * float64(s.leak[on]) / float64(max(s.of[on], 1)) }

func (s score) String() string {
	var out strings.Builder
	fmt.Fprintf(&out, "n=%d I=%.2f II=%.2f total=%.2f kappa=%.1f", s.n(), s.typeI(), s.typeII(), s.total(), s.kappa())
	for _, k := range []struct {
		on   int
		name string
	}{{onRoof, "roof"}, {onWall, "wall"}, {onCar, "car"}, {onShrub, "shrub"}, {onTree, "tree"}, {lowPoint, "low"}} {
		if s.of[k.on] > 0 {
			fmt.Fprintf(&out, " %s=%.2f", k.name, s.share(k.on))
		}
	}
	fmt.Fprintf(&out, " bias=%.3f worst=%.3f rms=%.3f", s.roofBias, s.roofWorst, s.rms)
	return out.String()
}

// grade scores a surface and its mask against a world.
func grade(w *world, b *cloud.Block, s *Surface, o Options) score {
	var out score
	mask := Mask(b, s.Z, Height(b, s.Z), o)
	for i, ground := range mask {
		on := int(b.Points[i].Source)
		out.of[on]++
		if ground {
			out.leak[on]++
		}
		switch {
		case on == onGround && ground:
			out.kept++
		case on == onGround:
			out.lost++
		case ground:
			out.leaked++
		default:
			out.removed++
		}
	}
	out.surface(w, s)
	return out
}

// surface compares the surface with the true terrain.
func (s *score) surface(w *world, got *Surface) {
	var roofs, open []float64
	for i, z := range got.Z.Values {
		x, y := got.Z.Centre(i)
		near := w.about(x, y)
		d := float64(z) - near.ground(x, y)
		under := false
		for _, r := range near.roofs {
			under = under || outside(x, y, r) < 0
		}
		if under {
			roofs = append(roofs, d)
		} else {
			open = append(open, d*d)
		}
	}
	s.roofBias = mean(roofs)
	for i, d := range roofs {
		roofs[i] = math.Abs(d)
	}
	s.roofWorst = quantile(roofs, 0.95)
	s.rms = math.Sqrt(mean(open))
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(max(len(v), 1))
}

func quantile(v []float64, q float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Sorted(slices.Values(v))
	return s[int(q*float64(len(s)-1))]
}

func measures(density, noise float64) cloud.Measures {
	return cloud.Measures{Density: density, Spacing: spacing(density), SigmaZ: noise}
}

func spacing(d float64) float64 { return 1 / math.Sqrt(d) }
