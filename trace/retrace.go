package trace

import (
	"math"
	"slices"

	"padside/fit"
	"padside/register"
)

// Tracing back: a lane that was followed from rest into motion is followed again from its newest frame to rest. Both
// should end at the same place. Where they do not, one of them has changed over from one thing to another on the way: a hand
// that lets a ball fall, a launcher before which the vehicle passes. A body speeds up by degrees, so the
// course without the sudden step is the true one.

const (
	agree = 3.0 // px between the two courses: more than the coarse search errs
	// jerky is how many times rougher than the other a course must be to be given up.
	jerky = 1.5
)

// retraced follows lane l back from the ring's newest frame. It returns the lane that takes l's place, or nil where
// l stands: both agree, or the way back says no more than l.
func (f *follower) retraced(l *lane) *lane {
	frames := f.ring.frames
	n := len(l.sights)
	if !l.moved || l.missing > 0 || n < 5 || l.sights[n-1].frame != frames[len(frames)-1].Index {
		return nil
	}
	x, y := l.sights[n-1].x, l.sights[n-1].y
	a := register.Area{X: int(math.Round(x - float64(l.patch.W-1)/2)), Y: int(math.Round(y - float64(l.patch.H-1)/2)), W: l.patch.W, H: l.patch.H}
	if !a.Within(register.Area{X: 0, Y: 0, W: f.width, H: f.height}) {
		return nil
	}
	newest := frames[len(frames)-1].Luma
	back := f.newLane(l.number, a, l.weight, newest)
	back.backward, back.loose, back.ground = true, true, stillOf(newest, f.still.noise)
	for k := len(frames) - 1; k >= 0 && back.missing < 3; k-- {
		back.step(frames[k].Index, f.o.FrameTime(frames[k].Index), frames[k].Luma)
	}
	if back.missing > 0 || len(back.sights) < n*3/4 {
		return nil
	}
	first, last := &l.sights[0], &back.sights[len(back.sights)-1]
	there, here := roughest(l.sights), roughest(back.sights)
	alike := first.frame == last.frame && math.Hypot(first.x-last.x, first.y-last.y) < agree
	if alike && there-here < agree || here*jerky > there || likeness(back.sights) < likeness(l.sights)-2*better {
		return nil
	}
	out := f.newLane(l.number, a, l.weight, newest)
	out.loose = true
	out.resume(back)
	return out
}

// roughest is the largest change of step between neighbouring sightings, px.
func roughest(s []sighting) float64 {
	var most float64
	for i := 2; i < len(s); i++ {
		most = max(most, math.Hypot(s[i].x-2*s[i-1].x+s[i-2].x, s[i].y-2*s[i-1].y+s[i-2].y))
	}
	return most
}

// likeness is the median correlation.
func likeness(s []sighting) float64 {
	var q []float64
	for i := range s {
		q = append(q, s[i].quality)
	}
	return fit.Median(q)
}

// resume takes over what a lane that went back in time from the same frame has seen.
func (l *lane) resume(back *lane) {
	slices.Reverse(back.sights)
	slices.Reverse(back.dropped)
	l.dropped = back.dropped
	l.sights = back.sights
	l.moved, l.rest, l.columns = back.moved, back.rest, back.columns
	l.bytes, l.bodies = back.bytes, back.bodies
	l.usual, l.gain = back.usual, back.gain
	if first := &l.sights[0]; l.moved {
		dx, dy := l.camera(first.frame, first.x, first.y)
		l.rest = [2]float64{first.x - dx, first.y - dy}
	}
}
