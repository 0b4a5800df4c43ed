package footage

import (
	"context"

	"padside/fault"
)

// together is how many frames of a clip are decoded at most where one is asked for: starting
// the decoder costs more than a few frames, and who looks at one frame looks at the next.
const together = 24

// Frame decodes frame i by itself. The result is kept in a cache of Options.CacheBytes and
// shared: do not change it.
func (f *Footage) Frame(ctx context.Context, i int) (*Luma, error) {
	if i < 0 || i >= f.Len() {
		return nil, f.noFrames(i, i)
	}
	select {
	case f.turn <- struct{}{}:
		defer func() { <-f.turn }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	if l := f.cache.get(i); l != nil {
		return l, nil
	}
	to := i + 1
	if f.kind == Clip {
		size := int64(f.width) * int64(f.height) * int64((f.Info().Depth+7)/8)
		to = min(i+int(min(max(f.cache.limit/2/size, 1), together)), f.Len())
	}
	var found *Luma
	err := f.Read(ctx, i, to, func(fr Frame) error {
		if fr.Index == i {
			found = fr.Luma
		}
		fr.pool = nil // the cache shares it: it must never go back
		f.cache.put(fr)
		return nil
	})
	if found != nil {
		return found, nil // damage further on is for the frame it strikes to report
	}
	if err == nil {
		err = fault.Requestf("look at another frame", "frame %d of %s is damaged", i, f.Info().Path)
	}
	return nil, err
}
