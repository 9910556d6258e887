// Command accuracy measures quoin on simulated blocks.
//
// It simulates blocks, runs the built program on their files, scores what was
// delivered against the truth, and writes the tables of docs/accuracy.md. It
// knows of the extraction only what the delivery says.
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
	results, err := o.runAll(ctx, o.cases())
	if err != nil {
		return err
	}
	printTotals(os.Stdout, results)
	return nil
}
