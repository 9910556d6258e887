package flight

import (
	"context"
	"fmt"
	"math"

	"golang.org/x/sync/errgroup"

	"quoin/extract/cloud"
	"quoin/extract/scene/light"
	"quoin/extract/scene/solid"
)

// pulsesPerJob is about how many pulses a worker does at a time.
const pulsesPerJob = 16384

// Fly casts the pulses of one line and calls take with the returns in order of
// time, in local metres, Class being the true class. The batch is reused after
// take returns. The returns depend on world, plan, line and seed only, not on
// the number of workers; memory is bounded by a few jobs a worker.
func Fly(ctx context.Context, w *solid.World, p *Plan, line Line, o Options) error {
	return fly(ctx, job{world: w, plan: p, track: newTrack(p, line, o.Seed), seed: o.Seed}, o)
}

// Options say how a line is worked.
type Options struct {
	Seed    uint64
	Workers int
	Take    func(*cloud.Batch) error
}

// A job is what all pulses of a line share.
type job struct {
	world *solid.World
	plan  *Plan
	track *track
	seed  uint64
}

func fly(ctx context.Context, j job, o Options) error {
	workers := max(1, o.Workers)
	group, ctx := errgroup.WithContext(ctx)
	// queue holds the jobs in order of time; its length bounds memory.
	queue := make(chan chan *cloud.Batch, 2*workers)
	group.Go(func() error {
		defer close(queue)
		return j.dispatch(ctx, queue, workers)
	})
	group.Go(func() error {
		for done := range queue {
			batch := <-done
			if batch.Len() == 0 {
				continue
			}
			if err := o.Take(batch); err != nil {
				return err
			}
		}
		return nil
	})
	if err := group.Wait(); err != nil {
		return fmt.Errorf("flight: fly line %d: %w", j.track.line.Source, err)
	}
	return nil
}

// dispatch starts a job after the other, as many at once as there are workers,
// and returns when all have ended.
func (j job) dispatch(ctx context.Context, queue chan<- chan *cloud.Batch, workers int) error {
	sweeps := j.plan.sweeps(j.track.line)
	perSweep := j.plan.PulseRate * j.plan.Scanner.Active / j.plan.ScanRate
	step := max(1, int(math.Round(pulsesPerJob/perSweep)))
	slots := make(chan struct{}, workers)
	defer func() { // no worker outlives the call
		for range workers {
			slots <- struct{}{}
		}
	}()
	for from := 0; from < sweeps; from += step {
		if err := ctx.Err(); err != nil {
			return err // select alone may go on by chance
		}
		done := make(chan *cloud.Batch, 1)
		select {
		case <-ctx.Done():
			return ctx.Err()
		case queue <- done:
		}
		slots <- struct{}{}
		go func() {
			defer func() { <-slots }()
			done <- j.work(from, min(from+step, sweeps))
		}()
	}
	return nil
}

// work casts the pulses of some sweeps.
func (j job) work(from, to int) *cloud.Batch {
	s := &shooter{
		caster: caster{world: j.world, plan: j.plan, rays: beamRays()},
		track:  j.track, seed: j.seed, sun: light.New(j.seed), out: &cloud.Batch{},
	}
	for sweep := from; sweep < to; sweep++ {
		j.plan.shots(sweep, s.fire)
	}
	return s.out
}
