package extract

import (
	"context"
	"fmt"

	"golang.org/x/sync/errgroup"
	"golang.org/x/sync/semaphore"
)

// eachWithin is each for pieces of work that need memory: as many are worked on
// at once as those allowed leave room for. A block that is in memory itself was
// allowed all that it needs.
func eachWithin(ctx context.Context, o Options, n int, need func(i int) (what string, bytes int64), f func(i int) error) error {
	if o.keeper == nil {
		return each(ctx, o, n, f)
	}
	room := o.Memory - o.keeper.most
	for i := range n {
		if what, bytes := need(i); bytes > room {
			return fmt.Errorf("%s needs about %d MiB of memory, of which --memory leaves %d: raise it", what, (bytes+1<<20-1)>>20, room>>20)
		}
	}
	free := semaphore.NewWeighted(room)
	return each(ctx, o, n, func(i int) error {
		_, bytes := need(i)
		if err := free.Acquire(ctx, bytes); err != nil {
			return err
		}
		defer free.Release(bytes)
		return f(i)
	})
}

// each calls f for 0 to n-1, some at once, and tells progress of each. Results
// are stored by index by f, so that they do not depend on the workers.
func each(ctx context.Context, o Options, n int, f func(i int) error) error {
	group, inner := errgroup.WithContext(ctx)
	group.SetLimit(o.Workers)
	for i := range n {
		if inner.Err() != nil {
			break
		}
		group.Go(func() error {
			if err := inner.Err(); err != nil {
				return err
			}
			defer o.Progress.Add(1)
			if err := f(i); err != nil {
				return err
			}
			return o.keeper.err()
		})
	}
	if err := group.Wait(); err != nil {
		return err
	}
	return ctx.Err()
}
