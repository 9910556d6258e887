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
	jobs            int
	blocks          []blockCase
	// page and pictures are where the tables and the pictures of the worst
	// cases go; limits is the file of figures that must hold. None when empty.
	page, pictures, limits string
	// details says that buildings that went wrong are listed.
	details bool
	// calibrate says that the coefficients of the stated quality are fitted.
	calibrate bool
	// renew says that limits is to be written.
	renew bool
	// clean says how much of the matrix of clean labels is run.
	clean coverage
	// cleanOnly says that no blocks are run.
	cleanOnly bool
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
	var name, labels string
	var composites []string
	var spacings []float64
	var seeds int
	flags := pflag.NewFlagSet("accuracy", pflag.ContinueOnError)
	flags.StringVar(&o.program, "program", "bin/quoin", "the built program")
	flags.StringVar(&o.folder, "folder", "build/accuracy", "folder for blocks and deliveries")
	flags.IntVar(&o.jobs, "jobs", runtime.GOMAXPROCS(0), "blocks run at once, each on one core")
	flags.StringVar(&name, "preset", string(standard), "which blocks to run: quick, standard or full")
	flags.StringSliceVar(&composites, "composites", nil, "run these blocks in place of the preset")
	flags.Float64SliceVar(&spacings, "spacings", []float64{0.15, 0.3}, "with --composites: point spacings in metres")
	flags.IntVar(&seeds, "seeds", 1, "with --composites: number of seeds, from 1")
	flags.BoolVar(&o.details, "details", false, "list the buildings that went wrong, one a line")
	flags.BoolVar(&o.calibrate, "calibrate", false, "fit the coefficients of the stated quality on odd seeds, test them on even ones, and print both tables")
	flags.StringVar(&o.page, "page", "", "page whose generated part is written, as docs/accuracy.md")
	flags.StringVar(&o.pictures, "pictures", "docs/img/accuracy", "with --page: folder for the pictures of the worst cases")
	flags.StringVar(&o.limits, "limits", "", "file of figures that must hold; the run fails where one is worse by more than its margin")
	flags.BoolVar(&o.renew, "renew", false, "write the figures of this run to the file of --limits")
	flags.StringVar(&labels, "clean", string(noClean), "how much of the matrix of clean labels is run besides, in process: none, subset or full")
	flags.BoolVar(&o.cleanOnly, "clean-only", false, "run no blocks")
	if err := flags.Parse(args); err != nil {
		return nil, err
	}
	o.clean = coverage(labels)
	if !slices.Contains([]coverage{noClean, cleanSubset, cleanFull}, o.clean) {
		return nil, fmt.Errorf("clean labels %q is not known: give none, subset or full", labels)
	}
	if !slices.Contains([]preset{quick, standard, full}, preset(name)) {
		return nil, fmt.Errorf("preset %q is not known: give quick, standard or full", name)
	}
	o.blocks = preset(name).cases()
	if len(composites) > 0 {
		o.blocks = nil
	}
	for _, c := range composites {
		if !slices.ContainsFunc(scene.Composites(), func(k scene.Composite) bool { return k.Name == c }) {
			return nil, fmt.Errorf("block %q is not known", c)
		}
		o.blocks = append(o.blocks, grid(c, spacings, seeds)...)
	}
	return &o, nil
}
