package footage

import (
	"context"
	"runtime"

	"padside/guard"
)

// inOrder calls work for from..to-1, as many at once as there are processors, and take with each result, in order. No more
// results wait than that. It returns once all its goroutines have.
func inOrder[T any](ctx context.Context, from, to int, work func(int) (T, error), take func(int, T) error) error {
	type result struct {
		value T
		err   error
	}
	inner, cancel := context.WithCancel(ctx)
	all := guard.NewGroup()
	defer all.Must()
	defer cancel()
	queue := make(chan chan result, max(runtime.GOMAXPROCS(0)-1, 1)) // and one in hand
	all.Go(func() error {
		defer close(queue)
		for k := from; k < to; k++ {
			r := make(chan result, 1)
			select {
			case queue <- r:
			case <-inner.Done():
				return nil
			}
			all.Go(func() error {
				var v T
				err := guard.Do(func() (err error) { v, err = work(k); return err })
				r <- result{v, err}
				return nil
			})
		}
		return nil
	})
	k := from
	for r := range queue {
		got := <-r
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if got.err != nil {
			return got.err
		}
		if err := take(k, got.value); err != nil {
			return err
		}
		k++
	}
	return ctx.Err()
}
