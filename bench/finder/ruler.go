package main

import (
	"fmt"
	"math"

	"padside/scene"
	"padside/trace"
)

// rulerNote says what the length of the barrel errs by, as the lean that would look the same, degrees, and over its stated uncertainty; empty where it was not seen.
func rulerNote(t *scene.Take, p *trace.Path, seen scene.Point) string {
	if p.Ruler.Frames == 0 {
		return "no ruler, "
	}
	truth := rateOf(t, p, seen.Along)
	v := &t.Scene.Vehicles[0]
	const tilt = 0.5 * math.Pi / 180
	v.Lean += tilt
	slope := (rateOf(t, p, seen.Along) - truth) / tilt
	v.Lean -= tilt
	off := p.Ruler.Rate - truth
	return fmt.Sprintf("ruler off by %.3f deg (%.1f U), ", off/slope*180/math.Pi, off/p.Ruler.U)
}

// rateOf is the slope of a straight line through 1 at rest, fitted to how long a ruler painted on the near side is seen against rest, per px of the flight line. A ruler 1 cm long in the
// middle of what is followed does for all, for lengths change alike all over the barrel to second order.
func rateOf(t *scene.Take, p *trace.Path, along float64) float64 {
	s := t.Scene
	front := s.Vehicles[0].Diameter / 2
	long := func(frame int) float64 {
		a, b := s.Before(1, frame, along-nearBy, front).Steady, s.Before(1, frame, along+nearBy, front).Steady
		return math.Hypot(b.X-a.X, b.Y-a.Y)
	}
	rest := long(p.Points[0].Frame)
	var xx, xy float64
	for _, q := range p.Points {
		way := (q.X-p.Line.Rest.X)*p.Line.Ux + (q.Y-p.Line.Rest.Y)*p.Line.Uy
		xx, xy = xx+way*way, xy+way*(long(q.Frame)/rest-1)
	}
	return xy / xx
}
