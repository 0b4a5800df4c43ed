package desk

import (
	"context"
	"sync"
	"time"

	"padside/footage"
	"padside/guard"
)

// witness knows the digests of footage as it lies. What it read once it reads again only where the folder says that the footage changed.
// Footage is read in the background, one after the other: it may be gigabytes, and a page does not wait for it.
type witness struct {
	ctx  context.Context
	turn chan struct{} // held while one is read
	over *guard.Group

	mu   sync.Mutex
	seen map[string]*testimony // by path
}

// testimony is what is known of one path.
type testimony struct {
	lay    footage.Identity // as the folder had it when reading began
	id     footage.Identity // with digests; where err is nil and reading is over
	err    error
	done   chan struct{} // closed when reading is over
	urgent chan struct{} // closed when somebody waits for it: it goes before its turn
	hurry  sync.Once
}

// over says whether reading is.
func (t *testimony) over() bool {
	select {
	case <-t.done:
		return true
	default:
		return false
	}
}

func newWitness(ctx context.Context) *witness {
	return &witness{ctx: ctx, turn: make(chan struct{}, 1), over: guard.NewGroup(), seen: map[string]*testimony{}}
}

// identity returns the footage at a path with its digests; lay is what its folder says of it. Where they are not known, ok is false, and they
// are read; then is told what was found.
func (w *witness) identity(path string, lay footage.Identity, then func(footage.Identity)) (id footage.Identity, ok bool, err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	t := w.seen[path]
	switch {
	case t != nil && !t.over(), w.ctx.Err() != nil:
		return id, false, nil
	case t != nil && t.lay.Unread(lay):
		return t.id, true, t.err
	}
	t = &testimony{lay: lay, done: make(chan struct{}), urgent: make(chan struct{})}
	w.seen[path] = t
	w.over.Go(func() error {
		select {
		case w.turn <- struct{}{}:
			defer func() { <-w.turn }()
		case <-t.urgent:
		case <-w.ctx.Done():
		}
		id, err := w.read(path)
		w.mu.Lock()
		t.id, t.err = id, err
		if err == nil && !lay.Unread(id) { // it changed before its turn came
			t.lay = id
		}
		close(t.done)
		w.mu.Unlock()
		if w.ctx.Err() == nil {
			then(id)
		}
		return nil
	})
	return id, false, nil
}

func (w *witness) read(path string) (id footage.Identity, err error) {
	err = guard.Do(func() (err error) { id, err = footage.Digest(w.ctx, path); return err })
	guard.Log("footage "+path, err)
	return id, err
}

// await waits until the footage at a path has been read, where it is being read, but no longer than a reader's patience.
func (w *witness) await(path string, patience time.Duration) {
	w.mu.Lock()
	t := w.seen[path]
	w.mu.Unlock()
	if t == nil {
		return
	}
	t.hurry.Do(func() { close(t.urgent) })
	select {
	case <-t.done:
	case <-time.After(patience):
	}
}

// close waits for what is being read. The context has ended.
func (w *witness) close() { guard.Log("footage", w.over.Wait()) }
