package guard

import (
	"context"
	"time"

	"golang.org/x/sync/errgroup"
)

// Go calls f in a goroutine of its own. The channel gives f's error once, then nil: it can be waited for as often as one likes.
func Go(f func() error) <-chan error {
	ended := make(chan error, 1)
	go func() {
		defer close(ended)
		ended <- Do(f)
	}()
	return ended
}

// Alone calls f in a goroutine for which nobody waits. Of a panic a line goes to the log, under the name of what f does.
func Alone(what string, f func()) {
	go func() { Log(what, Do(func() error { f(); return nil })) }()
}

// AfterDone calls f in a goroutine once the context has ended, unless stop is called before. Of a panic a line goes to the log.
func AfterDone(ctx context.Context, what string, f func()) (stop func() bool) {
	return context.AfterFunc(ctx, func() { Log(what, Do(func() error { f(); return nil })) })
}

// AfterTime calls f in a goroutine once the time has passed, as time.AfterFunc does. Of a panic a line goes to the log.
func AfterTime(d time.Duration, what string, f func()) *time.Timer {
	return time.AfterFunc(d, func() { Log(what, Do(func() error { f(); return nil })) })
}

// Workers calls f on n goroutines and waits for all. A panic of one is raised again, of who called.
func Workers(n int, f func()) {
	g := NewGroup()
	for range n {
		g.Go(func() error { f(); return nil })
	}
	g.Must()
}

// Group is goroutines that work on one thing: errgroup.Group, whose Go it guards.
type Group struct{ inner *errgroup.Group }

// NewGroup returns a group without a context.
func NewGroup() *Group { return &Group{new(errgroup.Group)} }

// WithContext returns a group and a context that ends with its first error.
func WithContext(ctx context.Context) (*Group, context.Context) {
	g, ctx := errgroup.WithContext(ctx)
	return &Group{g}, ctx
}

// SetLimit bounds how many goroutines run at once.
func (g *Group) SetLimit(n int) { g.inner.SetLimit(n) }

// Go calls f in a goroutine, once the limit allows it.
func (g *Group) Go(f func() error) { g.inner.Go(func() error { return Do(f) }) }

// Wait waits for all and returns the first error.
func (g *Group) Wait() error { return g.inner.Wait() }

// Must waits for goroutines that cannot fail. A panic of one is raised again, of who waits.
func (g *Group) Must() {
	if err := g.Wait(); err != nil {
		panic(err)
	}
}
