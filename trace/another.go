package trace

import (
	"context"
	"math"

	"padside/footage"
)

// A second look. What the finder took for the vehicle, or what a box shows at rest, may be the hand that lets it go or the
// launcher: it moves a little and stays, while the vehicle goes away. Then the footage is read again, and looked into from where
// the first lane came to a stop.

const (
	hardly   = 3.0 // lengths of its patch up to which a lane that went no farther is doubted
	stopped  = 3.0 // px: what moves less stays
	stopWait = 4   // frames from the stop to the second look
	mostLook = 3   // looks at the footage in all
)

// another follows the footage again where the only lane stayed near its first place. It returns the follower whose vehicle went
// much farther and, where a box was given, was in it in its frame; else nil.
func (f *follower) another(ctx context.Context) *follower {
	if len(f.lanes) != 1 || f.o.Lanes != 1 || !f.lanes[0].stays() {
		return nil
	}
	doubted := f.lanes[0]
	for range mostLook - 1 {
		g := newFollower(f.src, f.o)
		g.o.Box, g.o.Progress = nil, func(int) {}
		if f.o.Box == nil || doubted != f.lanes[0] {
			g.finder.from = doubted.stop() + stopWait
		}
		err := g.read(ctx)
		if err == nil && len(g.lanes) == 1 && g.beats(f) {
			return g
		}
		g.ring.empty()
		if err != nil || len(g.lanes) != 1 {
			return nil
		}
		doubted = g.lanes[0]
	}
	return nil
}

// beats reports whether g's lane went much farther than f's and, where f has a box, was in it.
func (g *follower) beats(f *follower) bool {
	l := g.lanes[0]
	if l.stays() || l.went() < 2*f.lanes[0].went() {
		return false
	}
	b := f.o.Box
	if b == nil {
		return true
	}
	for i := range l.sights {
		if s := &l.sights[i]; s.frame == f.o.Frame {
			return math.Abs(s.x-b.X-b.W/2) < b.W/2 && math.Abs(s.y-b.Y-b.H/2) < b.H/2
		}
	}
	return false
}

// went is how far the lane got from its first place, px, the camera's movement left in.
func (l *lane) went() float64 {
	var far float64
	for i := range l.sights {
		far = max(far, math.Hypot(l.sights[i].x-l.sights[0].x, l.sights[i].y-l.sights[0].y))
	}
	return far
}

// stays reports whether the lane hardly went anywhere.
func (l *lane) stays() bool {
	return !l.left && l.went() < hardly*float64(max(l.patch.W, l.patch.H))
}

// stop is the frame from which on the lane no longer moved.
func (l *lane) stop() int {
	last := &l.sights[len(l.sights)-1]
	for i := len(l.sights) - 1; i >= 0; i-- {
		s := &l.sights[i]
		dx, dy := l.camera(s.frame, s.x, s.y)
		ex, ey := l.camera(last.frame, last.x, last.y)
		if math.Hypot(s.x-dx-last.x+ex, s.y-dy-last.y+ey) > stopped {
			return s.frame
		}
	}
	return l.sights[0].frame
}

// held reports whether frame fr comes before the one from which on the finder is to look.
func (d *finder) held(fr *footage.Frame) bool {
	if fr.Index >= d.from {
		return false
	}
	d.triggered = -1
	return true
}
