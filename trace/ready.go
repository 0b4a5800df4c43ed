package trace

import (
	"sync"
	"sync/atomic"

	"padside/guard"
	"padside/register"
)

// Fine matching interpolates each piece of the footage several times. The coefficients that this needs depend on nothing that is
// learnt from the whole flight: they are made while the footage is still being read. What is not ready when fine matching wants it, fine
// matching makes, with the same outcome.

const (
	// readyMemory bounds what the coefficients of all lanes take: those of some 900 frames of a 64 px patch.
	readyMemory = 48 << 20
	// readyQueue is how many pieces may wait: more than come at once when the vehicle has been found.
	readyQueue = 256
)

// ready is a piece's spline, made by whoever needs it first.
type ready struct {
	once   sync.Once
	spline *register.Spline
}

func (r *ready) make(c *crop, b *register.Basis) {
	r.once.Do(func() {
		r.spline = register.NewSpline(b, c.levels(nil), c.W, c.H)
	})
}

// preparer makes pieces ready in a goroutine of its own: one, for while footage is read decoder and coarse search have the processors.
type preparer struct {
	basis *register.Basis
	room  atomic.Int64 // bytes left
	todo  chan *crop
	ended <-chan error
}

func newPreparer(b *register.Basis) *preparer {
	p := &preparer{basis: b, todo: make(chan *crop, readyQueue)}
	p.room.Store(readyMemory)
	p.ended = guard.Go(func() error {
		for c := range p.todo {
			c.ready.make(c, p.basis)
		}
		return nil
	})
	return p
}

// add takes a piece on, as far as memory goes. It does not wait, and may be called from several goroutines.
func (p *preparer) add(c *crop) {
	const coefficient = 4 // bytes
	if p.room.Add(-coefficient*int64(c.W*c.H)) < 0 {
		return
	}
	c.ready = &ready{}
	own := *c
	select {
	case p.todo <- &own:
	default:
	}
}

// stop waits until all that was taken on is ready.
func (p *preparer) stop() {
	close(p.todo)
	if err := <-p.ended; err != nil {
		panic(err)
	}
}

// load makes a piece ready for interpolation in the window of s.
func (c *crop) load(s *register.Scratch) {
	if c.ready == nil {
		s.Pix = c.levels(s.Pix)
		s.Set(s.Pix, c.W, c.H)
		return
	}
	c.ready.make(c, s.Basis())
	s.Use(c.ready.spline)
}
