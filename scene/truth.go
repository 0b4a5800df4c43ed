package scene

import (
	"math"

	"padside/camera"
	"padside/flight"
)

// Truth is where a point of a vehicle really was in one frame.
type Truth struct {
	T      float64      // s, when the row or column that shows it was centred
	Pixel  camera.Pixel // in the frame as filmed: with shake and rolling shutter
	Steady camera.Pixel // the same without shake
	InView bool
	flight.State
}

// Truth returns the truth about a point of the vehicle in a lane (1 is the leftmost), along
// its axis (m; its Length is the tip of the nose), in frame i.
func (s *Scene) Truth(lane, i int, along float64) Truth { return s.Before(lane, i, along, 0) }

// Before returns the truth about a point depth before the axis, toward the camera (m). It flies along a line of its own and is seen to move by as much more as it is nearer;
// what is painted in the middle of the near side lies RadiusAt before it.
func (s *Scene) Before(lane, i int, along, depth float64) Truth {
	v := &s.Vehicles[lane-1]
	sheet := s.sheetAt(v, i)
	hand := s.movement(i)
	t := s.Stamps[i] + s.Camera.Exposure/2
	// The row (or column) depends on the time and the time on the row: a contraction while the point
	// crosses less than a row in a row's time.
	tr := t
	for range 60 {
		p := sheet.before(v.Motion.At(tr-v.Start).Height+along, depth)
		next := t + s.Camera.delay(hand.seen(p.X, p.Y))
		if math.Abs(next-tr) < 1e-13 {
			break
		}
		tr = next
	}
	state := v.Motion.At(tr - v.Start)
	steady := sheet.before(state.Height+along, depth)
	var seen camera.Pixel
	seen.X, seen.Y = hand.seen(steady.X, steady.Y)
	return Truth{T: tr, Pixel: seen, Steady: steady, InView: s.Camera.sees(seen), State: state}
}

// LastInView returns the last instant at which the point of the vehicle is in view: when it
// crosses the picture's edge, or the centre of the last frame's exposure. Shake is left out.
func (s *Scene) LastInView(lane int, along float64) float64 {
	v := &s.Vehicles[lane-1]
	sheet := v.sheet(&s.Camera)
	end := s.Truth(lane, len(s.Stamps)-1, along).T
	inside := func(t float64) bool { return s.Camera.sees(sheet.see(v.Motion.At(t-v.Start).Height+along, 0)) }
	step := (end - s.Stamps[0]) / 2000
	for t := s.Stamps[0]; t < end; t += step {
		if inside(t + step) {
			continue
		}
		lo, hi := t, t+step
		for range 60 {
			if mid := (lo + hi) / 2; inside(mid) {
				lo = mid
			} else {
				hi = mid
			}
		}
		return lo
	}
	return end
}

// seenAt is the middle of the exposure (the scene's time, s) of the place of frame i that shows the tail of the vehicle in a lane; where that is out
// of view, of the edge of the picture next to it.
func (s *Scene) seenAt(lane, i int) float64 {
	tail := s.Truth(lane, i, 0)
	return s.Stamps[i] + s.Camera.Exposure/2 + s.Camera.Delay(tail.Pixel.X, tail.Pixel.Y)
}
