package footage

import (
	"context"
	"sync"
	"time"

	"padside/fault"
	"padside/guard"
)

const (
	// clipHop is how far ahead of a standing decoder of a clip a frame may lie for going on to be quicker than a new search. Stills need none.
	clipHop = 32
	// mostBack is how many frames are decoded at once where someone steps back, as far as half the cache holds them.
	mostBack = 24
	// rested is after how long without a request a standing decoder is let go.
	rested = 10 * time.Second
)

// browser hands out single frames of one kind, brightness or colour, to someone who steps through footage and jumps about in it.
type browser[T any] struct {
	pass   stream[T]
	cache  *cache
	colour bool
	bytes  func(T) int64
	hop    int // how many frames it goes through rather than begin anew

	turn  chan struct{} // its one token lets a goroutine use reel
	reel  *reel[T]
	alive context.Context // ends with the footage
	idle  *time.Timer

	mu       sync.Mutex
	last     int                // the frame asked for last
	filling  context.CancelFunc // of a filling in the background, or nil
	from, to int                // what it fills, both included
	closed   bool
	work     *guard.Group // in the background
}

func newBrowser[T any](alive context.Context, c *cache, colour bool, pass stream[T], bytes func(T) int64) *browser[T] {
	b := &browser[T]{pass: pass, cache: c, colour: colour, bytes: bytes, turn: make(chan struct{}, 1), alive: alive, last: -1, work: guard.NewGroup()}
	b.idle = guard.AfterTime(rested, "let a decoder go", b.rest)
	b.idle.Stop()
	return b
}

// rest lets go of a decoder that nobody asks for frames.
func (b *browser[T]) rest() {
	select {
	case b.turn <- struct{}{}:
		b.drop()
		<-b.turn
	default: // in use again
	}
}

// drop lets go of the reel, without waiting until its decoder is gone. It needs the token.
func (b *browser[T]) drop() {
	if r := b.reel; r != nil {
		r.cancel()
		b.work.Go(func() error { r.stop(); return nil })
		b.reel = nil
	}
}

// frame returns frame i of n. The result is shared.
func (b *browser[T]) frame(ctx context.Context, i, n int) (T, error) {
	b.mu.Lock()
	back := i < b.last
	b.last = i
	b.mu.Unlock()
	v, err := b.find(ctx, i, n)
	if err == nil && back && i > 0 {
		// Half a filling early, so that it is done when it is needed.
		count := int(min(max(b.cache.limit/2/max(b.bytes(v), 1), 1), mostBack))
		if !b.cache.has(cacheKey{max(0, i-(count+1)/2), b.colour}) {
			b.fillBefore(i, n, count)
		}
	}
	return v, err
}

func (b *browser[T]) find(ctx context.Context, i, n int) (v T, err error) {
	key := cacheKey{i, b.colour}
	if v, ok := b.cache.get(key).(T); ok {
		return v, nil
	}
	b.mu.Lock()
	if b.filling != nil && (i < b.from || i > b.to) {
		b.filling() // a jump goes before
	}
	b.mu.Unlock()
	select {
	case b.turn <- struct{}{}:
		defer func() { <-b.turn }()
	case <-ctx.Done():
		return v, ctx.Err()
	}
	if v, ok := b.cache.get(key).(T); ok {
		return v, nil
	}
	return b.seek(ctx, i, i, n)
}

// seek brings the reel to frame i, coming from frame from, and returns it. It needs the token.
func (b *browser[T]) seek(ctx context.Context, from, i, n int) (v T, err error) {
	if err := b.alive.Err(); err != nil { // a filling that gets its turn after close must not begin a reel that nobody lets go of
		return v, fault.Failedf(err, "", "the footage is closed")
	}
	defer b.idle.Reset(rested)
	if r := b.reel; r == nil || r.next > from || i-r.next > b.hop {
		b.drop()
		b.reel = newReel(b.alive, from, n, b.pass)
	}
	for {
		it, ok, err := b.reel.pull(ctx)
		if err != nil {
			return v, err
		}
		if !ok {
			err := b.reel.err
			b.reel = nil
			if err == nil {
				err = damagedFrame(i)
			}
			return v, err
		}
		b.cache.put(cacheKey{it.index, b.colour}, it.value, b.bytes(it.value))
		if it.index == i {
			return it.value, nil
		}
		if it.index > i {
			return v, damagedFrame(i)
		}
	}
}

func damagedFrame(i int) error {
	return fault.Requestf("look at another frame", "frame %d is damaged and cannot be decoded", i)
}

// fillBefore decodes the frames before i that are not there, so many, in the background: whoever steps back steps on.
func (b *browser[T]) fillBefore(i, n, count int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.filling != nil || b.closed {
		return
	}
	to := i - 1
	for to > max(0, i-count) && b.cache.has(cacheKey{to, b.colour}) {
		to--
	}
	if b.cache.has(cacheKey{to, b.colour}) {
		return
	}
	ctx, cancel := context.WithCancel(b.alive)
	b.filling, b.from, b.to = cancel, max(0, to-count+1), to
	b.work.Go(func() error {
		defer func() {
			cancel()
			b.mu.Lock()
			b.filling = nil
			b.mu.Unlock()
		}()
		select {
		case b.turn <- struct{}{}:
			defer func() { <-b.turn }()
			_, _ = b.seek(ctx, max(0, to-count+1), to, n) // whoever asks for the frame gets the error
		case <-ctx.Done():
		}
		return nil
	})
}

// close ends the decoder and whatever goes on in the background. The footage's context has ended.
func (b *browser[T]) close() {
	b.mu.Lock()
	b.closed = true // a filling that found it open has begun
	b.mu.Unlock()
	b.turn <- struct{}{}
	b.drop()
	b.idle.Stop()
	<-b.turn
	guard.Log("decode footage ahead", b.work.Wait())
}
