package main

import (
	"fmt"
	"math"

	"padside/desk"
)

// apart is how far the heights are from the truth, to tell scale, place and time from each other: a line fitted to measured over true heights, what lies off it, and by how much the
// times are off on average.
type apart struct {
	frames      int
	scale       float64 // relative error
	scaleU      float64 // what is stated of it: half of the 95 % interval of the height at the far end of the view, relative
	start       float64 // m, measured at a true height of 0
	rms, most   float64 // m, off the line
	late        float64 // s, times less the truth
	pixel       float64 // m, at the vehicle at rest
	followedAny bool
}

// heights compares a measurement's heights with the truth, frame by frame.
func (s *shot) heights(m *desk.Measurement) apart {
	var a apart
	if len(m.Lanes) == 0 {
		return a
	}
	sc, v := s.take.Scene, &s.take.Scene.Vehicles[0]
	nose, tail := sc.Truth(1, 0, v.Length).Steady, sc.Truth(1, 0, 0).Steady
	a.pixel = v.Length / math.Hypot(nose.X-tail.X, nose.Y-tail.Y)
	last, _ := s.lastSeen(m)
	zero := v.Start + s.clock(last)
	var n, sx, sy, sxx, sxy float64
	var pairs [][2]float64
	for _, o := range m.Lanes[0].Heights {
		at := s.trueTime(o.Frame)
		h := v.Motion.At(at).Height
		a.late += o.T - zero - at
		pairs = append(pairs, [2]float64{h, o.H})
		n, sx, sy, sxx, sxy = n+1, sx+h, sy+o.H, sxx+h*h, sxy+h*o.H
	}
	if n < 3 || n*sxx == sx*sx {
		return a
	}
	a.scaleU = m.Lanes[0].Scale.HalfWidth()
	slope := (n*sxy - sx*sy) / (n*sxx - sx*sx)
	a.followedAny, a.frames, a.scale, a.start, a.late = true, int(n), slope-1, (sy-slope*sx)/n, a.late/n
	for _, p := range pairs {
		e := p[1] - a.start - slope*p[0]
		a.rms += e * e
		a.most = math.Max(a.most, math.Abs(e))
	}
	a.rms = math.Sqrt(a.rms / n)
	return a
}

// sound says whether the trace is not to blame for a miss: places are off by up to goodPixels rms, and the scale by no more than distances can be.
func (a apart) sound() bool {
	return a.followedAny && a.rms < goodPixels*a.pixel && math.Abs(a.scale) < goodScale
}

const (
	goodPixels = 0.7
	goodScale  = 0.05
)

func (a apart) String() string {
	if !a.followedAny {
		return "no heights"
	}
	return fmt.Sprintf("heights of %d frames: scale %+.2f %% (stated ±%.2f %%), %+.3f m at rest, %.4f m (%.2f px) rms and up to %.4f m off that; times %+.2f ms on average",
		a.frames, 100*a.scale, 100*a.scaleU, a.start, a.rms, a.rms/a.pixel, a.most, 1e3*a.late)
}
