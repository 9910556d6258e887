package main

import (
	"fmt"
	"runtime"
	"slices"

	"github.com/spf13/pflag"

	"quoin/extract/scene"
)

// options say what is run and what becomes of it.
type options struct {
	program, folder string
	composites      []string
	spacings        []float64
	seeds           []uint
	jobs            int
}

// A blockCase is one block to be run.
type blockCase struct {
	Composite string
	Spacing   float64
	Seed      uint64
}

func (c blockCase) String() string {
	return fmt.Sprintf("%s-%.2f-%d", c.Composite, c.Spacing, c.Seed)
}

func parse(args []string) (*options, error) {
	var o options
	flags := pflag.NewFlagSet("accuracy", pflag.ContinueOnError)
	flags.StringVar(&o.program, "program", "bin/quoin", "the built program")
	flags.StringVar(&o.folder, "folder", "build/accuracy", "folder for blocks and deliveries")
	flags.StringSliceVar(&o.composites, "composites", nil, "blocks to run; all but the demo when none is given")
	flags.Float64SliceVar(&o.spacings, "spacings", []float64{0.15, 0.3}, "point spacings in metres")
	flags.UintSliceVar(&o.seeds, "seeds", []uint{1}, "seeds of the blocks")
	flags.IntVar(&o.jobs, "jobs", runtime.GOMAXPROCS(0), "blocks run at once, each on one core")
	if err := flags.Parse(args); err != nil {
		return nil, err
	}
	var known []string
	for _, c := range scene.Composites() {
		known = append(known, c.Name)
	}
	for _, name := range o.composites {
		if !slices.Contains(known, name) {
			return nil, fmt.Errorf("block %q is not known: give some of %v", name, known)
		}
	}
	if len(o.composites) == 0 {
		o.composites = slices.DeleteFunc(known, func(name string) bool { return name == scene.Demo })
	}
	return &o, nil
}

// cases lists the blocks to run, by composite, then spacing, then seed.
func (o *options) cases() []blockCase {
	var all []blockCase
	for _, composite := range o.composites {
		for _, spacing := range o.spacings {
			for _, seed := range o.seeds {
				all = append(all, blockCase{composite, spacing, uint64(seed)})
			}
		}
	}
	return all
}
