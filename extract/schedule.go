package extract

import (
	"context"

	"golang.org/x/sync/errgroup"
)

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
			return f(i)
		})
	}
	if err := group.Wait(); err != nil {
		return err
	}
	return ctx.Err()
}
