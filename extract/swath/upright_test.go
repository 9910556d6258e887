package swath

import (
	"math"
	"math/rand/v2"
	"testing"

	"quoin/extract/cloud"
)

// A yard is a place of square houses, 10 m wide and 6 m high, with a roof that
// juts out by 0.5 m, turned by 0.3 rad, as a scanner with a beam of half-width
// f and a horizontal noise sigma sees it from above: pulses are split where the
// beam's footprint meets the roof edge.
type yard struct {
	seed              uint64
	density, sigma, f float64
	walls             float64 // points per square metre of wall
	hedges            bool
	houses            int
}

func (y yard) points() []cloud.Point {
	r := rand.New(rand.NewPCG(y.seed, 3))
	var points []cloud.Point
	sin, cos := math.Sincos(0.3)
	emit := func(cx, cy, u, v, z float64, number, of uint8) {
		points = append(points, cloud.Pack(
			cx+u*cos-v*sin+y.sigma*r.NormFloat64(), cy+u*sin+v*cos+y.sigma*r.NormFloat64(), z+0.01*r.NormFloat64(),
			cloud.Attributes{Source: 1, Return: number, Returns: of},
		))
	}
	for h := range y.houses {
		cx, cy := 20*float64(h%6), 20*float64(h/6)
		for range int(y.density * 400) {
			u, v := r.Float64()*20-10, r.Float64()*20-10
			d := max(math.Abs(u), math.Abs(v)) - 5.5
			switch {
			case d < -y.f:
				emit(cx, cy, u, v, 6, 1, 1)
			case d < y.f:
				emit(cx, cy, u, v, 6, 1, 2)
				emit(cx, cy, u, v, 0, 2, 2)
			default:
				emit(cx, cy, u, v, 0, 1, 1)
			}
		}
		for range int(y.walls * 4 * 10 * 6) {
			a, z := r.Float64()*10-5, r.Float64()*6
			u, v := a, 5.0
			switch r.IntN(4) {
			case 1:
				v = -5
			case 2:
				u, v = 5, a
			case 3:
				u, v = -5, a
			}
			emit(cx, cy, u, v, z, 1, 1)
		}
		for range 300 * map[bool]int{true: 1}[y.hedges] {
			emit(cx, cy, 9+0.6*r.Float64(), r.Float64()*20-10, 4*r.Float64(), 1, 1)
		}
	}
	return points
}

// Noise and beam are found where the geometry tells, over what scanners have.
func TestUprightsTellNoiseAndBeam(t *testing.T) {
	for _, density := range []float64{12, 80} {
		for _, sigma := range []float64{0.01, 0.03} {
			for _, f := range []float64{0.05, 0.1, 0.2} {
				y := yard{seed: 1, density: density, sigma: sigma, f: f, walls: 15, houses: 12, hedges: true}
				r := Measure(blockOf(y.points()), 2).Report
				t.Logf("density %3.0f sigma %.2f f %.2f: %.4f (%d) %.4f (%d)", density, sigma, f, r.Sigma.Value, r.Sigma.Samples, r.Beam.Value, r.Beam.Samples)
				if math.Abs(r.Sigma.Value-sigma) > 0.05*sigma {
					t.Errorf("density %.0f sigma %.2f f %.2f: sigma %.4f m", density, sigma, f, r.Sigma.Value)
				}
				if r.Beam.Samples == 0 && f*density < 1.5 {
					continue // five pulses on two metres of edge are no row
				}
				if math.Abs(r.Beam.Value-f) > 0.1*f+0.003 {
					t.Errorf("density %.0f sigma %.2f f %.2f: beam %.4f m from %d edges", density, sigma, f, r.Beam.Value, r.Beam.Samples)
				}
			}
		}
	}
}
