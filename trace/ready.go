package trace

import (
	"sync"
	"sync/atomic"
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
	spline spline
}

func (r *ready) make(c *crop, b *basis) {
	r.once.Do(func() {
		s := spline{basis: b}
		s.set(c.levels(nil), c.w, c.h)
		s.line = nil
		r.spline = s
	})
}

// preparer makes pieces ready in a goroutine of its own: one, for while footage is read decoder and coarse search have the processors.
type preparer struct {
	basis *basis
	room  atomic.Int64 // bytes left
	todo  chan *crop
	ended sync.WaitGroup
}

func newPreparer(b *basis) *preparer {
	p := &preparer{basis: b, todo: make(chan *crop, readyQueue)}
	p.room.Store(readyMemory)
	p.ended.Go(func() {
		for c := range p.todo {
			c.ready.make(c, p.basis)
		}
	})
	return p
}

// add takes a piece on, as far as memory goes. It does not wait, and may be called from several goroutines.
func (p *preparer) add(c *crop) {
	const coefficient = 4 // bytes
	if p.room.Add(-coefficient*int64(c.w*c.h)) < 0 {
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
	p.ended.Wait()
}

// load makes a piece ready for interpolation in s.sp.
func (s *scratch) load(c *crop) {
	if c.ready == nil {
		s.pix = c.levels(s.pix)
		s.set(s.pix, c.w, c.h)
		return
	}
	c.ready.make(c, s.own.basis)
	s.sp = &c.ready.spline
}

// set makes the w by h samples of pix ready for interpolation in s.sp.
func (s *scratch) set(pix []float32, w, h int) {
	s.own.set(pix, w, h)
	s.sp = &s.own
}
