package scene

import (
	"math"

	"padside/camera"
)

// Point is a point of a vehicle: how far along it, and how far before its axis, toward the camera (m).
type Point struct {
	Along, Depth float64
	scene        *Scene
	lane         int
}

// Truth is the truth about the point in frame i.
func (p Point) Truth(i int) Truth { return p.scene.Before(p.lane, i, p.Along, p.Depth) }

// Share is the point's depth as a share of the vehicle's radius there.
func (p Point) Share() float64 {
	return p.Depth / max(1e-9, p.scene.Vehicles[p.lane-1].RadiusAt(p.Along))
}

// Beside is the point so much farther along.
func (p Point) Beside(along float64) Point {
	p.Along += along
	return p
}

// Followed returns the point of the vehicle in a lane that a trace follows: in frame 0 it is seen at the line's rest, and it lies as far before the axis, between that and the
// middle of the near side, as fits best the ways (px along the line) that were seen gone in some frames; what is nearer is seen to go farther. What is followed is neither a point of
// the axis nor one of the surface: bands on a round side move as their mean does, its outline as the axis.
func (s *Scene) Followed(lane int, line camera.FlightLine, frames []int, ways []float64) Point {
	p := Point{scene: s, lane: lane}
	for range 3 {
		p.solve(line)
		axis, near := p, p
		axis.Depth, near.Depth = 0, s.Vehicles[lane-1].RadiusAt(p.Along)
		a, b := axis.ways(line, frames), near.ways(line, frames)
		var xx, xy float64
		for k := range ways {
			xx, xy = xx+(b[k]-a[k])*(b[k]-a[k]), xy+(b[k]-a[k])*(ways[k]-a[k])
		}
		if xx > 0 {
			p.Depth = clamp01(xy/xx) * near.Depth
		}
	}
	p.solve(line)
	return p
}

// ways is how far the point is seen to have gone along the line since frame 0.
func (p Point) ways(line camera.FlightLine, frames []int) []float64 {
	at := func(i int) float64 {
		tr := p.Truth(i)
		return tr.Steady.X*line.Ux + tr.Steady.Y*line.Uy
	}
	rest := at(0)
	out := make([]float64, len(frames))
	for k, i := range frames {
		out[k] = at(i) - rest
	}
	return out
}

// solve finds the place along the vehicle that is seen at the line's rest in frame 0.
func (p *Point) solve(line camera.FlightLine) {
	off := func(along float64) float64 {
		p.Along = along
		tr := p.Truth(0)
		return (tr.Steady.X-line.Rest.X)*line.Ux + (tr.Steady.Y-line.Rest.Y)*line.Uy
	}
	// The picture of the axis is nearly linear: secant steps.
	x0, x1 := 0.0, p.scene.Vehicles[p.lane-1].Length
	for range 30 {
		f0, f1 := off(x0), off(x1)
		if math.Abs(f1-f0) < 1e-9 {
			break
		}
		x0, x1 = x1, x1-f1*(x1-x0)/(f1-f0)
	}
	p.Along = x1
}
