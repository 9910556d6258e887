package main

import (
	"context"
	"os/exec"
	"strings"
	"testing"

	"quoin/vector/accuracy"
)

// A program that fails has found nothing; the block is scored all the same,
// and its baseline is there.
func TestProgramThatFails(t *testing.T) {
	program, err := exec.LookPath("false")
	if err != nil {
		t.Skip("no program that fails on this system")
	}
	o := &options{program: program, folder: t.TempDir()}
	r, err := o.runOne(context.Background(), blockCase{"yard", 1, 1}, versions{"1", "2"})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(r.Failure, "exit status 1") {
		t.Errorf("failure %q", r.Failure)
	}
	s, plain := accuracy.Summarise([]accuracy.Block{r.Block}), accuracy.Summarise([]accuracy.Block{r.Baselines[0]})
	if d := s.Classes[3]; d.Completeness.Count != 0 || d.Completeness.N == 0 {
		t.Errorf("found %v", d.Completeness)
	}
	if plain.Shape.N == 0 || !(plain.Shape.IoU > 0.5) {
		t.Errorf("the baseline has %d outlines of IoU %.2f", plain.Shape.N, plain.Shape.IoU)
	}
	// Simulated once, the block is kept for this version and no other.
	if dir, err := o.simulate(context.Background(), r.Case, "1"); err != nil || !strings.HasSuffix(dir, "yard-1.00-1") {
		t.Errorf("%q, %v", dir, err)
	}
}

// A program that cannot be started is an error, not a bad figure.
func TestProgramThatIsNotThere(t *testing.T) {
	o := &options{program: "no/such/program", folder: t.TempDir()}
	if _, err := o.runOne(context.Background(), blockCase{"yard", 1, 1}, versions{"1", "2"}); err == nil {
		t.Error("no error")
	}
}
