package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"golang.org/x/sync/errgroup"

	"quoin/extract/scene"
	"quoin/vector"
	"quoin/vector/accuracy"
)

// A result is what became of one block.
type result struct {
	Case  blockCase
	Block accuracy.Block
	// Baselines score the plain way to outline the true buildings, by edge
	// length.
	Baselines [len(hullEdges)]accuracy.Block
	Points    int64
	// Spacing is that measured by the program, in metres.
	Spacing float64
	// Failure is what the program said when it gave no delivery.
	Failure string
	Stages  []stage
	// Relief is how the terrain came out; nil when there was no delivery.
	Relief *relief
	// Seconds is the processor time of the run, which other work on the
	// machine changes little.
	Seconds float64
	// Truth and Footprints are the two layers, Things what is no building.
	Truth      []accuracy.Building
	Footprints []vector.Footprint
	Things     []thing
}

// A stage is one step of the program's run, as its record tells.
type stage struct {
	Name    string  `json:"name"`
	Seconds float64 `json:"seconds"`
}

// timeLimit bounds one run of the program.
const timeLimit = 10 * time.Minute

// runAll runs the cases, o.jobs at once, and prints a line for each in order.
func (o *options) runAll(ctx context.Context, cases []blockCase) ([]result, error) {
	v, err := o.versions()
	if err != nil {
		return nil, err
	}
	results, done := make([]result, len(cases)), make([]chan struct{}, len(cases))
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(o.jobs + 1) // and the one that prints
	for i := range cases {
		done[i] = make(chan struct{})
	}
	g.Go(func() error {
		printHead(os.Stdout)
		for i := range done {
			select {
			case <-done[i]:
				printLine(os.Stdout, &results[i])
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		return nil
	})
	for i, c := range cases {
		g.Go(func() (err error) {
			if results[i], err = o.runOne(ctx, c, v); err != nil {
				return fmt.Errorf("block %s: %w", c, err)
			}
			close(done[i])
			return nil
		})
	}
	return results, g.Wait()
}

// runOne simulates a block unless that was done before, runs the program on it
// and scores the delivery.
func (o *options) runOne(ctx context.Context, c blockCase, v versions) (result, error) {
	r := result{Case: c}
	dir, err := o.simulate(ctx, c, v.scene)
	if err != nil {
		return r, err
	}
	if r.Truth, err = readTruth(filepath.Join(dir, "truth", "footprints.geojson")); err != nil {
		return r, err
	}
	if err := countFacades(ctx, dir, r.Truth); err != nil {
		return r, err
	}
	if r.Things, err = readThings(filepath.Join(dir, "truth", "held.geojson")); err != nil {
		return r, err
	}
	if err := o.extract(ctx, &r, dir, v.program+" "+v.scene); err != nil {
		return r, err
	}
	scale := accuracy.Options{Spacing: c.Spacing}
	if r.Block, err = accuracy.Score(r.Truth, r.Footprints, scale); err != nil {
		return r, err
	}
	plain, err := baselines(ctx, dir, r.Truth)
	if err != nil {
		return r, err
	}
	for i := range plain {
		if r.Baselines[i], err = accuracy.Score(r.Truth, plain[i], scale); err != nil {
			return r, err
		}
	}
	return r, nil
}

// simulate returns the folder of a block's files. A file in it says which
// version of the simulator wrote them.
func (o *options) simulate(ctx context.Context, c blockCase, version string) (string, error) {
	dir := filepath.Join(o.folder, "blocks", c.String())
	stamp := filepath.Join(dir, "version")
	if b, err := os.ReadFile(stamp); err == nil && string(b) == version {
		return dir, nil
	}
	if err := os.RemoveAll(dir); err != nil {
		return "", err
	}
	spec := scene.DefaultSpec(c.Composite)
	spec.Spacing, spec.Seed = c.Spacing, c.Seed
	s, err := scene.Compose(spec)
	if err != nil {
		return "", err
	}
	if _, err := s.Write(ctx, dir, 1); err != nil {
		return "", err
	}
	return dir, os.WriteFile(stamp, []byte(version), 0o666)
}

// extract runs the program, unless that was done before, and reads what it
// delivered. A run that fails
// delivers nothing; it is an error only when it could not be started.
func (o *options) extract(ctx context.Context, r *result, dir, version string) error {
	out := filepath.Join(o.folder, "deliveries", r.Case.String())
	clouds, err := filepath.Glob(filepath.Join(dir, "cloud", "*.las"))
	if err != nil {
		return err
	}
	stamp := filepath.Join(out, "outcome.json")
	var before outcome
	if b, err := os.ReadFile(stamp); err == nil && json.Unmarshal(b, &before) == nil && before.Version == version {
		r.Seconds, r.Failure, r.Relief = before.Seconds, before.Failure, before.Relief
	} else {
		if err := os.RemoveAll(out); err != nil {
			return err
		}
		args := append([]string{
			"extract", "--quiet", "--workers", "1", "--projected-geojson", "--terrain",
			"--classified", filepath.Join(out, classifiedName), "--out", out,
		}, clouds...)
		if err := o.runProgram(ctx, r, args); err != nil {
			return err
		}
		if r.Failure == "" {
			inputs, err := r.readRecord(filepath.Join(out, "run.json"))
			if err != nil {
				return err
			}
			if r.Relief, err = readRelief(ctx, r.Case, dir, out, inputs); err != nil {
				return err
			}
		}
		if err := writeOutcome(stamp, outcome{version, r.Seconds, r.Failure, r.Relief}); err != nil {
			return err
		}
	}
	if r.Failure != "" {
		return nil
	}
	if r.Footprints, err = readDelivery(out); err != nil {
		return err
	}
	_, err = r.readRecord(filepath.Join(out, "run.json"))
	return err
}

// An outcome is kept with a delivery, so that the same program is not run again
// on the same block.
type outcome struct {
	// Version is that of the program and of the block.
	Version string  `json:"version"`
	Seconds float64 `json:"seconds"`
	Failure string  `json:"failure"`
	Relief  *relief `json:"relief,omitempty"`
}

func writeOutcome(path string, o outcome) error {
	b, err := json.Marshal(o)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return err
	}
	return os.WriteFile(path, b, 0o666)
}

// runProgram runs the program and takes down what it cost and how it ended.
func (o *options) runProgram(ctx context.Context, r *result, args []string) error {
	limited, cancel := context.WithTimeout(ctx, timeLimit)
	defer cancel()
	command := exec.CommandContext(limited, o.program, args...)
	said, err := command.CombinedOutput()
	if p := command.ProcessState; p != nil {
		r.Seconds = (p.UserTime() + p.SystemTime()).Seconds()
	}
	var exit *exec.ExitError
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case limited.Err() != nil:
		r.Failure = fmt.Sprintf("no end after %v", timeLimit)
	case errors.As(err, &exit):
		lines := strings.Split(strings.TrimSpace(string(said)), "\n")
		r.Failure = fmt.Sprintf("%v: %s", exit, lines[len(lines)-1])
	case err != nil:
		return err
	}
	return nil
}

// readRecord takes the stages' times and the number of points from the
// program's record, and returns the inputs in the order they were taken in.
func (r *result) readRecord(path string) (inputs []string, err error) {
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	var record struct {
		Stages []stage `json:"stages"`
		Inputs []struct {
			Path   string `json:"path"`
			Points int64  `json:"points"`
		} `json:"inputs"`
		Parameters []struct {
			Name  string `json:"name"`
			Value any    `json:"value"`
		} `json:"parameters"`
	}
	if err := json.Unmarshal(b, &record); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	r.Stages, r.Points = record.Stages, 0
	for _, p := range record.Parameters {
		if v, ok := p.Value.(float64); ok && p.Name == "spacing" {
			r.Spacing = v
		}
	}
	for _, input := range record.Inputs {
		r.Points += input.Points
		inputs = append(inputs, input.Path)
	}
	return inputs, nil
}
