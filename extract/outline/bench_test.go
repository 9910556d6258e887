package outline

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"syscall"
	"testing"
)

// BenchmarkFit fits ordinary buildings of at most twelve edges, model choice included, and reports the median of their processor times. The
// observations reach four metres beyond the outline, as they do in a run.
func BenchmarkFit(b *testing.B) {
	for _, density := range []float64{8, 30, 100, 500} {
		b.Run(fmt.Sprintf("density=%g", density), func(b *testing.B) {
			s := sampling{density: density, sigma: 0.02, beam: 0.03, pattern: "scan"}
			m := s.measures()
			buildings := ordinary(s)
			times, points := make([]float64, 0, len(buildings)), 0
			b.ReportAllocs()
			for b.Loop() {
				times, points = times[:0], 0
				for _, obs := range buildings {
					from := processorTime(b)
					if _, err := Fit(obs, m, DefaultOptions(m)); err != nil {
						b.Fatal(err)
					}
					times = append(times, processorTime(b)-from)
					points += len(obs)
				}
			}
			slices.Sort(times)
			b.ReportMetric(1e3*times[len(times)/2], "ms/building")
			b.ReportMetric(1e3*times[len(times)-1], "ms/slowest")
			b.ReportMetric(float64(points)/float64(len(buildings)), "points/building")
		})
	}
}

// ordinary are the observations of simple plans of 60 to 250 square metres, in turn.
func ordinary(s sampling) [][]Observation {
	rng := rand.New(rand.NewPCG(7, uint64(s.density)))
	plans := []plan{
		{{{0, 0}, {12, 0}, {12, 8}, {0, 8}}},
		shapes(5)["L"], shapes(5)["T"], shapes(4)["U"],
		stepShapes(0.6)["step"], stepShapes(1)["bay"], stepShapes(0.8)["nook"],
		freeShapes()["skewed"], freeShapes()["chamfer"], freeShapes()["two wings"], otherShapes(4)["stairs"],
	}
	var all [][]Observation
	for _, p := range plans {
		all = append(all, s.observe(p.turned(2*math.Pi*rng.Float64(), 3, -2), rng))
	}
	return all
}

// processorTime is that of this process, in seconds: unlike the clock it does not count what else runs on the machine.
func processorTime(b *testing.B) float64 {
	var use syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &use); err != nil {
		b.Fatal(err)
	}
	return float64(use.Utime.Nano()+use.Stime.Nano()) / 1e9
}
