package trace

import (
	"context"
	"errors"
	"fmt"

	"padside/footage"
	"padside/guard"
)

// glimpser is a Source that can be looked through quickly; see footage.Footage.
type glimpser interface {
	Glimpse(ctx context.Context, from, to, step int, visit func(footage.Frame) error) error
	KeyFrames() []int
	Skim(ctx context.Context, from, to, step int, visit func(footage.Frame) error) error
}

var (
	// errDone ends reading early: nothing is left to follow.
	errDone = errors.New("all vehicles have left")
	// errQuiet ends reading where nothing moves: the next stretch may be glimpsed at.
	errQuiet = errors.New("nothing moves")
	// errChange ends a glimpse.
	errChange = errors.New("something changed")
)

const (
	// ahead is how many frames may wait between decoding and following: enough to even out the
	// two, few enough not to count beside the ring.
	ahead = 4
	// before is how many frames are read before the one in which a glimpse shows change: the rest from which the patch is
	// averaged, and a start too slow to be seen at once.
	before = 96
	// worthGlimpse is how many frames must lie ahead for a glimpse to be worth while.
	worthGlimpse = 3 * before
	// mostInVain is how many glimpses may end sooner than that before they are given up: what is usual must be learnt first.
	mostInVain = 3
)

// read streams the footage through take, decoding and following at the same time. While nothing moves, it only glimpses, where the
// source can.
func (f *follower) read(ctx context.Context) error {
	from := f.o.From
	if f.o.Box != nil {
		// What the ring would forget before the box is not read at all.
		from = max(from, f.o.Frame-f.o.Memory/max(1, f.width*f.height))
	}
	f.preparer = newPreparer(f.basis)
	defer f.preparer.stop()
	_, can := f.src.(glimpser)
	f.glimpsing = can && f.o.Box == nil
	for {
		f.expected = from + before
		if f.glimpsing && f.o.To-from > worthGlimpse {
			change, err := f.change(ctx, from)
			if err != nil {
				return err
			}
			if change-from < worthGlimpse {
				f.inVain++
			}
			if f.inVain == mostInVain {
				f.glimpsing = false
				f.finder.begin(f.width, f.height) // something moves all the time: look as if there had been no glimpse
			}
			from = max(from, change-before)
			f.expected = max(f.expected, from+before)
		}
		if err := f.stream(ctx, from); err != errQuiet {
			return err
		}
		from = f.ring.frames[len(f.ring.frames)-1].Index + 1
	}
}

// change returns a frame before which nothing changes from frame from on, by the quickest look that tells.
func (f *follower) change(ctx context.Context, from int) (int, error) {
	if f.skims {
		if change, err := f.skim(ctx, from); err != nil || f.skims {
			return change, err
		}
	}
	return f.glimpse(ctx, from)
}

// glimpse returns the first frame from which something changes, the last frame where nothing does.
func (f *follower) glimpse(ctx context.Context, from int) (int, error) {
	w := &f.finder.watch
	w.learns = true
	w.age = w.most // compare with none of another kind
	change := f.o.To
	err := f.src.(glimpser).Glimpse(ctx, from, f.o.To, w.step, func(fr footage.Frame) error {
		f.o.Progress(fr.Index)
		if w.changed(fr.Luma, true) {
			change = fr.Index
			return errChange
		}
		return nil
	})
	w.age = w.most
	if err != nil && err != errChange {
		return 0, fmt.Errorf("look through the footage: %w", err)
	}
	return change, nil
}

// quiet says that nothing moves any more: reading stops where a glimpse can go on. Up to the frame by
// which something is expected to change, it would say what the last one said.
func (f *follower) quiet() error {
	last := f.ring.frames[len(f.ring.frames)-1].Index
	if f.glimpsing && last >= f.expected && f.o.To-last > worthGlimpse {
		return errQuiet
	}
	return nil
}

// stream reads frames through take to the end, or until there is nothing left to do.
func (f *follower) stream(ctx context.Context, from int) error {
	if n := len(f.ring.frames); n > 0 && f.ring.frames[n-1].Index != from-1 {
		f.ring.empty()
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	frames := make(chan footage.Frame, ahead)
	worked := guard.Go(func() (err error) {
		for fr := range frames {
			if err != nil {
				release(&fr)
				continue
			}
			if err = guard.Do(func() error { return f.take(fr) }); err != nil {
				cancel()
			}
		}
		return err
	})
	err := f.src.Read(ctx, from, f.o.To, func(fr footage.Frame) error {
		select {
		case frames <- fr:
			return nil
		case <-ctx.Done():
			release(&fr)
			return ctx.Err()
		}
	})
	close(frames)
	work := <-worked
	if work == errDone {
		return nil
	}
	if work != nil {
		return work
	}
	if err != nil {
		return fmt.Errorf("read frames to follow the vehicle: %w", err)
	}
	if f.lanes == nil && f.o.Box == nil {
		if err := f.look(true); err != errDone {
			return err
		}
	}
	return nil
}
