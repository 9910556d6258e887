package laz

import (
	"context"
	"sync"
)

// A job is a chunk that is being decoded or encoded.
type job struct {
	index int
	in    []byte
	out   []byte
	err   error
	done  chan struct{}
}

// A crew works on jobs in any order and gives them back in the order in which
// they came.
type crew struct {
	jobs  chan *job
	queue []*job // handed in and not given back, in order
	spare []*job
	wait  sync.WaitGroup
}

// newCrew returns a crew of workers; each calls work, which gives the function
// that does a job.
func newCrew(workers int, work func() func(*job)) *crew {
	// The channel holds all jobs that can be under way, so that handing one in
	// never waits.
	c := &crew{jobs: make(chan *job, workers+1)}
	for range workers {
		do := work()
		c.wait.Go(func() {
			for j := range c.jobs {
				do(j)
				j.done <- struct{}{}
			}
		})
	}
	return c
}

// room reports whether another job may be handed in: there may be one more
// than there are workers.
func (c *crew) room() bool { return len(c.queue) < cap(c.jobs) }

// blank returns a job to be handed in. Its buffers are empty, with what room
// they had.
func (c *crew) blank() *job {
	if n := len(c.spare); n > 0 {
		j := c.spare[n-1]
		c.spare = c.spare[:n-1]
		j.in, j.out, j.err = j.in[:0], j.out[:0], nil
		return j
	}
	return &job{done: make(chan struct{}, 1)}
}

// give hands in a job.
func (c *crew) give(j *job) {
	c.queue = append(c.queue, j)
	c.jobs <- j
}

// take waits for the job handed in first, which must be put back when it is no
// longer needed.
func (c *crew) take() *job {
	j := c.queue[0]
	copy(c.queue, c.queue[1:])
	c.queue = c.queue[:len(c.queue)-1]
	<-j.done
	return j
}

func (c *crew) putBack(j *job) { c.spare = append(c.spare, j) }

// dismiss waits for all workers to end. Jobs not begun are still done.
func (c *crew) dismiss() {
	close(c.jobs)
	c.wait.Wait()
}

// parallel decodes several chunks at the same time.
func (r *Reader) parallel(ctx context.Context, yield func(Chunk, error) bool) {
	ctx, cancel := context.WithCancel(ctx)
	c := newCrew(min(r.options.Workers, len(r.list)), func() func(*job) {
		return func(j *job) {
			if j.err = ctx.Err(); j.err == nil {
				j.out, j.err = r.ReadChunk(ctx, j.index, j.out)
			}
		}
	})
	defer c.dismiss()
	defer cancel()
	next := 0
	for i, x := range r.list {
		for ; next < len(r.list) && c.room(); next++ {
			j := c.blank()
			j.index = next
			c.give(j)
		}
		j := c.take()
		if !deliver(Chunk{i, x.First, j.out}, j.err, yield) {
			return
		}
		c.putBack(j)
	}
	if r.fault != nil {
		yield(Chunk{}, r.fault)
	}
}
