package trace

import (
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	"padside/footage"
	"padside/register"
)

// TestReadyIsTheSame: a piece that was made ready ahead, or by several who want it at once, is interpolated as one that is made when
// it is wanted, and memory is kept to.
func TestReadyIsTheSame(t *testing.T) {
	t.Parallel()
	const w, h = 37, 29
	r := rand.New(rand.NewPCG(1, 2))
	eight := crop{Area: register.Area{X: 3, Y: 4, W: w, H: h}, grey: 1, pix8: make([]uint8, w*h)}
	ten := crop{Area: register.Area{X: 3, Y: 4, W: w, H: h}, grey: 0.25, pix16: make([]uint16, w*h)}
	for i := range eight.pix8 {
		eight.pix8[i], ten.pix16[i] = uint8(r.IntN(256)), uint16(r.IntN(1024))
	}
	b := register.NewBasis()
	for name, c := range map[string]*crop{"8 bits": &eight, "10 bits": &ten} {
		s := register.NewScratch(b)
		c.load(s)
		want := looks(s.Window)
		p := newPreparer(b)
		p.room.Store(2*4*w*h - 1) // one piece has room, two have not
		other := *c
		p.add(c)
		p.add(&other)
		if c.ready == nil || other.ready != nil {
			t.Errorf("%s: ready %v and %v, want the first alone", name, c.ready != nil, other.ready != nil)
			continue
		}
		var all sync.WaitGroup
		for range 4 {
			all.Go(func() {
				s := register.NewScratch(b)
				other.load(s) // what a worker matched before stays out of it
				c.load(s)
				if !slices.Equal(looks(s.Window), want) || s.Window.W != w || s.Window.H != h {
					t.Errorf("%s: a piece made ready is another one", name)
				}
			})
		}
		all.Wait()
		p.stop()
		s.Set(make([]float32, w*h), w, h)
		if c.load(s); !slices.Equal(looks(s.Window), want) {
			t.Errorf("%s: a worker's own window was written into the piece", name)
		}
	}
}

// looks are the values of a spline at its pixels and their slopes, which all of its coefficients make.
func looks(s *register.Spline) []float32 {
	v, gx, gy := s.Derivatives(2, 2, s.W-4, s.H-4)
	return slices.Concat(v, gx, gy)
}

// TestRingForgets all but the newest frame, and keeps to that.
func TestRingForgets(t *testing.T) {
	t.Parallel()
	r := ring{limit: 1000}
	push := func(i int) { r.push(frameOf(i, 100)) }
	for i := range 20 {
		push(i)
	}
	if n := len(r.frames); n != 10 || r.frames[0].Index != 10 || r.bytes != 1000 {
		t.Errorf("%d frames, %d bytes, the first is %d; want the last ten of 100 bytes", n, r.bytes, r.frames[0].Index)
	}
	r.forget()
	push(20)
	if len(r.frames) != 1 || r.frames[0].Index != 20 || r.bytes != 100 {
		t.Errorf("%d frames, %d bytes, want frame 20 alone", len(r.frames), r.bytes)
	}
}

func frameOf(i, bytes int) footage.Frame {
	return footage.Frame{Index: i, Luma: &footage.Luma{Width: bytes, Height: 1, Depth: 8, Pix8: make([]uint8, bytes)}}
}
