package trace

import (
	"context"
	"fmt"
	"math"

	"padside/footage"
)

// The first look. A clip's key frames are coded by themselves and decoded in a small part of the time that all frames take.
// Where two that follow each other show the same, the vehicle stood still between them, if it stood in view at all: it does not come
// back. So reading begins before the first two that differ. What came into view and left it again between two key frames is
// overlooked; that is why a vehicle counts only where it is seen at rest first, and all frames are glimpsed at otherwise.

const (
	// worthSkim is how many frames there must be to one key frame.
	worthSkim = 12
	// restSeen is how many frames the vehicle must be seen at rest before it moves.
	restSeen = 8
)

// skim returns the last key frame from which nothing changed, as far as key frames from frame from on show. Where they show no change at all, or
// are too many or too few, it gives skimming up.
func (f *follower) skim(ctx context.Context, from int) (int, error) {
	src := f.src.(glimpser)
	keys := src.KeyFrames()
	for len(keys) > 1 && keys[1] <= from {
		keys = keys[1:]
	}
	f.skims = false
	if len(keys) < 2 || keys[1] >= f.o.To || len(keys)*worthSkim > f.o.To-from {
		return from, nil
	}
	w := watch{step: f.finder.watch.step, most: math.MaxInt}
	same := keys[0]
	err := src.Skim(ctx, same, f.o.To, w.step, func(fr footage.Frame) error {
		f.o.Progress(fr.Index)
		if w.changed(fr.Luma, true) {
			f.expected = fr.Index
			return errChange
		}
		w.ref = append(w.ref[:0], w.now...)
		same = fr.Index
		return nil
	})
	if err == nil {
		return from, nil
	}
	if err != errChange {
		return 0, fmt.Errorf("look at the key frames: %w", err)
	}
	f.skims = true
	if same-before > from {
		f.skipped = true
		f.finder.watch.learns = true
	}
	return same, nil
}

// overlooked reports whether frames were skipped that must be looked at after all: no vehicle was found, or one that was not seen at rest.
func (f *follower) overlooked() bool {
	if !f.skipped {
		return false
	}
	for _, l := range f.lanes {
		if l.rested() < restSeen {
			return true
		}
	}
	return len(f.lanes) == 0
}

// rested is how many sightings the lane had before its vehicle moved, the camera's movement taken out.
func (l *lane) rested() int {
	first := &l.sights[0]
	ax, ay := l.camera(first.frame, first.x, first.y)
	for i := range l.sights {
		s := &l.sights[i]
		bx, by := l.camera(s.frame, s.x, s.y)
		if math.Hypot(s.x-bx-first.x+ax, s.y-by-first.y+ay) > restSlack {
			return i
		}
	}
	return len(l.sights)
}
