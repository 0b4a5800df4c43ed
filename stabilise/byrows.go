package stabilise

import (
	"math"

	"padside/timebase"
)

// byRows is what a rolling shutter makes of the motion: each place shows the camera as it was when
// the place was exposed.
type byRows struct {
	delay timebase.Gradient
	speed map[int]velocity // of the frames in which it is known
}

// at is what that adds at a place in a frame, px from the picture's middle, with its standard
// uncertainties.
func (b *byRows) at(frame int, x, y float64) Shift {
	if b == nil {
		return Shift{}
	}
	vx, vy := b.speed[frame].at(x, y)
	g := &b.delay
	k := g.X*x + g.Y*y
	u := math.Sqrt(max(0, x*x*g.Cov[0][0]+2*x*y*g.Cov[0][1]+y*y*g.Cov[1][1]))
	return Shift{k * vx, k * vy, math.Abs(u * vx), math.Abs(u * vy)}
}

// ByRows takes the delay of the rows into account from now on: g is what is known of it. The motion
// of each frame is fitted anew, as it was when the picture's middle was exposed, and Shifts are
// those at each place's own time. seconds is a frame's time.
func (s *Background) ByRows(g timebase.Gradient, seconds func(frame int) float64) {
	e := newRowEquations(s, seconds)
	if len(e.frames) < fewestRows {
		return
	}
	for range 2 { // the second time by motions that are all fitted alike
		if !e.speeds() || !e.solve() {
			return
		}
	}
	b := &byRows{delay: g, speed: e.velocities}
	// All shifts are against the frame in which stepping began, which is sheared too.
	first := b.speed[s.first]
	s.misfit = [len(focals)]float64{}
	for _, f := range e.numbers {
		var r []reading
		for _, got := range s.seen[f] {
			x, y := got.x-float64(s.width-1)/2, got.y-float64(s.height-1)/2
			now := b.at(f, x, y)
			vx, vy := first.at(x, y)
			k := g.X*x + g.Y*y
			got.dx, got.dy = got.dx-now.DX+k*vx, got.dy-now.DY+k*vy
			r = append(r, got)
		}
		s.moves[f] = s.combine(r)
	}
	s.rows = b
}
