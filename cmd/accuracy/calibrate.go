package main

import (
	"fmt"
	"io"

	"quoin/vector/accuracy"
	"quoin/vector/reliability"
)

// samplesOf returns the footprints of blocks with an odd or an even seed, with
// whether they are right. One that holds several buildings, or is part of one,
// or none at all, is wrong; those of buildings that are not asked for do not
// count.
func samplesOf(results []result, odd uint64) []reliability.Sample {
	var list []reliability.Sample
	for _, r := range results {
		if r.Case.Seed%2 != odd {
			continue
		}
		right := make(map[int]bool)
		for _, p := range r.Block.Pairs {
			right[p.Delivered] = p.Right
		}
		for _, o := range r.Block.Delivered {
			values := reliability.Values(r.Footprints[o.Index], r.Spacing)
			list = append(list, reliability.Sample{Values: values, Right: right[o.Index]})
		}
	}
	return list
}

// bands are the ranges of quality in the table of reliability.
func bands() []float64 { return []float64{0, 0.5, 0.7, 0.8, 0.9, 0.95, 1.01} }

// printCalibration fits the coefficients on the blocks of odd seeds, prints
// them, and prints how often footprints of either half are right by their
// fitted quality.
func printCalibration(w io.Writer, results []result) error {
	training, test := samplesOf(results, 1), samplesOf(results, 0)
	b, sigmas, err := reliability.Fit(training)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "\nCoefficients of quality, from %d footprints of odd seeds\n\n| feature | meaning | coefficient | standard error | footprints that have it |\n|---|---|---|---|---|\n", len(training))
	for i, f := range reliability.Features() {
		n := 0
		for _, s := range training {
			if s.Values[i] != 0 {
				n++
			}
		}
		fmt.Fprintf(w, "| %s | %s | %.2f | %.2f | %d |\n", f.Name, f.Meaning, b[i], sigmas[i], n)
	}
	fmt.Fprint(w, "\n| quality | right % of odd seeds (fitted on) | right % of even seeds (test) |\n|---|---|---|\n")
	limits := bands()
	for k := range len(limits) - 1 {
		fmt.Fprintf(w, "| %.2f to %.2f | %s | %s |\n", limits[k], min(1, limits[k+1]), shareIn(training, b, limits[k:k+2]), shareIn(test, b, limits[k:k+2]))
	}
	fmt.Fprintf(w, "| **0.90 to 1.00** | %s | %s |\n", shareIn(training, b, []float64{0.9, 2}), shareIn(test, b, []float64{0.9, 2}))
	return nil
}

// shareIn returns the share of right ones among samples whose fitted quality is
// in a range.
func shareIn(samples []reliability.Sample, b, limits []float64) accuracy.Share {
	var s accuracy.Share
	for _, x := range samples {
		if q := reliability.Probability(b, x.Values); q >= limits[0] && q < limits[1] {
			s.N++
			if x.Right {
				s.Count++
			}
		}
	}
	return s
}
