package footage

import (
	"context"
	"io"
	"path/filepath"
	"sync/atomic"
	"time"

	"padside/fault"
	"padside/guard"
)

// watcher ends a child that keeps its reader waiting for longer than a limit: a broken file or drive must not hang the program.
// The time in which nobody waits for the child does not count.
type watcher struct {
	ctx   context.Context
	stop  context.CancelFunc
	limit time.Duration
	timer *time.Timer
	late  atomic.Bool
}

func watch(ctx context.Context, limit time.Duration) *watcher {
	w := &watcher{limit: limit}
	w.ctx, w.stop = context.WithCancel(ctx)
	w.timer = guard.AfterTime(limit, "end a child that hangs", func() {
		w.late.Store(true)
		w.stop()
	})
	w.timer.Stop()
	return w
}

// hung says whether the child was ended for being late.
func (w *watcher) hung() bool { return w.late.Load() }

func hung(program, path string) error {
	return fault.Requestf("check the drive the file lies on, and that the file plays elsewhere",
		"%s said nothing about %s for %.0f s and was ended", filepath.Base(program), path, stall.Seconds())
}

// watched is r, timed while it is waited for.
func (w *watcher) watched(r io.Reader) io.Reader { return &timed{w, r} }

type timed struct {
	w *watcher
	r io.Reader
}

func (t *timed) Read(b []byte) (int, error) {
	t.w.timer.Reset(t.w.limit)
	defer t.w.timer.Stop()
	return t.r.Read(b)
}
