package reliability_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"quoin/vector"
	"quoin/vector/reliability"
)

func house() vector.Footprint {
	f := vector.Footprint{
		Polygon:    orb.Polygon{{{0, 0}, {12, 0}, {12, 8}, {0, 8}, {0, 0}}},
		PointCount: 1000, EdgeRMS: 0.03, AreaSigma: 0.4, Roof: vector.RoofForm{Type: vector.RoofGable},
	}
	for v, p := range f.Polygon[0][:4] {
		f.Corners = append(f.Corners, vector.Corner{Vertex: v, Point: p, SigmaE: 0.03, SigmaN: 0.03, AngleDeg: 90, Kind: vector.Adjusted})
	}
	return f
}

func TestCoefficientsMatchTheFeatures(t *testing.T) {
	if got, want := len(reliability.Coefficients()), len(reliability.Features()); got != want {
		t.Errorf("%d coefficients of %d features", got, want)
	}
}

// TestFitRecovers: samples drawn by known coefficients give them back within
// their standard errors (three of them), as regression does.
func TestFitRecovers(t *testing.T) {
	features := reliability.Features()
	truth := make([]float64, len(features))
	for i, f := range features {
		truth[i] = f.Prior
	}
	truth[0], truth[1], truth[3] = 2.2, 0.8, -1.2
	r := rand.New(rand.NewPCG(1, 2))
	var samples []reliability.Sample
	for range 6000 {
		v := make([]float64, len(features))
		v[0] = 1
		for i := 1; i < len(v); i++ {
			v[i] = r.NormFloat64() / 2
		}
		samples = append(samples, reliability.Sample{Values: v, Right: r.Float64() < reliability.Probability(truth, v)})
	}
	b, sigmas, err := reliability.Fit(samples)
	if err != nil {
		t.Fatal(err)
	}
	for i := range b {
		if math.Abs(b[i]-truth[i]) > 3*sigmas[i]+0.05 {
			t.Errorf("%s: %.2f ± %.2f, want %.2f", features[i].Name, b[i], sigmas[i], truth[i])
		}
		if sigmas[i] > 0.3 {
			t.Errorf("%s: standard error %.2f of 6000 samples", features[i].Name, sigmas[i])
		}
	}
}

func TestFitWithoutSamplesGivesThePriors(t *testing.T) {
	b, _, err := reliability.Fit(nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, f := range reliability.Features() {
		if b[i] != f.Prior {
			t.Errorf("%s: %v, want %v", f.Name, b[i], f.Prior)
		}
	}
}

func TestFitRefusesOddSamples(t *testing.T) {
	if _, _, err := reliability.Fit([]reliability.Sample{{Values: []float64{1}}}); err == nil {
		t.Error("no error")
	}
}

// TestQualityIsAProbability whatever is stated, and a reason never raises it.
func TestQualityIsAProbability(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := house()
		any := rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, -1, 1e-9, 0.3, 1e9})
		f.EdgeRMS, f.AreaSigma = any.Draw(t, "rms"), any.Draw(t, "area sigma")
		f.PointCount = rapid.IntRange(-1, 1e6).Draw(t, "points")
		f.Corners[0].SigmaE, f.Corners[0].AngleDeg = any.Draw(t, "sigma"), any.Draw(t, "angle")
		if rapid.Bool().Draw(t, "empty") {
			f.Polygon, f.Corners = nil, nil
		}
		q := reliability.Quality(f, any.Draw(t, "spacing"))
		if !(q >= 0 && q <= 1) {
			t.Errorf("quality %v", q)
		}
	})
}

// TestUnits: the same footprint in feet has the same quality.
func TestUnits(t *testing.T) {
	metres := house()
	feet := house()
	const k = 1 / 0.3048
	for i := range feet.Polygon[0] {
		feet.Polygon[0][i] = orb.Point{feet.Polygon[0][i][0] * k, feet.Polygon[0][i][1] * k}
	}
	for i := range feet.Corners {
		feet.Corners[i].SigmaE, feet.Corners[i].SigmaN = k*feet.Corners[i].SigmaE, k*feet.Corners[i].SigmaN
	}
	feet.EdgeRMS, feet.AreaSigma = k*feet.EdgeRMS, k*k*feet.AreaSigma
	if a, b := reliability.Quality(metres, 0.3), reliability.Quality(feet, 0.3*k); math.Abs(a-b) > 0.0101 {
		t.Errorf("%v in metres, %v in feet", a, b)
	}
}

// TestReasonsTakeOff: no reason for a look raises the quality.
func TestReasonsTakeOff(t *testing.T) {
	plain := reliability.Quality(house(), 0.3)
	for i, feature := range reliability.Features() {
		f := house()
		f.Review = []vector.Reason{vector.Reason(feature.Name)}
		if reliability.Values(f, 0.3)[i] != 1 || reliability.Values(house(), 0.3)[i] != 0 {
			continue // no reason
		}
		if q := reliability.Quality(f, 0.3); q > plain {
			t.Errorf("%s: %v, without %v", feature.Name, q, plain)
		}
	}
}

func ExampleFit() {
	features := reliability.Features()
	sample := func(edgeShare float64, right bool) reliability.Sample {
		v := make([]float64, len(features))
		v[0], v[2] = 1, edgeShare
		return reliability.Sample{Values: v, Right: right}
	}
	var samples []reliability.Sample
	for range 50 {
		samples = append(samples, sample(0.1, true), sample(0.9, false))
	}
	b, _, err := reliability.Fit(samples)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(features[2].Name, b[2] < -3)
	fmt.Println(reliability.Probability(b, samples[0].Values) > 0.9, reliability.Probability(b, samples[1].Values) < 0.2)
	// Output:
	// edge share true
	// true true
}
