package footage

import (
	"context"

	"padside/guard"
)

// reel is a pass over the footage that waits after each frame until the next is asked for: the decoder stands there, so that a
// step forward costs one frame and no search.
type reel[T any] struct {
	next   int // no frame before it will come
	items  chan item[T]
	cancel context.CancelFunc
	err    error // why the pass ended; read after items is closed
}

type item[T any] struct {
	index int
	value T
}

// stream is a pass over frames from..to-1.
type stream[T any] func(ctx context.Context, from, to int, give func(i int, v T) error) error

func newReel[T any](ctx context.Context, from, to int, pass stream[T]) *reel[T] {
	ctx, cancel := context.WithCancel(ctx)
	r := &reel[T]{next: from, items: make(chan item[T]), cancel: cancel}
	guard.Alone("decode footage", func() {
		defer close(r.items)
		r.err = guard.Do(func() error {
			return pass(ctx, from, to, func(i int, v T) error {
				select {
				case r.items <- item[T]{i, v}:
					return nil
				case <-ctx.Done():
					return ctx.Err()
				}
			})
		})
	})
	return r
}

// pull returns the next frame; ok is false where the pass has ended.
func (r *reel[T]) pull(ctx context.Context) (it item[T], ok bool, err error) {
	select {
	case it, ok = <-r.items:
		if ok {
			r.next = it.index + 1
		}
		return it, ok, nil
	case <-ctx.Done():
		return it, false, ctx.Err()
	}
}

// stop ends the pass and waits until its decoder is gone.
func (r *reel[T]) stop() {
	r.cancel()
	for range r.items {
	}
}
