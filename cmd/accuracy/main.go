// Command accuracy measures quoin on simulated blocks.
//
// It simulates blocks, runs the built program on their files, scores what was
// delivered against the truth, and writes the tables of docs/accuracy.md. It
// knows of the extraction only what the delivery says; the matrix of clean
// labels alone (package clean) calls the fit of outlines.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"

	"github.com/spf13/pflag"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, os.Args[1:]); err != nil {
		if !errors.Is(err, pflag.ErrHelp) {
			fmt.Fprintln(os.Stderr, "accuracy:", err)
		}
		os.Exit(1)
	}
}

func run(ctx context.Context, args []string) error {
	o, err := parse(args)
	if err != nil {
		return err
	}
	cells, err := o.measureClean(ctx)
	if err != nil {
		return err
	}
	if o.cleanOnly {
		return nil
	}
	results, err := o.runAll(ctx, o.blocks)
	if err != nil {
		return err
	}
	printTotals(os.Stdout, results)
	if o.details {
		printDetails(os.Stdout, results)
	}
	if o.calibrate {
		if err := printCalibration(os.Stdout, results); err != nil {
			return err
		}
	}
	if o.page != "" {
		if err := o.writePage(ctx, results, cells); err != nil {
			return err
		}
	}
	if o.limits == "" {
		return nil
	}
	if o.renew {
		return writeLimits(o.limits, figuresOf(results))
	}
	return checkLimits(os.Stdout, o.limits, figuresOf(results))
}
