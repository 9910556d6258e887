package main

import "quoin/extract/scene"

// A preset is a list of blocks by name.
type preset string

const (
	quick    preset = "quick"
	standard preset = "standard"
	full     preset = "full"
)

// cases lists the blocks of a preset, by composite, then spacing, then seed.
func (p preset) cases() []blockCase {
	var all []blockCase
	for _, c := range scene.Composites() {
		if c.Name == scene.Demo {
			continue
		}
		switch p {
		case quick:
			if dense[c.Name] {
				all = append(all, grid(c.Name, []float64{0.15}, 1)...)
			}
			all = append(all, grid(c.Name, []float64{0.3}, 1)...)
		case standard:
			all = append(all, grid(c.Name, []float64{0.07}, 1)...)
			all = append(all, grid(c.Name, []float64{0.15, 0.3, 0.5, 0.7}, 2)...)
		case full:
			all = append(all, grid(c.Name, []float64{0.05, 0.07, 0.1, 0.15, 0.2, 0.3, 0.5, 0.7}, 5)...)
		}
	}
	return all
}

// dense are the composites that the quick run flies at 0.15 m too.
var dense = map[string]bool{"suburb": true, "rows": true, "wings": true, "gardens": true, "yard": true, "fair": true}

func grid(composite string, spacings []float64, seeds int) []blockCase {
	var all []blockCase
	for _, spacing := range spacings {
		for seed := range seeds {
			all = append(all, blockCase{composite, spacing, uint64(seed + 1)})
		}
	}
	return all
}
